package web

import (
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
)

const hours = "day: {full_level_time: 8.5 h, ramp_time: 60 min, tariff: 0.30 EUR/kWh}\n"

// TestDayLists: the keyframes of each channel with what is written, and with the paths at which they are written.
func TestDayLists(t *testing.T) {
	dir := demo(t, "long-tank")
	write(t, dir, strings.Replace(onDisk(t, dir), hours, `day:
  keyframes:                          # of all channels
    - {time: "08:00", level: 0 %}     # dark
    - time: "09:30"
      level: 62.5 %
      ramp: eased
    - {time: "20:00", ppfd: 40 µmol/m²/s, cct: 5000 K}   # evening
    - {time: "21:00", level: 0 %}
  channels:
    - channel: red
      keyframes: [{time: "10:00", level: 5 %}]
`, 1))
	s, ts := serve(t, dir)
	settled(t, s)
	got := dayOf(t, ts, state(t, ts).Hash, []change{})
	cool, red := got.Lists[0], got.Lists[3]
	if cool.Path != "day.keyframes" || !cool.Shared || cool.Stated || len(cool.Removes) != 0 ||
		red.Path != "day.channels[0].keyframes" || red.Shared || len(red.Frames) != 1 {
		t.Errorf("lists are %+v and %+v", cool, red)
	}
	want := []frameView{
		{TimeS: 28800, Time: "08:00", Percent: "0 %"},
		{TimeS: 34200, Time: "09:30", Level: 0.625, Percent: "62.5 %", Ramp: "eased"},
		{TimeS: 72000, Time: "20:00", Level: cool.Frames[2].Level, PPFD: "40 µmol/m²/s", CCT: "5000 K"},
		{TimeS: 75600, Time: "21:00", Percent: "0 %"},
	}
	if !slices.Equal(cool.Frames, want) || cool.Frames[2].Level <= 0 || cool.Frames[2].Level >= 1 {
		t.Errorf("keyframes %+v, want %+v", cool.Frames, want)
	}
}

// TestDayKeepsComments: a whole list of keyframes changes what differs in the text, and nothing else.
func TestDayKeepsComments(t *testing.T) {
	const list = `day:
  keyframes:                          # of all channels
    - {time: "08:00", level: 0 %}     # dark
    - time: "09:30"
      level: 62.5 %                   # not more
    - {time: "21:00", level: 0 %}
`
	dir := demo(t, "long-tank")
	write(t, dir, strings.Replace(onDisk(t, dir), hours, list, 1))
	s, ts := serve(t, dir)
	settled(t, s)
	before := onDisk(t, dir)
	text := asYAML + `[{time: "08:00", level: 0 %}, {time: "09:35", level: 62.5 %}, ` +
		`{time: "20:00", level: 30 %}, {time: "21:00", level: 0 %}]`
	hash := state(t, ts).Hash
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": hash, "changes": []change{{"day.keyframes", text}}, "tried": map[string]string{"day.keyframes": hash},
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	want := strings.NewReplacer(`"09:30"`, `"09:35"`,
		"# not more\n", "# not more\n    - {time: \"20:00\", level: 30 %}\n").Replace(before)
	if now := onDisk(t, dir); now != want {
		t.Errorf("the text became %q, want %q", now[strings.Index(now, "day:"):], want[strings.Index(want, "day:"):])
	}
}

// TestDayStated: keyframes in the place of hours are the same day, once the paths that are named are taken away.
func TestDayStated(t *testing.T) {
	dir := demo(t, "long-tank")
	write(t, dir, strings.Replace(onDisk(t, dir), "60 min, tariff", `60 min, start: "07:00", tariff`, 1))
	s, ts := serve(t, dir)
	settled(t, s)
	hash := state(t, ts).Hash
	was := dayOf(t, ts, hash, []change{})
	list := was.Lists[0]
	if !list.Stated || !slices.Equal(list.Removes, []string{"day.full_level_time", "day.ramp_time", "day.start"}) {
		t.Fatalf("a stated day has the list %+v", list)
	}
	var frames []string
	for _, f := range list.Frames {
		frames = append(frames, `{time: "`+f.Time+`", level: `+f.Percent+`}`)
	}
	changes := []change{{"day.keyframes", asBlock + "[" + strings.Join(frames, ", ") + "]"}}
	for _, path := range list.Removes {
		changes = append(changes, change{path, gone})
	}
	now := dayOf(t, ts, hash, changes)
	if now.Lists[0].Stated || math.Abs(now.Day.Sums.DLI/was.Day.Sums.DLI-1) > 1e-6 {
		t.Errorf("keyframes %q give DLI %g, the hours gave %g", frames, now.Day.Sums.DLI, was.Day.Sums.DLI)
	}
	if cost := was.Day.Sums.Cost; cost <= 0 || math.Abs(now.Day.Sums.Cost/cost-1) > 1e-6 {
		t.Errorf("the tariff is lost: %g, was %g", now.Day.Sums.Cost, cost)
	}
}

// TestTimeOf: a keyframe in the last half second of a day is at its midnight, since a file cannot say 24:00.
func TestTimeOf(t *testing.T) {
	for second, want := range map[float64]string{34200: "09:30", 86399.4: "23:59:59", 86399.6: "00:00"} {
		if got := timeOf(second); got != want {
			t.Errorf("%g s: %s, want %s", second, got, want)
		}
	}
}

// dayOf asks for the day as the page does.
func dayOf(t *testing.T, ts *httptest.Server, hash string, changes []change) (v dayView) {
	t.Helper()
	resp, data := send(t, ts, "POST", "/api/day", map[string]any{"base": hash, "changes": changes}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}
