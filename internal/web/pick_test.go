package web

import (
	"bytes"
	"encoding/json"
	"net/http/httptest"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// picked asks for the alternatives at a path.
func picked(t *testing.T, ts *httptest.Server, base string, changes []change,
	at string,
) (rows []pickRow, got map[string]pickedRow) {
	t.Helper()
	resp, data := send(t, ts, "POST", "/api/pick", map[string]any{"base": base, "changes": changes, "at": at}, nil)
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %s: %s", at, resp.Status, data)
	}
	got = map[string]pickedRow{}
	for line := range bytes.Lines(data) {
		var v pickedView
		if err := json.Unmarshal(line, &v); err != nil || v.Error != "" {
			t.Fatalf("%s: %v %s", at, err, v.Error)
		}
		if rows = append(rows, v.Rows...); v.Row != nil {
			got[v.Row.ID] = *v.Row
		}
	}
	return rows, got
}

// TestPick: a supply of 24 V comes with its fuse and a supply for the fan, and with them the lamp is as the row states.
func TestPick(t *testing.T) {
	if testing.Short() {
		t.Skip("it evaluates some hundred designs")
	}
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	base := state(t, ts).Hash
	rows, got := picked(t, ts, base, nil, "supplies[0].part")
	if len(rows) != 4 || len(got) != 4 || !rows[0].Now || rows[0].ID != "supply-12v-60w" ||
		rows[1].Price != "24.00 EUR" {
		t.Fatalf("%+v", rows)
	}
	row := got["supply-24v-100w"]
	brings := strings.Join(row.Brings, "; ")
	if !strings.Contains(brings, "supply-12v-60w added for the fan alone") || !strings.Contains(brings, "fuse") {
		t.Errorf("brings %s", brings)
	}
	for _, f := range row.Fresh {
		if f.Severity == finding.Stop {
			t.Errorf("a new stop: %+v", f)
		}
	}
	if row.After.Stops != 7 || row.PriceEUR < 24 || row.PriceEUR > 27 || len(row.Figures) != len(pickFigures) {
		t.Errorf("%+v", row)
	}
	body := map[string]any{"base": base, "changes": row.Sets, "view": "power"}
	_, data := send(t, ts, "POST", "/api/preview", body, nil)
	v := read[lampView](t, data)
	if v.Counts["stop"] != row.After.Stops || v.Counts["warn"] != row.After.Warnings {
		t.Errorf("the preview has %v, the row %+v", v.Counts, row.After)
	}
	if len(v.Power) == 0 || v.Power[0].Kind != "mains" {
		t.Errorf("%+v", v.Power)
	}
	// Fuses, thicknesses; what is no choice.
	if rows, got = picked(t, ts, base, nil, "board.thickness"); len(rows) < 2 || len(got) != len(rows) {
		t.Errorf("%+v", rows)
	}
	ask := map[string]any{"base": base, "changes": []change{}, "at": "installation.glass"}
	if resp, data := send(t, ts, "POST", "/api/pick", ask, nil); resp.StatusCode != 422 {
		t.Errorf("%s: %s", resp.Status, data)
	}
}

// TestPickRows lists fuses by their ratings, and thicknesses that the board is made in.
func TestPickRows(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank"))
	p, _, err := s.work.edited(state(t, ts).Hash, nil)
	if err != nil {
		t.Fatal(err)
	}
	count := func(at string) (n, now int) {
		rows, _ := pickRows(p, at)
		for _, r := range rows {
			if r.Now {
				now++
			}
		}
		return len(rows), now
	}
	for at, want := range map[string][2]int{
		"supplies[0].fuse": {25, 1}, "channels[0].fuse": {25, 1}, "channels[9].fuse": {0, 0}, "board.thickness": {4, 1},
		"channels[0].driver": {8, 1}, "solder": {5, 1},
	} {
		if n, now := count(at); [2]int{n, now} != want {
			t.Errorf("%s: %d rows, %d of them now; want %v", at, n, now, want)
		}
	}
}

// TestPickAfterRemoval: once an item of a list is taken away, paths are those of the file.
func TestPickAfterRemoval(t *testing.T) {
	_, ts := serve(t, demo(t, "propagation-bench"))
	changes := []change{{"channels[0]", gone}, {"supplies[0].feeds", asYAML + "[red]"}}
	rows, got := picked(t, ts, state(t, ts).Hash, changes, "channels[1].wire.part")
	if len(rows) < 5 || len(got) != len(rows) {
		t.Fatalf("%+v", rows)
	}
	for id, row := range got {
		for _, s := range row.Sets {
			if strings.HasPrefix(s.Path, "channels[0]") {
				t.Errorf("%s sets %s", id, s.Path)
			}
		}
		if row.Problem != "" {
			t.Errorf("%s: %s", id, row.Problem)
		}
	}
}
