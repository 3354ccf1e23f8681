package drive

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
)

// UsualLoading is the share of a supply's rated power that it is asked for at the most. Common practice, no source.
const UsualLoading = 0.8

// AtEndOfCable returns the voltage [V] and the current [A] at the far end of a cable that feeds a load of constant
// power, as a switching driver is:
//
//	V = (V₀ + √(V₀² − 4·R·P))/2    I = P/V
//
// supplyV is V₀ at the near end, the least one for a worst case; loopOhm is R of both conductors together; powerW is P.
// It is an error if the cable cannot carry the power at all (4·R·P > V₀²): the voltage would collapse.
// For a linear driver, which takes a constant current, use supplyV − loopOhm·current instead.
// Source: Kirchhoff's voltage law with V·I = P, the root that the load starts from.
func AtEndOfCable(supplyV, loopOhm, powerW float64) (voltsV, currentA float64, err error) {
	d := supplyV*supplyV - 4*loopOhm*powerW
	if !(supplyV > 0) || !(d >= 0) {
		return 0, 0, fmt.Errorf("a cable of %.3g Ω cannot carry %.3g W from %.3g V; take a thicker or shorter one, or a higher voltage", loopOhm, powerW, supplyV)
	}
	voltsV = (supplyV + math.Sqrt(d)) / 2
	return voltsV, powerW / voltsV, nil
}

// Branch is one driver on a supply, from the LEDs backwards.
type Branch struct {
	LEDPowerW        float64 // electrical power of the LEDs
	BoardWireLossW   float64 // in the pair from driver to board
	DriverEfficiency float64 // output over input, in (0, 1]
	FeedWireLossW    float64 // in the pair from supply to driver
}

// InputW returns the power a branch takes from the supply in watts: (P_LED + P_wire)/η + P_feed.
func (b Branch) InputW() float64 {
	return (b.LEDPowerW+b.BoardWireLossW)/b.DriverEfficiency + b.FeedWireLossW
}

// SupplyLoad is a supply at work.
type SupplyLoad struct {
	LEDPowerW   float64
	OutputW     float64 // what the branches take
	Share       float64 // of the rated power
	HeadroomW   float64 // rated power less OutputW
	UsualSpareW float64 // UsualLoading of the rated power less OutputW; below zero it is loaded more than is usual
	Stated      bool    // the efficiency is known; without it the three below are 0
	Efficiency  float64
	WallW       float64
	ToLEDs      float64 // power of the LEDs over that from the wall
	Notes       []string
}

// Load returns how a supply is loaded and what it takes from the wall in watts:
//
//	P_wall = Σ P_branch/η(load)
//
// ratedW is its rated output, efficiency the curve of efficiency against load as a share of rated power; an empty curve
// means that it is not stated. Below a fifth of its load a supply's efficiency falls steeply (common practice), so a
// curve that is left is said. It is an error if a driver's efficiency or the rated power is not above zero.
// Source: conservation of energy.
func Load(branches []Branch, ratedW float64, efficiency curve.Curve) (SupplyLoad, error) {
	var s SupplyLoad
	if !(ratedW > 0) {
		return s, fmt.Errorf("rated power %g W of a supply must be above zero", ratedW)
	}
	for _, b := range branches {
		if !(b.DriverEfficiency > 0) || b.DriverEfficiency > 1 {
			return s, fmt.Errorf("efficiency %g of a driver must be above 0 and at most 1", b.DriverEfficiency)
		}
		s.LEDPowerW += b.LEDPowerW
		s.OutputW += b.InputW()
	}
	s.Share = s.OutputW / ratedW
	s.HeadroomW = ratedW - s.OutputW
	s.UsualSpareW = UsualLoading*ratedW - s.OutputW
	if efficiency.Empty() {
		s.Notes = append(s.Notes, "the supply's efficiency is not stated, so the power from the wall is not known")
		return s, nil
	}
	eta, inside := efficiency.At(s.Share)
	if !inside {
		lo, hi := efficiency.Range()
		end := lo
		if s.Share > hi {
			end = hi
		}
		eta, _ = efficiency.At(end)
		s.Notes = append(s.Notes, fmt.Sprintf("the supply's efficiency is stated for %.0f %% to %.0f %% of load and is used at %.0f %%; below a fifth of load it falls steeply", lo*100, hi*100, s.Share*100))
	}
	if !(eta > 0) || eta > 1 {
		return s, fmt.Errorf("efficiency %g of a supply must be above 0 and at most 1", eta)
	}
	s.Stated, s.Efficiency, s.WallW = true, eta, s.OutputW/eta
	if s.WallW > 0 {
		s.ToLEDs = s.LEDPowerW / s.WallW
	}
	return s, nil
}
