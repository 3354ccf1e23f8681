package project

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampwright/internal/source"
)

// readingsWith returns goodReadings with one text in the place of another.
func readingsWith(t testing.TB, old, now string) string {
	t.Helper()
	if n := strings.Count(goodReadings, old); n != 1 {
		t.Fatalf("the text %q is %d times in the readings, want once", old, n)
	}
	return strings.Replace(goodReadings, old, now, 1)
}

// readingsCase is a change of goodReadings and the message that it must have.
type readingsCase struct{ name, old, now, at, msg, hint string }

// readingsCases reads changes of goodReadings.
func readingsCases(t *testing.T, file string) (out []readingsCase) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "readings", file))
	if err != nil {
		t.Fatal(err)
	}
	for block := range strings.SplitSeq(string(data), "\n\n") {
		fields := map[string][]string{}
		for line := range strings.Lines(block) {
			mark, text, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
			fields[mark] = append(fields[mark], text)
		}
		get := func(mark string) string { return strings.Join(fields[mark], "\n") }
		if get("=") != "" {
			out = append(out, readingsCase{get("="), get("-"), get("+"), get("@"), get("!"), get("?")})
		}
	}
	return out
}

// check compares the one message with what is due.
func (c readingsCase) check(t *testing.T, text string, found source.Problems) {
	t.Helper()
	if len(found) != 1 {
		t.Fatalf("%d messages, want 1:\n%s", len(found), found.Error())
	}
	q := found[0]
	if want := ReadingsFile + ":" + place(t, text, c.at); q.At.String() != want {
		t.Errorf("at %s, want %s", q.At, want)
	}
	if c.msg == "" || !strings.Contains(q.Msg, c.msg) || !strings.Contains(q.Hint, c.hint) || q.Line == "" {
		t.Errorf("%s\nwant %q; %q", q.Error(), c.msg, c.hint)
	}
}

// TestBadReadings: each mistake is one problem, at its place, that names what would do.
func TestBadReadings(t *testing.T) {
	p := readLamp(t)
	cases := readingsCases(t, "bad.txt")
	if len(cases) < 67 {
		t.Errorf("%d cases, want 67 or more", len(cases))
	}
	for _, tt := range cases {
		t.Run(tt.name, func(t *testing.T) {
			text := readingsWith(t, tt.old, tt.now)
			r, problems := LoadReadingsText(ReadingsFile, []byte(text), p)
			if r != nil {
				t.Fatal("it loads")
			}
			tt.check(t, text, problems)
		})
	}
}

// TestAllProblemsOfReadings: the problems of a file are reported together, in the order of its lines.
func TestAllProblemsOfReadings(t *testing.T) {
	text := readingsWith(t, "value: 31.5 W", `value: "31,5 W"`)
	text = strings.Replace(text, "value: 4270 lx", "value: 30 klx", 1)
	text = strings.Replace(text, "2031-09-12", "12.9.31", 1)
	_, problems := LoadReadingsText(ReadingsFile, []byte(text), readLamp(t))
	if len(problems) != 3 {
		t.Fatalf("%d problems, want 3:\n%s", len(problems), problems.Error())
	}
	for i, at := range []string{"12.9.31", "30 klx", `"31,5 W"`} {
		if want := ReadingsFile + ":" + place(t, text, at); problems[i].At.String() != want {
			t.Errorf("problem %d is at %s, want %s", i+1, problems[i].At, want)
		}
	}
}

// TestDoubtsOfReadings: what can be read and was perhaps not meant is named, and the readings are there.
func TestDoubtsOfReadings(t *testing.T) {
	p := readLamp(t)
	for _, tt := range readingsCases(t, "doubts.txt") {
		t.Run(tt.name, func(t *testing.T) {
			text := readingsWith(t, tt.old, tt.now)
			r, problems := LoadReadingsText(ReadingsFile, []byte(text), p)
			if r == nil {
				t.Fatal(problems.Error())
			}
			tt.check(t, text, r.Doubts)
		})
	}
}

// manyReadings returns a readings file with a number of readings of mains power.
func manyReadings(n int) string {
	var b strings.Builder
	b.WriteString("lampwright_readings: 1\ninstruments: [{name: plug, kind: wattmeter}]\ncampaigns:\n" +
		"  - name: a\n    date: 2031-09-12\n    room: 22 °C\n    readings:\n")
	for i := range n {
		fmt.Fprintf(&b, "      - {what: mains power, instrument: plug, value: %.3f W}\n", 30+1e-3*float64(i))
	}
	return b.String()
}

// TestManyReadings: the limits of the file hold, and a file at its limit is read in a fraction of a second.
func TestManyReadings(t *testing.T) {
	p := readLamp(t)
	began := time.Now()
	r, problems := LoadReadingsText(ReadingsFile, []byte(manyReadings(MaxReadings)), p)
	if r == nil {
		t.Fatal(problems.Error())
	}
	if took := time.Since(began); took > 5*time.Second { // 0.1 s; the race detector takes ten times that
		t.Errorf("%d readings took %s", MaxReadings, took)
	}
	_, problems = LoadReadingsText(ReadingsFile, []byte(manyReadings(MaxReadings+1)), p)
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "2001 readings; at most 2000") {
		t.Errorf("one more: %s", problems.Error())
	}
	points := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "          - {time: %d s, value: 30 W}\n", i)
		}
		return strings.TrimSuffix(manyReadings(1), ", value: 30.000 W}\n") + "}\n" + "      - what: mains power\n" +
			"        instrument: plug\n        series:\n" + b.String()
	}
	if r, problems = LoadReadingsText(ReadingsFile, []byte(points(MaxSeriesPoints)), p); r == nil {
		t.Error(problems.Error())
	}
	_, problems = LoadReadingsText(ReadingsFile, []byte(points(MaxSeriesPoints+1)), p)
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "501 points; at most 500") {
		t.Errorf("one more point: %s", problems.Error())
	}
	if _, problems = LoadReadingsText(ReadingsFile, []byte(manyReadings(40_000)), p); len(problems) != 1 ||
		!strings.Contains(problems[0].Msg, "at most 1048576 (1 MB) are read") {
		t.Errorf("40 000 readings: %d problems", len(problems))
	}
}

// FuzzReadings replaces one line of a readings file by any text: the answer is Readings, or problems that have a place,
// and no panic. Every value that the readings have is finite.
func FuzzReadings(f *testing.F) {
	p := readLamp(f)
	lines := strings.SplitAfter(goodReadings, "\n")
	for i, text := range lines {
		f.Add(uint8(i), strings.TrimSuffix(text, "\n"))
	}
	f.Add(uint8(23), "    room: NaN °C")
	f.Add(uint8(43), "        value: 1e308 klx")
	f.Fuzz(func(t *testing.T, at uint8, text string) {
		changed := append([]string(nil), lines...)
		changed[int(at)%len(lines)] = text + "\n"
		r, problems := LoadReadingsText(ReadingsFile, []byte(strings.Join(changed, "")), p)
		if (r == nil) == (len(problems) == 0) {
			t.Fatalf("readings %v and %d problems", r != nil, len(problems))
		}
		for _, q := range problems {
			if q.At.File == "" || q.Msg == "" || q.Error() == "" {
				t.Fatalf("a problem says nothing: %+v", q)
			}
		}
		if r == nil {
			return
		}
		for _, g := range r.Campaigns {
			for i := range g.Readings {
				if x := &g.Readings[i]; x.State == nil || x.Label == "" || x.Value.SI-x.Value.SI != 0 {
					t.Fatalf("reading %d: %+v", i, x)
				}
			}
		}
	})
}
