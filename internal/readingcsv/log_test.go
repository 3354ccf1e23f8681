package readingcsv

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampwright/internal/project"
)

// sink are the options of a log of the temperature of the heat sink.
var sink = Options{Name: "x.csv", Instrument: "tc", Set: map[string]string{"state": "full", "place": "heat sink"}}

// TestLog: each column of values becomes a series; times count from switch-on.
func TestLog(t *testing.T) {
	p, was := demo(t)
	for _, tt := range []struct {
		name, csv, switchOn string
		want                string // seconds and °C of each point
		note                string
	}{
		{"seconds", "t (s),T (°C)\n0,22.5\n30,23.1\n60.5,24.0\n", "", "0 22.5, 30 23.1, 60.5 24", ""},
		{"minutes, commas", "time (min);T (°C)\n0,5;22,5\n2;23,1\n", "", "30 22.5, 120 23.1", "decimal commas read: 3"},
		{"a log that begins later", "s,°C\n100,30\n160,31\n", "", "100 30, 160 31", ""},
		{
			"from a stated time", "s,°C\n100,30\n160,31\n220,32\n", "2 min", "40 31, 100 32",
			"1 lines before that are not used",
		},
		{"elapsed clock", "t,T\n00:00:05,30 °C\n00:01:05.5,31 °C\n", "", "0 30, 60.5 31", "from the first line"},
		{
			"time of day", "time,temp [C]\n10:00:00,30\n10:05:00,31\n", "09:59:30", "30 30, 330 31",
			"times count from 09:59:30",
		},
		{
			"over midnight and the end of February",
			"date;time;T (°C)\n2032-02-28;23:59:50;30\n2032-03-01;00:00:10;31\n", "", "0 30, 86420 31", "",
		},
		{
			"over the end of a year", "timestamp,T (°C)\n2031-12-31T23:59:59Z,30\n2032-01-01 00:00:01 UTC,31\n", "",
			"0 30, 2 31", "the time zone changes from Z to UTC",
		},
		{
			"mixed zones", "timestamp,T (°C)\n2031-10-26T02:59:00+02:00,30\n2031-10-26T02:01:00+01:00,31\n", "",
			"0 30, 120 31", "the time zone changes from +02:00 to +01:00 at line 3",
		},
		{"gaps", "t (s),T (°C)\n0,22.5\n30,\n60,24\n", "", "0 22.5, 60 24", "1 cells are empty"},
		{
			"a line twice a second", "t (s),T (°C)\n0,22\n1,24\n1,26\n2,27\n", "", "0 22, 1 25, 2 27",
			"means of 3 intervals",
		},
		{"units of the values", "t (s),T\n0,22 °C\n1,23 C\n", "", "0 22, 1 23", ""},
	} {
		o := sink
		o.SwitchOn = tt.switchOn
		out, problems := Import([]byte(tt.csv), o, p, was)
		if out == nil {
			t.Errorf("%s: %s", tt.name, problems.Error())
			continue
		}
		list := out.Readings.Campaigns[0].Readings
		got := list[len(list)-1]
		var points []string
		for _, q := range got.Series {
			points = append(points, fmt.Sprintf("%.6g %.6g", q.Time.SI, q.Value.SI-273.15))
		}
		s := strings.Join(points, ", ")
		if len(list) != 2 || s != tt.want || got.What.S != project.ReadContactTemperature {
			t.Errorf("%s: points %s, want %s", tt.name, s, tt.want)
		}
		if notes := strings.Join(out.Notes, "\n"); !strings.Contains(notes, tt.note) {
			t.Errorf("%s: notes %s\nwant %s", tt.name, notes, tt.note)
		}
	}
}

