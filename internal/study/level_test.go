package study

import (
	"strings"
	"testing"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestLevelNote: 10 µs at 2 kHz are 2 %.
func TestLevelNote(t *testing.T) {
	drv := &project.Driver{MinPulse: source.Value{SI: 10e-6, Set: true}}
	drv.Dimming.S = project.DimmingPWM
	ch := &lamp.Channel{Name: "white", Driver: drv, CurrentA: 1, PWMFrequency: lamp.PWMFrequency{Hz: 2000}}
	for _, tt := range []struct {
		level float64
		want  string
	}{
		{0, ""},
		{0.0199, "channel white requires a level of 1.99 %; minimum level of its driver 2 %"},
		{0.02, ""},
	} {
		if got := levelNote(ch, MixedChannel{Level: tt.level, Amps: 1}); got != tt.want {
			t.Errorf("level %g: %q, want %q", tt.level, got, tt.want)
		}
	}
	ch.Level = 0.001
	drv.MinPulse.SI = 1e-3
	if got := ch.PulseS(); got != 0.5e-6 {
		t.Errorf("pulse of 0.1 %% at 2 kHz %g s, want 0.5 µs", got)
	}
	drv.MinLevel = source.Value{SI: 3, Set: true}
	if got := levelNote(ch, MixedChannel{Level: 1, Amps: 1}); !strings.Contains(got, "of its driver 300 %") {
		t.Errorf("the higher minimum does not hold: %q", got)
	}
}
