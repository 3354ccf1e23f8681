package web

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"lampwright/docs"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/review"
	"lampwright/internal/study"
)

// TestTransients compares what the page shows over time with the design's own answers. Those that take seconds are
// asked for once: the foldback of the file, and the warm-up with a value that is tried.
func TestTransients(t *testing.T) {
	slow(t)
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	settled(t, s)
	st := state(t, ts)
	tried := change{"installation.ambient.typical", "26 °C"}
	for _, changes := range [][]change{{}, {tried}} {
		text := onDisk(t, dir)
		if len(changes) > 0 {
			text = strings.Replace(text, "typical: 23 °C", "typical: 26 °C", 1)
		}
		p, problems := project.LoadText("lamp.yaml", []byte(text), nil, partslib.Files())
		if p == nil {
			t.Fatal(problems)
		}
		r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		post := func(path string, more map[string]any, to any) {
			t.Helper()
			body := map[string]any{"base": st.Hash, "changes": changes}
			for k, v := range more {
				body[k] = v
			}
			resp, data := send(t, ts, "POST", "/api/"+path, body, nil)
			if resp.StatusCode != http.StatusOK {
				t.Fatalf("%s: %s: %.300s", path, resp.Status, data)
			}
			if err := json.Unmarshal(data, to); err != nil {
				t.Fatal(err)
			}
		}
		if len(changes) > 0 {
			var warm warmView
			post("warmup", map[string]any{"case": "max-ambient-fan-failure"}, &warm)
			w, err := study.SimulateWarmup(context.Background(), r, "max-ambient-fan-failure", engine.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(tableOf(report.WarmTable(w, nil)), warm.Table); d != "" || warm.Says != report.WarmText(w) ||
				len(warm.Moments) != len(w.Moments) {
				t.Errorf("warm-up (−want +got):\n%s\n%s", d, warm.Says)
			}
		} else {
			var fold foldView
			post("foldback", nil, &fold)
			f, err := study.SimulateFoldback(context.Background(), r, engine.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(tableOf(report.FoldTable(f)), fold.Table); d != "" || len(fold.Curve) != len(f.Table)-2 ||
				len(fold.Healthy) < 100 || fold.Says[0] != report.FoldTexts(f)[0] {
				t.Errorf("foldback (−want +got):\n%s\n%q", d, fold.Says)
			}
		}
		var day dayView
		post("day", nil, &day)
		c, err := study.DayOf(t.Context(), r, study.DayRequest{StepS: viewStepS})
		if err != nil || !day.Given || day.Wrong != "" {
			t.Fatalf("the day: %v, %q, %v", day.Given, day.Wrong, err)
		}
		if math.Abs(day.Day.Sums.DLI/c.Sums.DLI-1) > 1e-6 || len(day.Day.TimesS) != len(c.TimesS) ||
			len(day.Lists) != len(r.Lamp.Channels) || !day.Lists[0].Stated ||
			day.Lists[0].Full != r.Lamp.Channels[0].Level || len(day.Lists[0].Frames) != 4 {
			t.Errorf("the day is %+v with %+v, want %+v", day.Day.Sums, day.Lists, c.Sums)
		}
		var sunrise sunriseView
		post("sunrise", map[string]any{"full": "", "first": "2200 K", "steps": 5, "ramp": "", "change": ""}, &sunrise)
		want, err := study.FindSunrise(r, study.SunriseRequirement{StartK: 2200, Steps: 5})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(sunrise.Steps); n != 5 || len(sunrise.Table.Rows) != 5 || len(sunrise.Says) == 0 ||
			math.Abs(sunrise.Steps[4].CCTK-r.Value("lamp.cct")) > 0.1 ||
			math.Abs(sunrise.Steps[1].PPFD-want.Steps[1].PPFD) > 1e-6 {
			t.Errorf("sunrise has %d steps and ends at %g K, want 5 and the design", n, sunrise.Steps[n-1].CCTK)
		}
		post("sunrise", map[string]any{
			"full": "5500 K ± 300 K", "steps": 4, "ramp": "20 min", "change": "60 %",
		}, &sunrise)
		if end := sunrise.Steps[len(sunrise.Steps)-1]; sunrise.RampS != 1200 || sunrise.Bound != 0.6 ||
			end.CCTK < 5199 || end.CCTK > 5801 || end.TimeS != 1200 {
			t.Errorf("sunrise to 5500 K: %g s, bound %g, %g K", sunrise.RampS, sunrise.Bound, end.CCTK)
		}
	}
	for name, tt := range map[string]struct {
		path string
		body map[string]any
		say  string
	}{
		"a case that is none": {"warmup", map[string]any{"case": "winter"}, "no case"},
		"a first of volts":    {"sunrise", map[string]any{"first": "3 V", "steps": 5}, "3 V"},
		"a full of words":     {"sunrise", map[string]any{"first": "2200 K", "full": "white", "steps": 5}, "white"},
		"a cold full level":   {"sunrise", map[string]any{"first": "2200 K", "full": "10 K", "steps": 5}, "1000 K"},
		"a ramp of volts":     {"sunrise", map[string]any{"ramp": "3 V", "steps": 5}, "3 V"},
		"too slow a change":   {"sunrise", map[string]any{"change": "10 %", "steps": 5}, "at least 20 %"},
		"too many steps":      {"sunrise", map[string]any{"first": "2200 K", "steps": 1e6}, "2 to 60"},
		"no steps":            {"sunrise", map[string]any{"first": "2200 K"}, "2 to 60"},
	} {
		tt.body["base"], tt.body["changes"] = st.Hash, []change{}
		resp, data := send(t, ts, "POST", "/api/"+tt.path, tt.body, nil)
		if resp.StatusCode < 400 || resp.StatusCode >= 500 || !strings.Contains(string(data), tt.say) {
			t.Errorf("%s: %s: %.300s", name, resp.Status, data)
		}
	}
	bare := strings.NewReplacer("sensor: {part: ntc-10k, at: [62 mm, -14 mm]}\n", "",
		"day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}\n", "", "  cct: 5200 K ± 500 K\n", "").Replace(onDisk(t,
		dir))
	s2, ts2 := serve(t, t.TempDir())
	write(t, s2.work.o.Folder, bare)
	st = state(t, ts2)
	settled(t, s2)
	for path, say := range map[string]string{
		"foldback": "no temperature sensor", "day": `"given":false`,
		"sunrise": "ramp time not stated, assumed",
	} {
		body := map[string]any{"base": st.Hash, "changes": []change{}}
		if path == "sunrise" {
			body["first"], body["steps"] = "2200 K", 4
		}
		if _, data := send(t, ts2, "POST", "/api/"+path, body, nil); !strings.Contains(string(data), say) {
			t.Errorf("%s of a design without: %.300s", path, data)
		}
	}
}

// TestReport gives the very file that the command writes, as one to keep, under the lamp's name and the date.
func TestReport(t *testing.T) {
	slow(t)
	dir := demo(t, "propagation-bench")
	s, ts := serve(t, dir, func(o *Options) {
		o.Now = func() time.Time {
			return time.Date(2031, 5, 4, 12, 0, 0, 0,
				time.UTC)
		}
	})
	settled(t, s)
	st := state(t, ts)
	ask := func(base string, changes ...change) (*http.Response, string) {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/report", map[string]any{"base": base, "changes": changes}, nil)
		return resp, string(data)
	}
	p, problems := project.LoadText("lamp.yaml", []byte(onDisk(t, dir)), nil, partslib.Files())
	if p == nil {
		t.Fatal(problems)
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := report.HTML(&want, r, review.Review(t.Context(), r), report.Options{Sources: docs.Sources()}); err != nil {
		t.Fatal(err)
	}
	resp, got := ask(st.Hash)
	if resp.StatusCode != http.StatusOK || got != want.String() {
		t.Errorf("%s: the report of %d bytes is not the one of %d bytes that the command writes:\n%.600s", resp.Status,
			len(got), want.Len(), cmp.Diff(want.String(), got))
	}
	if head := resp.Header.Get("Content-Disposition"); !strings.HasPrefix(head, "attachment; filename=") ||
		!strings.HasSuffix(strings.Trim(head, `"`), "-2031-05-04.html") {
		t.Errorf("it is sent as %q", head)
	}
	if got := resp.Header.Get("Content-Security-Policy"); got != policy {
		t.Errorf("its policy is %q", got)
	}
	if resp, got := ask(st.Hash, change{"installation.hanging_height", "222 mm"}); resp.StatusCode != http.StatusOK ||
		!strings.Contains(got, "with 1 unsaved change: installation.hanging_height = 222 mm") ||
		!strings.Contains(resp.Header.Get("Content-Disposition"), "-unsaved-2031") {
		t.Errorf("of a tried value: %s, %q", resp.Status, resp.Header)
	}
	if resp, got := ask(st.Hash, change{
		"installation.hanging_height",
		"222 V",
	}); resp.StatusCode != http.StatusUnprocessableEntity ||
		!strings.Contains(got, "there is no report of a lamp with problems") {
		t.Errorf("of a wrong value: %s: %.300s", resp.Status, got)
	}
	write(t, dir, strings.Replace(onDisk(t, dir), "name:", "nmae:", 1))
	st = state(t, ts)
	if resp, got := ask(st.Hash); resp.StatusCode != http.StatusUnprocessableEntity ||
		!strings.Contains(got, "lamp.yaml:") || strings.Contains(resp.Header.Get("Content-Disposition"), "attachment") {
		t.Errorf("of a broken file: %s: %.300s", resp.Status, got)
	}
	if resp, _ := ask("old"); resp.StatusCode != http.StatusConflict {
		t.Errorf("of another text: %s", resp.Status)
	}
}

// TestPapers: the build sheet can be opened under an address of its own, with its own policy; tables are files. The
// oldest of nine sheets is gone.
func TestPapers(t *testing.T) {
	slow(t)
	dir := demo(t, "moss-jar")
	s, ts := serve(t, dir)
	settled(t, s)
	base := state(t, ts).Hash
	ask := func(path string, open bool) (*http.Response, []byte) {
		t.Helper()
		body := map[string]any{"base": base, "changes": []change{}, "open": open}
		resp, data := send(t, ts, "POST", "/api/"+path, body, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s: %.200s", path, resp.Status, data)
		}
		return resp, data
	}
	_, data := ask("build-sheet", true)
	first := read[openedSheet](t, data)
	resp, page := send(t, ts, "GET", first.Address, nil, nil)
	csp := resp.Header.Get("Content-Security-Policy")
	if resp.StatusCode != http.StatusOK || !strings.Contains(string(page), "page 2 of 2") ||
		!strings.HasPrefix(csp, "default-src 'none'; style-src 'unsafe-inline';") ||
		strings.Contains(csp, "script-src") {
		t.Errorf("the sheet: %s, %q: %.200s", resp.Status, csp, page)
	}
	for range maxSheets {
		ask("build-sheet", true)
	}
	if resp, data := send(t, ts, "GET", first.Address, nil, nil); resp.StatusCode != http.StatusNotFound ||
		!strings.Contains(string(data), "no longer kept") {
		t.Errorf("the oldest sheet: %s: %.200s", resp.Status, data)
	}
	for path, want := range map[string]string{
		"order-list": "kind,part,what,count,unit,", "placement": "kind,code,name,part,",
	} {
		resp, data := ask(path, false)
		if !strings.HasPrefix(string(data), want) || resp.Header.Get("Content-Type") != "text/csv; charset=utf-8" ||
			!strings.Contains(resp.Header.Get("Content-Disposition"), path+".csv") {
			t.Errorf("%s: %q: %.200s", path, resp.Header, data)
		}
	}
}

func TestFileName(t *testing.T) {
	for name, want := range map[string]string{
		"Long tank 60 × 30 cm, first": "long-tank-60-30-cm-first", "": "lamp", "日本": "lamp",
		"../../etc/passwd": "etc-passwd", "a\r\nb\"c": "a-b-c", "--x--": "x",
		strings.Repeat("ab ", 100): strings.TrimSuffix(strings.Repeat("ab-", 20), "-"),
	} {
		if got := fileName(name); got != want {
			t.Errorf("fileName(%q) = %q, want %q", name, got, want)
		}
	}
}
