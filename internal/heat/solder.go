package heat

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// SolderJob asks what it takes to solder a wire to a pad of a board. Temperatures are kelvin.
type SolderJob struct {
	// Board as it lies on the bench: with heat transfer coefficients of still air, or in contact with a hot plate as an ideal sink.
	Board Board
	Pad   Source  // the wire pad; its power does not matter
	Near  []Probe // joints already made
	// SolidusK of what is already soldered; LiquidusK of the alloy to be flowed.
	LiquidusK, SolidusK float64
	BenchK              float64 // temperature of board and air before any preheat
	WithinS             float64 // time with the iron on the pad; 0 means 4 s
	IronW               float64 // what the iron's heater can deliver for that long
	TipK                float64 // its tip set to
	TipWK               float64 // conductance from tip to wetted pad [W/K]
}

// SolderPlan answers a SolderJob.
type SolderPlan struct {
	PadKW      float64 `json:"padKW"`      // rise of the pad per watt after that time
	NeedW      float64 `json:"needW"`      // steady heat that brings the pad to liquidus in that time, without preheat
	IronW      float64 `json:"ironW"`      // what the iron gives to a pad at liquidus
	PreheatK   float64 `json:"preheatK"`   // minimum board temperature at which the iron does it in time
	LimitK     float64 `json:"limitK"`     // highest preheat allowed: 30 K under the solidus of what is already soldered
	PadMarginK float64 `json:"padMarginK"` // how far below liquidus the pad stays without preheat; negative if it gets there
	// NearK is the temperature of each joint already made, at the end, with the preheat above.
	NearK    []float64 `json:"nearK"`
	Feasible bool      `json:"feasible"` // neither preheat nor a joint already made comes above LimitK
	Notes    []string  `json:"notes,omitempty"`
}

// solderMarginK is kept under the solidus of joints already made: rule of thumb (no source).
const solderMarginK = 30

// Solder reports what heat an iron must deliver to bring a pad to an alloy's liquidus within some seconds, and the preheat
// at which a given iron does it:
//
//	P = (T_liquidus − T_board)/R(t), P_iron = min(P_heater, G_tip (T_tip − T_liquidus))
//
// R(t) is the rise of the pad per watt after t seconds of even heat, from the field solver. The iron is taken at its
// weakest, with the pad already at liquidus. Melting heat of the solder itself and of the wire are left out; they add a few
// joules.
func Solder(ctx context.Context, j SolderJob, o TimeOptions) (SolderPlan, error) {
	if j.WithinS == 0 {
		j.WithinS = 4
	}
	if err := j.check(); err != nil {
		return SolderPlan{}, err
	}
	pad := j.Pad
	pad.PowerW = 1
	o.InitialK = 0
	w, err := Transient(ctx, j.Board, []Source{pad}, j.Near, []float64{j.WithinS}, o)
	if err != nil {
		return SolderPlan{}, fmt.Errorf("solder pad %s: %w", pad.label(0), err)
	}
	m := w.Moments[0]
	p := SolderPlan{PadKW: m.MeanK[0], LimitK: j.SolidusK - solderMarginK}
	p.IronW = min(j.IronW, j.TipWK*(j.TipK-j.LiquidusK))
	p.NeedW = (j.LiquidusK - j.BenchK) / p.PadKW
	p.PadMarginK = j.LiquidusK - j.BenchK - p.IronW*p.PadKW
	p.PreheatK = max(j.BenchK, j.LiquidusK-p.IronW*p.PadKW)
	p.Feasible = p.PreheatK <= p.LimitK
	for i, rise := range m.ProbeK {
		t := p.PreheatK + p.IronW*rise
		p.NearK = append(p.NearK, t)
		if t > p.LimitK {
			p.Feasible = false
			p.Notes = append(p.Notes, fmt.Sprintf("joint %q comes to %.0f °C, above the %.0f °C that keep 30 K to its solidus", j.Near[i].Name, t-273.15, p.LimitK-273.15))
		}
	}
	switch {
	case p.PreheatK > p.LimitK:
		p.Notes = append(p.Notes, fmt.Sprintf("this iron needs the board at %.0f °C, above the %.0f °C allowed; use an alloy that melts lower, a stronger iron with a broader tip, or reflow on the plate", p.PreheatK-273.15, p.LimitK-273.15))
	case p.PreheatK > j.BenchK:
		p.Notes = append(p.Notes, fmt.Sprintf("preheat the whole board to at least %.0f °C from below", p.PreheatK-273.15))
	}
	return p, nil
}

func (j *SolderJob) check() error {
	var errs []error
	for _, v := range []struct {
		what string
		v    float64
	}{
		{"liquidus of the solder", j.LiquidusK},
		{"solidus of joints already made", j.SolidusK},
		{"bench temperature", j.BenchK},
		{"time on the pad", j.WithinS},
		{"iron power", j.IronW},
		{"tip temperature", j.TipK},
		{"tip conductance", j.TipWK},
	} {
		if !(v.v > 0) || math.IsInf(v.v, 0) {
			errs = append(errs, fmt.Errorf("%s is %g; it must be above zero", v.what, v.v))
		}
	}
	if len(errs) == 0 && j.TipK <= j.LiquidusK {
		errs = append(errs, fmt.Errorf("the tip at %.0f °C is no hotter than the liquidus %.0f °C; set the iron higher", j.TipK-273.15, j.LiquidusK-273.15))
	}
	if len(errs) == 0 && j.LiquidusK <= j.BenchK {
		errs = append(errs, fmt.Errorf("the solder is liquid at bench temperature already"))
	}
	return errors.Join(errs...)
}