// TestTwoSeries: a log of several columns is several readings, each with the keys that belong to it.
func TestTwoSeries(t *testing.T) {
	p, was := demo(t)
	o := Options{
		Set: map[string]string{"state": "cool", "channel": "cool", "place": "heat sink"}, Skip: []string{"battery"},
	}
	out, problems := Import([]byte("t (s),V string (V),thermocouple (°C),battery\n0,17.9,22\n"), o, p, was)
	if out != nil || len(problems) != 1 {
		t.Errorf("a short line: %s", problems.Error())
	}
	out, problems = Import([]byte("t (s),V string (V),thermocouple (°C),battery\n"+
		"0,17.9,22,9\n9,17.8,23,9\n"), o, p, was)
	if out == nil {
		t.Fatal(problems.Error())
	}
	const want = `      - what: string voltage
        instrument: volts
        state: cool
        channel: cool
        series:
          - {time: 0 s, value: 17.9 V}
          - {time: 9 s, value: 17.8 V}
      - what: contact temperature
        instrument: tc
        state: cool
        place: heat sink
        series:
          - {time: 0 s, value: 22 °C}
          - {time: 9 s, value: 23 °C}
`
	if got := added(t, out); got != want || out.Added != 2 {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

// warmUp is a log of T = 22 °C + 30 K (1 − exp(−t/900 s)), once a second.
func warmUp(lines int) []byte {
	var b bytes.Buffer
	b.WriteString("t (s),T (°C)\n")
	for i := range lines {
		fmt.Fprintf(&b, "%d,%.3f\n", i, 22-30*math.Expm1(-float64(i)/900))
	}
	return b.Bytes()
}

// TestMeans: a long log becomes means over intervals. Each mean lies on the curve at the mean time but for its
// curvature, at most Δt² T″/24 with T″ = 30 K/(900 s)² exp(−t/900 s) and Δt the length of the interval.
func TestMeans(t *testing.T) {
	p, was := demo(t)
	out, problems := Import(warmUp(7200), sink, p, was)
	if out == nil {
		t.Fatal(problems.Error())
	}
	points := out.Readings.Campaigns[0].Readings[1].Series
	if len(points) < 60 || len(points) > MaxPoints {
		t.Errorf("%d points", len(points))
	}
	last := points[len(points)-1].Time.SI
	for i, q := range points {
		s := q.Time.SI
		step := 4 * 7200 / 60 * math.Sqrt(s/7200) // above the length 2 √(s firstS) of an interval
		if i+1 < len(points) {
			step = 2 * (points[i+1].Time.SI - s)
		}
		tol := step*step/24*30/(900*900)*math.Exp(-(s-step)/900) + 1e-3
		want := 22 - 30*math.Expm1(-s/900)
		if got := q.Value.SI - 273.15; math.Abs(got-want) > tol {
			t.Errorf("%.1f s: %.4f °C, want %.4f ± %.4f", s, got, want, tol)
		}
	}
	if first := points[1].Time.SI - points[0].Time.SI; first > 2 || last < 7000 {
		t.Errorf("the first step is %g s, the last point at %g s", first, last)
	}
}

// TestSeriesKeepsTheMean: whatever the times, there are at most MaxPoints points, their times grow, and each value is
// in one of them: n and the sums of times and values are those of the samples.
func TestSeriesKeepsTheMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.SliceOfN(rapid.Float64Range(0, 1e4), 1, 600).Draw(t, "steps")
		q := series{unit: "V", firstS: startBin}
		var s, sumS, sumV float64
		for i, step := range steps {
			s += step
			v := float64(i % 7)
			sumS, sumV = sumS+s, sumV+v
			q.add(sample{s: s, value: fmt.Sprint(v)}, v)
		}
		var got bin
		for _, b := range q.bins {
			got = got.with(b)
		}
		if got.n != len(steps) || math.Abs(got.s-sumS) > 1e-9*(1+sumS) || math.Abs(got.v-sumV) > 1e-9*(1+sumV) {
			t.Fatalf("sums %+v, want %d %g %g", got, len(steps), sumS, sumV)
		}
		points, _, _ := q.points()
		if len(points) == 0 || len(points) > MaxPoints {
			t.Fatalf("%d points", len(points))
		}
		for i := 1; i < len(points); i++ {
			if points[i].s <= points[i-1].s {
				t.Fatalf("times %g after %g", points[i].s, points[i-1].s)
			}
		}
	})
}

// TestDayNumber: days between dates, counted by hand.
func TestDayNumber(t *testing.T) {
	for _, tt := range []struct{ y, m, d, days float64 }{
		{1970, 1, 1, 0},
		{1970, 12, 31, 364},
		{1972, 3, 1, 365 + 365 + 60},
		{2000, 3, 1, 11017}, // 30 years of 365 d, 7 leap days before 2000, 31 + 29 d
		{2100, 3, 1, 11017 + 36524},
	} {
		if got := dayNumber(tt.y, tt.m, tt.d) - dayNumber(1970, 1, 1); got != tt.days {
			t.Errorf("%g-%g-%g: %g days after 1970-01-01, want %g", tt.y, tt.m, tt.d, got, tt.days)
		}
	}
}

