package drive

import (
	"fmt"
	"math"
)

// InputLine is the input power of a converter against its mean output power, from the efficiencies of its datasheet and
// its no-load power. Without a load it has no loss but its no-load power.
type InputLine struct {
	NoLoadW    float64   // input without output [W]
	FullW      float64   // output at a load of 1 [W]
	Load       []float64 // output over FullW, ascending; a load of 0 is left out
	Efficiency []float64 // output over input at each load, in (0, 1]
}

// InputW returns the input power of a converter at a mean output power in watts: straight lines through
//
//	(0, P_0), (P_1, P_1/η_1), (P_2, P_2/η_2), …
//
// The last line goes on beyond the last point, and the input is never below the output. outputW is the mean over PWM
// dimming, 0 or more. Source: definition of efficiency; the losses of a converter are a constant and terms that grow
// with its load (Erickson2020, ch. 3–4), with straight lines between the points of the datasheet.
func (l InputLine) InputW(outputW float64) float64 {
	fromW, fromInputW := 0.0, l.NoLoadW
	inputW := l.NoLoadW + outputW
	for i, load := range l.Load {
		toW := load * l.FullW
		if !(toW > 0) {
			continue
		}
		toInputW := toW / l.Efficiency[i]
		inputW = fromInputW + (toInputW-fromInputW)*(outputW-fromW)/(toW-fromW)
		if outputW <= toW {
			break
		}
		fromW, fromInputW = toW, toInputW
	}
	return math.Max(inputW, outputW)
}

// Check returns an error if the input power falls while the output power rises: no converter does so.
func (l InputLine) Check() error {
	fromW, fromInputW := 0.0, l.NoLoadW
	for i, load := range l.Load {
		toW := load * l.FullW
		if !(toW > 0) {
			continue
		}
		toInputW := toW / l.Efficiency[i]
		if !(toW > fromW) || !(toInputW >= fromInputW) {
			return fmt.Errorf("input power falls from %.4g W at %.4g W output to %.4g W at %.4g W output", fromInputW,
				fromW, toInputW, toW)
		}
		fromW, fromInputW = toW, toInputW
	}
	return nil
}
