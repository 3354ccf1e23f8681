package figure_test

import (
	"fmt"
	"strings"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
)

// TestOffChannel: a channel at 0 % takes, gives and heats nothing, is the limit of an ever weaker one, and is told
// without a quotient of nothings; what its parts see while they are on is that of the set current, however its driver
// dims.
func TestOffChannel(t *testing.T) {
	at := func(dimming, level string) *figure.Evaluation {
		return lamptest.EvaluateProject(t,
			lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
				lamptest.With(lamptest.Larger(), lamptest.Change{"dimming: none", "dimming: " + dimming},
					lamptest.Change{"    current: 1 A\n    driver: box\n", "    current: 1 A\n    driver: box\n" +
						"  - name: cool\n    emitters:\n      - {part: photored-662, at: [[-20 mm, 0 mm]]}\n    " +
						"current: " +
						"700 " +
						"mA\n    level: " + level + "\n    driver: box\n"})...), lamptest.Quick())
	}
	lit := at("pwm", "100 %")
	for _, dimming := range []string{"pwm", "analogue"} {
		off, weak := at(dimming, "0 %"), at(dimming, "0.00001 %")
		for _, key := range []string{"cool.power", "cool.radiant", "cool.flux", "cool.ppf", "cool.driver-input"} {
			if v := off.Value(key); v != 0 {
				t.Errorf("%s: %s of a channel that is off is %g, want 0", dimming, key, v)
			}
		}
		for _, key := range []string{
			"lamp.flux", "lamp.ppf", "lamp.heat", "lamp.cct", "lamp.ra", "target.ppfd",
			"target.uniformity", "mains.power", "sink.temperature", "lamp.junction",
		} {
			lamptest.Near(t, dimming+": "+key+" over that of a weak channel", off.Value(key)/weak.Value(key), 1, 1e-5,
				"its limit; a ten-millionth of the channel is left")
		}
		lamptest.Near(t, dimming+": junction", off.Value("cool.junction"), off.Value("cool.solder"), 1e-12,
			"no heat, no rise over the solder point")
		lamptest.Near(t, dimming+": input while on", off.Value("cool.driver-input-on"),
			0.7*off.Value("cool.voltage")/0.8, 1e-9, "V I/η at the set current")
		lamptest.Near(t, dimming+": current", off.Value("cool.current"), 0.7, 1e-12,
			"the set current of its one string")
		// The set current on dies that are cooler than lit ones, and warmer than at a cold start.
		if v := off.Value("cool.voltage"); v <= lit.Value("cool.voltage") || v >= lit.Value("cool.voltage-max") {
			t.Errorf("%s: voltage of a channel that is off is %g V, want it between %g V lit and %g V cold", dimming, v,
				lit.Value("cool.voltage"), lit.Value("cool.voltage-max"))
		}
		if n := len(off.ColourPreview.Points); n != len(lit.ColourPreview.Points) {
			t.Errorf("%s: %d colours lie in the diagram, want the %d of the lit lamp: a channel that is off can "+
				"still be mixed in", dimming, n, len(lit.ColourPreview.Points))
		}
		for _, f := range off.Figures {
			if text := fmt.Sprint(f.Basis, f.Text()); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
				t.Errorf("%s: %s is told with a quotient of nothings: %s", dimming, f.Key, text)
			}
		}
	}
}
