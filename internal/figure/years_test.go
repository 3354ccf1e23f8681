package figure_test

import (
	"fmt"
	"math"
	"testing"

	"lampwright/internal/lamptest"
)

// onHours are the hours of the lamp of one die: 9 h, and two ramps of 1 h in six steps, of which the first at 8.3 % of
// level counts 8.3/10.
const onHours = 9 + 2*(5+10.0/12)/6

// TestYearsFigures: the lamp of one die by hand; two dies of unlike light weigh by their light.
func TestYearsFigures(t *testing.T) {
	r := lamptest.Evaluate(t)
	const perYear = 7.1335e-6 * onHours * 365.25
	l80 := math.Log(1/0.8) / perYear * 365.25 * 86400
	lamptest.Near(t, "L80 of the channel", r.Value("a.l80"), l80, 1e-6*l80, "ln(1/0.8)/α, TM21")
	lamptest.Near(t, "L80 of the lamp", r.Value("lamp.l80"), l80, 1e-6*l80, "one channel")
	ppfd := r.Value("target.ppfd")
	for _, years := range []float64{1, 3, 5} {
		key := fmt.Sprintf("target.ppfd-year-%.0f", years)
		want := ppfd * math.Exp(-perYear*years)
		lamptest.Near(t, key, r.Value(key), want, 1e-6*want, "e^(−αt); flux does not depend on temperature")
	}
	lamptest.Near(t, "colour shift", r.Value("lamp.colour-shift-maintained"), 0, 1e-9, "one package")
	lamptest.Near(t, "CCT", r.Value("lamp.cct-maintained"), r.Value("lamp.cct"), 1e-6, "one package")

	// A second channel, of a die with a quarter of the light and no decay: 3/4 or so of the lamp fades. Its fraction of
	// the light at the target is that of the figures of the channels.
	const test = "{case_temperature: 85 °C, current: 2.1 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}"
	two := lamptest.Evaluate(t, append(lamptest.Larger(), lamptest.Change{
		"thermal_interface: {part: grease}", "  - name: b\n    emitters:\n      - {part: die, at: [[20 mm, 0 mm]]}\n" +
			"    current: 0.4 A\n    driver: box\nthermal_interface: {part: grease}",
	}, lamptest.Change{test, "{case_temperature: 85 °C, current: 0.5 A, units: 20, duration: 10000 h, " +
		"alpha: 1e-9 1/h}\n      - " + test})...)
	a, b := two.Value("a.target-ppfd"), two.Value("b.target-ppfd")
	// 0.8 (a + b) = a·x + b
	want := -math.Log((0.8*(a+b)-b)/a) / perYear * 365.25 * 86400
	lamptest.Near(t, "L80 of two channels", two.Value("lamp.l80"), want, 1e-4*want, "Σ s_c e^(−r_c t), by hand")
}
