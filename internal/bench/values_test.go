package bench

import (
	"context"
	"math"
	"strings"
	"testing"

	"lampwright/internal/lamptest"
	"lampwright/internal/project"
)

// TestSetValues: a model with other values is the model of the readings with these values, and readings that are
// others are refused.
func TestSetValues(t *testing.T) {
	e := lamptest.Evaluated(t, "long-tank")
	load := func(text string) *project.Readings {
		t.Helper()
		r, problems := project.LoadReadingsText("readings.yaml", []byte(text), e.Lamp.Project)
		if r == nil {
			t.Fatal(problems)
		}
		return r
	}
	const head = `lampwright_readings: 1
instruments:
  - {name: dmm, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K, resolution: 0.1 K}
  - {name: plug, kind: wattmeter, accuracy: 2 %, resolution: 0.1 W}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22.5 °C
    readings:
`
	const before = head + `      - {what: string voltage, instrument: dmm, channel: cool, state: full, value: 17.5 V}
      - {what: mains power, instrument: plug, state: full}
      - what: contact temperature
        instrument: tc
        place: heat sink
        series: [{time: 1 min, value: 25 °C}, {time: 5 min, value: 30 °C}]
      - {what: junction temperature, instrument: dmm, channel: cool, cold_voltage: 18.2 V, steady_voltage: 17.6 V}
`
	after := strings.NewReplacer("17.5 V", "17.8 V",
		"plug, state: full}", "plug, state: full, value: 33 W, doubted: yes}",
		"value: 30 °C", "value: 31 °C", "17.6 V}", "17.4 V}").Replace(before)
	m, err := New(e.Sys, load(before))
	if err != nil {
		t.Fatal(err)
	}
	want, err := New(e.Sys, load(after))
	if err != nil {
		t.Fatal(err)
	}
	if !m.SetValues(load(after)) {
		t.Fatal("other values are refused")
	}
	got, err := m.Compare(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	rows, err := want.Compare(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for i := range rows {
		if a, b := got[i], rows[i]; a.Read != b.Read || a.Doubted != b.Doubted || math.Abs(a.Zeta-b.Zeta) > 1e-9 ||
			a.Verdict != b.Verdict || a.Where != b.Where {
			t.Errorf("reading %s is %+v, want %+v", b.Label, a, b)
		}
	}
	if u := m.Used(); len(u) != 4 || len(rows) != 5 || rows[1].Verdict == Pending || !rows[1].Doubted {
		t.Errorf("used %v of %d", u, len(rows))
	}
	if m.SetValues(load(strings.Replace(before, ", {time: 5 min, value: 30 °C}", "", 1))) {
		t.Error("a series with a point less is taken")
	}
	if m.SetValues(load(before + "      - {what: mains power, instrument: plug, state: full}\n")) {
		t.Error("a further reading is taken")
	}
	if m.SetValues(load(head + "      - {what: mains power, instrument: plug, state: full}\n")) {
		t.Error("one reading is taken for four")
	}
}
