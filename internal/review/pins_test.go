package review

import (
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// TestNaturalPins: no temperature of pins without a fan passes on an assumed cooling; one that is stated counts.
func TestNaturalPins(t *testing.T) {
	pins := edit{
		"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}",
		"pins: {diameter: 3 mm, height: 25 mm, transverse_pitch: 8 mm, longitudinal_pitch: 8 mm}",
	}
	stated := edit{pins.old, pins.now + ", " + pins.old}
	r := lampVariant{}.with(pins).review(t)
	if f := r.one(t, "natural-convection", "sink block", "not stated"); f.Severity != finding.Ask {
		t.Errorf("%s: %s", f.Severity, f.Title)
	}
	for _, f := range r.findings {
		if f.Severity == finding.Pass && strings.Contains(f.Value, "°C") {
			t.Errorf("%s passes: %s", f.Check, f.Title)
		}
		if strings.Contains(f.Title, "lower bound only") {
			t.Errorf("%s says it again: %s", f.Check, f.Title)
		}
	}
	if f := r.one(t, "junction", "", ""); f.Severity != finding.Note || !strings.Contains(f.Title, "cooling assumed") {
		t.Errorf("%s: %s", f.Severity, f.Title)
	}
	r = lampVariant{}.with(stated).review(t)
	if list := r.find("natural-convection", "", ""); len(list) > 0 {
		t.Errorf("stated, and yet: %s", list[0].Title)
	}
	rise, want := r.Value("sink.temperature")-293.15, 5*(r.Value("lamp.heat")-r.Value("board.face-loss"))
	if math.Abs(rise-want) > 0.01 {
		t.Errorf("rise of the base %.2f K, want %.2f K at 5 K/W as the datasheet states", rise, want)
	}
}