// TestMillionLines: a log of 10⁶ lines is read within 2 s on one idle core; the limit here has room for a busy one.
func TestMillionLines(t *testing.T) {
	if testing.Short() {
		t.Skip("a long file")
	}
	p, was := demo(t)
	data := warmUp(1_000_000)
	began := time.Now()
	out, problems := Import(data, sink, p, was)
	if out == nil {
		t.Fatal(problems.Error())
	}
	if took := time.Since(began); took > 20*time.Second {
		t.Errorf("it took %s", took)
	}
	if n := len(out.Readings.Campaigns[0].Readings[1].Series); n < 60 || n > MaxPoints {
		t.Errorf("%d points", n)
	}
}

// TestManyReadings: a table of more lines than a readings file takes ends early; so does a file that is too large.
func TestManyReadings(t *testing.T) {
	p, was := demo(t)
	o := Options{Set: map[string]string{"state": "full"}, Name: "x.csv"}
	out, problems := Import([]byte("W,note\n"+strings.Repeat("31.5,\n", 100_000)), o, p, was)
	if out != nil || len(problems) != 1 || problems[0].At.Line != 2002 {
		t.Errorf("100 000 readings: %s", problems.Error())
	}
	out, problems = Import(make([]byte, MaxBytes+1), o, p, was)
	if out != nil || len(problems) != 1 || !strings.Contains(problems[0].Msg, "more than 67108864 bytes") {
		t.Errorf("a large file: %s", problems.Error())
	}
	out, problems = Import([]byte("W,note\n"+strings.Repeat("x,\n", 1000)), o, p, was)
	if out != nil || len(problems) != maxProblems {
		t.Errorf("%d problems, want %d", len(problems), maxProblems)
	}
}

// TestDoubts: what can be read and was perhaps not meant is reported at its place in the CSV file.
func TestDoubts(t *testing.T) {
	p, was := demo(t)
	o := Options{Name: "x.csv", Set: map[string]string{"state": "full"}}
	out, problems := Import([]byte("W,note\n31000,\n31.2,\n31.2,\n"), o, p, was)
	if out == nil {
		t.Fatal(problems.Error())
	}
	if len(out.Doubts) != 2 || out.Doubts[0].At.String() != "x.csv:2:1" || out.Doubts[1].At.String() != "x.csv:4:1" ||
		!strings.Contains(out.Doubts[0].Msg, "unusual") || !strings.Contains(out.Doubts[1].Msg, "equals reading") {
		t.Errorf("%s", out.Doubts.Error())
	}
}

// FuzzImport: any bytes give a file that loads, or problems with a place, and never both.
func FuzzImport(f *testing.F) {
	p, was := demo(f)
	for _, text := range []string{
		"t (s),T (°C)\n0,22.5\n30,23.1\n", "state;channel;E [klx];V string / V\ncool;cool;4,27;17,42\n",
		"timestamp,T (°C)\n2031-12-31T23:59:59Z,30\n",
		"what,value,unit,x,y\nlux,3,lx,1 mm,2 mm\n", "sep=;\n#\n\nW;id\n\"1\n\";2",
		"s,°C\n1e9,3\n", "t,T (K)\n-5 s,1e300\n", "W,note\n1,{}[]: #\x01\n", "\"\n\"\"\",é\r\nr\r\xff",
	} {
		f.Add(text, "full", "")
	}
	f.Fuzz(func(t *testing.T, text, state, on string) {
		o := sink
		o.SwitchOn = on
		o.Set = map[string]string{"state": state, "place": "heat sink", "channel": "cool"}
		out, problems := Import([]byte(text), o, p, was)
		if (out == nil) == (len(problems) == 0) {
			t.Fatalf("%v and %d problems", out, len(problems))
		}
		for _, q := range problems {
			if q.Msg == "" || q.At.File != "x.csv" ||
				q.At.Line > strings.Count(text, "\n")+strings.Count(text, "\r")+1 {
				t.Fatalf("a problem without a place: %+v", q)
			}
		}
		if out != nil && (!bytes.HasPrefix(out.Text, []byte(before)) || out.Readings == nil || out.Added == 0) {
			t.Fatalf("%s", out.Text)
		}
	})
}

// BenchmarkImport reads a log of 10⁶ lines.
func BenchmarkImport(b *testing.B) {
	p, was := demo(b)
	data := warmUp(1_000_000)
	b.ReportAllocs()
	for b.Loop() {
		if out, problems := Import(data, sink, p, was); out == nil {
			b.Fatal(problems.Error())
		}
	}
}
