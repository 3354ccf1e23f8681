package drive

import "math"

// Forward is the forward voltage of alike packages in a string, at the string's current.
//
// Where the driver dims by current, MinV is that of the smallest current: there the string takes the minimum voltage.
type Forward struct {
	Count            int     // packages in series
	MinV, TypV, MaxV float64 // of one package: lowest bin, typical, highest bin, at RefK
	SlopeVK          float64 // change of one package's voltage per kelvin [V/K], below zero
	RefK             float64 // junction temperature of the three voltages
	ColdK            float64 // coldest junction: the minimum ambient with the lamp off; 0 means RefK
	TypK             float64 // usual junction; 0 means RefK
	HotK             float64 // hottest junction; 0 means RefK
}

// Window is the range of a string's voltage: hot junctions and lowest bins, typical, cold start and highest bins [V].
type Window struct {
	LoV, TypV, HiV float64
}

// StringWindow returns the range of the voltage of a string in volts:
//
//	V_lo  = Σ n (V_min + k (T_hot − T_ref))
//	V_typ = Σ n (V_typ + k (T_typ − T_ref))
//	V_hi  = Σ n (V_max + k (T_cold − T_ref))
//
// n packages of a kind, k the change of voltage with temperature [V/K]. Should k be above zero, the ends swap so that
// LoV stays the minimum and HiV the largest. Valid where k is constant, about −40 °C to 150 °C for LEDs.
// Source: Kirchhoff's voltage law; the corners are datasheet practice.
func StringWindow(parts []Forward) Window {
	var w Window
	for _, p := range parts {
		at := func(tK float64) float64 {
			if tK == 0 {
				return 0
			}
			return p.SlopeVK * (tK - p.RefK)
		}
		cold, hot, n := at(p.ColdK), at(p.HotK), float64(p.Count)
		w.LoV += n * (p.MinV + math.Min(cold, hot))
		w.TypV += n * (p.TypV + at(p.TypK))
		w.HiV += n * (p.MaxV + math.Max(cold, hot))
	}
	return w
}

// BuckMargins is the voltage margin of a buck driver above the string.
type BuckMargins struct {
	MarginV      float64 // the smaller of the two below; below zero the current is not reached in the cold
	OverStringV  float64 // V_in,min − headroom − V_hi [V]
	OverMaxDutyV float64 // D_max·V_in,min − headroom − V_hi [V]
	Duty         float64 // V_hi/V_in,min, the largest duty without losses
}

// BuckHeadroom returns the voltage margin of a buck stage above the string in volts:
//
//	margin = D_max·V_in,min − V_headroom − V_hi
//
// inMinV is the minimum voltage at the driver's terminals (see CableEndVoltage), headroomV the sense voltage and the drops of
// switch and inductor, maxDuty the controller's largest duty; 0 means 1. Headroom is 1 to 2.5 V in common practice.
// Source: Erickson2020, ch. 2 (volt-second balance).
func BuckHeadroom(w Window, inMinV, headroomV, maxDuty float64) BuckMargins {
	if maxDuty == 0 {
		maxDuty = 1
	}
	h := BuckMargins{
		OverStringV:  inMinV - headroomV - w.HiV,
		OverMaxDutyV: maxDuty*inMinV - headroomV - w.HiV,
		Duty:         w.HiV / inMinV,
	}
	h.MarginV = math.Min(h.OverStringV, h.OverMaxDutyV)
	return h
}

// BoostMargin returns by how many volts the string stays above the input of a boost driver:
//
//	margin = V_lo − V_in,max
//
// Below zero the diode conducts and nothing limits the current. Source: Erickson2020, ch. 2.
func BoostMargin(w Window, inMaxV float64) float64 { return w.LoV - inMaxV }

// LinearStage is a stage that dissipates the difference between input and string voltage.
type LinearStage struct {
	WorstW         float64 // heat at the highest input and the hot string
	TypicalW       float64 // heat at the nominal input and the typical string
	Efficiency     float64 // V_typ/V_in at the nominal input
	DropoutMarginV float64 // V_in,min − dropout − V_hi; below zero the current is not reached in the cold
}

// Linear returns heat, efficiency and margin of a linear current stage:
//
//	P = (V_in − V)·I    η = V/V_in
//
// currentA [A]; inMinV, inTypV and inMaxV are the input [V]; dropoutV is what the stage needs across itself [V]. Exact
// for direct current. Its junction is ambient + P·R_th, of which the caller knows R_th; stages on one sink add.
// Source: Kirchhoff's laws.
func Linear(w Window, currentA, inMinV, inTypV, inMaxV, dropoutV float64) LinearStage {
	return LinearStage{
		WorstW:         (inMaxV - w.LoV) * currentA,
		TypicalW:       (inTypV - w.TypV) * currentA,
		Efficiency:     w.TypV / inTypV,
		DropoutMarginV: inMinV - dropoutV - w.HiV,
	}
}
