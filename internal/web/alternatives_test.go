package web

import (
	"strings"
	"testing"
)

// TestAlternatives wants each height to be the lamp that trying it gives, and refuses what is no question.
func TestAlternatives(t *testing.T) {
	slow(t)
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	st := state(t, ts)
	ask := func(c choiceAsk) (int, []byte) {
		resp, data := send(t, ts, "POST", "/api/choose", map[string]any{
			"base": st.Hash, "changes": []change{},
			"choice": c,
		}, nil)
		return resp.StatusCode, data
	}
	for _, c := range []struct {
		choiceAsk
		first string // figure of the first column
		tried int    // rows that can be tried, at least
	}{
		{choiceAsk{From: "100 mm", To: "600 mm"}, "target.ppfd", 11},
	} {
		status, data := ask(c.choiceAsk)
		if status != 200 {
			t.Fatalf("%d %s", status, data)
		}
		v := read[choiceView](t, data)
		now, tried := 0, 0
		for _, r := range v.Rows {
			if r.Now {
				now++
			}
			if r.Problem != "" {
				continue
			}
			if len(r.Cells) != len(v.Heads) {
				t.Fatalf("%s: %d cells under %d heads", r.Name, len(r.Cells), len(v.Heads))
			}
			var changes []change
			for _, x := range r.Sets {
				changes = append(changes, change(x))
			}
			resp, data := send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash, "changes": changes}, nil)
			if resp.StatusCode != 200 {
				t.Fatalf("try %s: %s", r.Name, data)
			}
			got := ""
			for _, f := range read[lampSeen](t, data).Figures {
				if f.Key == c.first {
					got = f.Text
				}
			}
			if got != r.Cells[0] {
				t.Errorf("%s: trying it gives %s, its row says %s", r.Name, got, r.Cells[0])
			}
			tried++
		}
		if now != 1 || tried < c.tried {
			t.Errorf("%d rows are what the design has, and %d can be tried, of %d", now, tried, len(v.Rows))
		}
		if !strings.Contains(v.Picture, "<svg") || !strings.Contains(v.Says, "all requirements are met from 1") {
			t.Errorf("the heights lack their picture, or say %q", v.Says)
		}
	}
	for _, c := range []struct {
		choiceAsk
		path, says string
	}{
		{choiceAsk{From: "3 V", To: "1 m"}, "from", "V"},
		{choiceAsk{From: "1 m", To: "500 mm"}, "to", "must be above 1 m"},
		{choiceAsk{From: "-1 mm", To: "500 mm"}, "from", "must be above zero"},
		{choiceAsk{From: "1 m", To: "1 km"}, "to", ""},
		{choiceAsk{Channel: "green", From: "100 mm", To: "600 mm"}, "", "no channel"},
	} {
		status, data := ask(c.choiceAsk)
		f := read[failure](t, data)
		if status < 400 || status >= 500 || f.Path != c.path || !strings.Contains(f.Error, c.says) {
			t.Errorf("%+v: %d %s", c.choiceAsk, status, data)
		}
	}
}
