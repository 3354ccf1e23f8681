package start

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/project"
)

// Rules of the electrical part; common practice, no source.
const (
	wireM        = 1.5  // from a driver to the board
	wireDrop     = 0.02 // of the voltage of a string, out and back
	cableDropV   = 0.6  // of the wire between supply and drivers
	loadShare    = 0.8  // of the rated power of a supply
	fuseFactor   = 1.7  // of a fuse's rated current over the current in operation
	fuseVoltageV = 63   // rated direct voltage of the fuses
	driverLoss   = 0.9  // output over input power of a driver, where a datasheet states none
	touchV       = 60.0 // largest direct voltage that is considered
	wireOverFuse = 1.5  // of a wire's rated current over that of its fuse: 2.1/1.45, rounded up
	// calmHz is the frequency from which on full modulation is of low risk. Source: IEEE1789, 8.1.1.
	calmHz = 1250
	// flickerEUR is the price at which a driver of lower frequency is not preferred any longer.
	flickerEUR = 25
	// channelEUR is what a further channel of the same emitters counts: wires, and a value that is set alike.
	channelEUR = 10
	// A driver whose smallest current is larger than the required one is dimmed, at most by this factor; it is then not
	// preferred before one that need not be.
	dimmest, dimmedEUR = 8, 15
)

// fuseRatings is the series of rated currents of miniature fuses [A]. Source: IEC60127, sheet 3 (cited from memory).
var fuseRatings = []float64{0.315, 0.4, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10}

// feeding is supplies and drivers of a lamp.
type feeding struct {
	supply   *project.Supply
	supplies int
	drivers  []*project.Driver // of each emitter of the recipe
	amps     []float64         // that they are set to; more than required where the channel is dimmed
	strings  [][]int           // of each emitter of the recipe: emitters in each channel
	fuseA    float64
	priceEUR float64
}

// feed returns the cheapest supplies and drivers that deliver currents to emitters in series.
func feed(lib *project.Library, parts []*project.Emitter, counts []int, amps []float64) (best feeding, ok bool) {
	for _, id := range lib.Supplies.IDs() {
		s := lib.Supplies.Get(id)
		if s.Voltage.Hi > touchV || s.Isolation.S != project.IsolationSELV || !s.Price.Set {
			continue
		}
		f, can := feedFrom(lib, s, parts, counts, amps)
		if can && (!ok || f.priceEUR < best.priceEUR) {
			best, ok = f, true
		}
	}
	return best, ok
}

// feedFrom returns the cheapest drivers of one type of supply.
func feedFrom(lib *project.Library, s *project.Supply, parts []*project.Emitter, counts []int,
	amps []float64,
) (feeding, bool) {
	f := feeding{supply: s}
	watts := 0.0
	for i, e := range parts {
		volts := float64(seriesOf(e)) * voltageOf(e)
		var best *project.Driver
		bestPrice, bestStrings, bestAmps := math.Inf(1), []int(nil), 0.0
		for _, id := range lib.Drivers.IDs() {
			d := lib.Drivers.Get(id)
			set := math.Max(amps[i], d.CurrentMin.SI)
			if set > dimmest*amps[i] || set > maxAmps(e) {
				continue
			}
			inSeries := longest(d, s, volts, set)
			if inSeries == 0 {
				continue
			}
			split := evenly(counts[i], inSeries)
			if !fits(d, s, volts, set, split) {
				continue
			}
			price := d.Price.SI*float64(len(split)) + channelEUR*float64(len(split)-1)
			if d.Dimming.S == project.DimmingPWM && d.DimmingFreq.SI < calmHz {
				price += flickerEUR
			}
			if set > amps[i] {
				price += dimmedEUR
			}
			if price < bestPrice {
				best, bestPrice, bestStrings, bestAmps = d, price, split, set
			}
		}
		if best == nil {
			return f, false
		}
		f.drivers, f.strings = append(f.drivers, best), append(f.strings, bestStrings)
		f.amps = append(f.amps, bestAmps)
		f.priceEUR += bestPrice
		watts += float64(counts[i]) * volts * bestAmps / efficiencyOf(best, s, volts*float64(slices.Max(bestStrings)))
	}
	f.supplies = max(1, int(math.Ceil(watts/(loadShare*s.Power.SI))))
	if channels := f.channels(); f.supplies > channels {
		return f, false
	}
	f.fuseA = rating(fuseFactor * watts / float64(f.supplies) / s.Voltage.SI)
	f.priceEUR += float64(f.supplies) * s.Price.SI
	return f, f.fuseA > 0
}

