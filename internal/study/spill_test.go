package study_test

import (
	"fmt"
	"strings"
	"testing"

	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestHeightForSpillStaysOverTheRim: what is offered can be built: the lamp does not sink between the panes.
func TestHeightForSpillStaysOverTheRim(t *testing.T) {
	tank := lamptest.Change{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}\n  hanging_height: 300 mm",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 362 mm}\n  glass: 6 mm\n  hanging_height: 600 mm",
	}
	r := lamptest.Evaluate(t, tank)
	if h, ok := study.HeightForSpill(r, 1e-5); ok {
		// 3 mm over the rim, 200 mm from the nearest pane: a Lambertian source spills some (3/200)² = 2·10⁻⁴.
		t.Errorf("%.3f m is offered for a spill of 10⁻⁵, want none: just over the rim more is spilt", h)
	}
	h, ok := study.HeightForSpill(r, 0.2)
	if !ok || h <= 0.362 || h >= 0.6 {
		t.Fatalf("%.3f m, %t is offered, want a height over the rim at 0.362 m and below 0.6 m", h, ok)
	}
	at := lamptest.Evaluate(t, lamptest.Change{
		tank[0],
		strings.Replace(tank[1], "600 mm", fmt.Sprintf("%g mm", 1e3*h), 1),
	})
	if s := at.Value("light.spill"); s > 0.2 {
		t.Errorf("at %.3f m %.3f is spilt, more than 0.2", h, s)
	}
}