// channels returns the number of channels.
func (f *feeding) channels() (n int) {
	for _, list := range f.strings {
		n += len(list)
	}
	return n
}

// efficiencyOf returns output over input power of a driver.
func efficiencyOf(d *project.Driver, s *project.Supply, stringV float64) float64 {
	switch {
	case d.Kind.S == project.DriverLinear:
		return math.Min(1, stringV/s.Voltage.SI)
	case d.Efficiency.Set:
		return d.Efficiency.SI
	}
	return driverLoss
}

// longest returns how many packages in series a driver feeds from a supply; 0 where it does not deliver the current.
func longest(d *project.Driver, s *project.Supply, volts, amps float64) int {
	down := d.Kind.S == project.DriverBuck || d.Kind.S == project.DriverLinear
	if !down || !d.Headroom.Set || !d.Price.Set || d.Dimming.S == project.DimmingNone ||
		d.CurrentMin.Set && amps < d.CurrentMin.SI || amps > d.CurrentMax.SI ||
		d.InputMin.Set && s.Voltage.Lo-cableDropV < d.InputMin.SI || d.InputMax.Set && s.Voltage.Hi > d.InputMax.SI {
		return 0
	}
	limit := math.Min(s.Voltage.Lo-cableDropV-d.Headroom.SI, d.OutputMax.SI)
	if d.MaxPower.Set {
		limit = math.Min(limit, d.MaxPower.SI/amps)
	}
	return int(limit / volts)
}

// fits reports whether each string is above the lowest output voltage of its driver, and the heat of a linear driver
// within its limit. A string has at least 85 % of the upper bound of its voltage.
func fits(d *project.Driver, s *project.Supply, volts, amps float64, split []int) bool {
	low := 0.85 * volts * float64(slices.Min(split))
	if d.Kind.S == project.DriverLinear && (s.Voltage.Hi-low)*amps > 0.9*d.MaxLoss.SI {
		return false
	}
	return !d.OutputMin.Set || low >= d.OutputMin.SI
}

// evenly splits n into the fewest parts of at most a size.
func evenly(n, most int) (out []int) {
	parts := (n + most - 1) / most
	for i := range parts {
		out = append(out, n*(i+1)/parts-n*i/parts)
	}
	return out
}

// rating returns the first rating of the series that is not below a current [A]; 0 where there is none.
func rating(amps float64) float64 {
	for _, a := range fuseRatings {
		if a >= amps {
			return a
		}
	}
	return 0
}

// wireFor returns the thinnest wire that a fuse protects, and whose resistance is not above a limit [Ω/m].
func wireFor(lib *project.Library, fuseA, mostOhm float64) string {
	best, bestOhm := "", -1.0
	thickest, least := "", math.Inf(1)
	for _, id := range lib.Wires.IDs() {
		w := lib.Wires.Get(id)
		if w.Resistance.SI < least {
			thickest, least = id, w.Resistance.SI
		}
		if w.MaxCurrent.Set && w.MaxCurrent.SI >= wireOverFuse*fuseA && w.Resistance.SI <= mostOhm &&
			w.Resistance.SI > bestOhm {
			best, bestOhm = id, w.Resistance.SI
		}
	}
	if best == "" {
		return thickest
	}
	return best
}

func milliamps(a float64) string { return fmt.Sprintf("%g mA", math.Round(1e3*a)) }
