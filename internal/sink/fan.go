package sink

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/root"
)

// FanCurve is a fan's pressure against its flow at full speed and the density of 1.2 kg/m³, straight between points.
type FanCurve struct {
	FlowM3S    []float64 // rising [m³/s]
	PressurePa []float64 // static pressure [Pa]
}

// Validate says what is wrong with the curve, or nil. A curve that rises for a while and then falls is a real fan's stall
// dip and passes; StallEnd reports where it lies.
func (f FanCurve) Validate() error {
	n := len(f.FlowM3S)
	if n != len(f.PressurePa) {
		return fmt.Errorf("fan curve has %d flows and %d pressures", n, len(f.PressurePa))
	}
	if n < 2 {
		return errors.New("fan curve needs at least two points")
	}
	for i := range n {
		if !(f.FlowM3S[i] >= 0) || !(f.PressurePa[i] >= 0) || math.IsInf(f.FlowM3S[i], 0) || math.IsInf(f.PressurePa[i], 0) {
			return fmt.Errorf("fan curve point %d (%g m³/s, %g Pa) is not a flow and a pressure of zero or more", i+1, f.FlowM3S[i], f.PressurePa[i])
		}
		if i > 0 && f.FlowM3S[i] <= f.FlowM3S[i-1] {
			return fmt.Errorf("fan curve point %d: flow %g m³/s does not rise from %g; sort the points by flow", i+1, f.FlowM3S[i], f.FlowM3S[i-1])
		}
	}
	if f.PressurePa[n-1] >= f.PressurePa[0] || f.PressurePa[n-1] >= f.PressurePa[n-2] {
		return fmt.Errorf("fan curve does not fall: %g Pa at %g m³/s, %g Pa at %g m³/s; a fan gives less pressure the more air it moves",
			f.PressurePa[0], f.FlowM3S[0], f.PressurePa[n-1], f.FlowM3S[n-1])
	}
	return nil
}

// StallEnd returns the flow in m³/s below which the curve has a dip, and whether it has one. A fan that works at less
// flow than that is noisy and may hunt.
func (f FanCurve) StallEnd() (flowM3S float64, dips bool) {
	for i := len(f.FlowM3S) - 1; i > 0; i-- {
		if f.PressurePa[i] > f.PressurePa[i-1] {
			return f.FlowM3S[i], true
		}
	}
	return 0, false
}

// At returns the pressure at full speed in pascal, straight between points and held beyond the ends.
func (f FanCurve) At(flowM3S float64) float64 {
	n := len(f.FlowM3S)
	if flowM3S <= f.FlowM3S[0] {
		return f.PressurePa[0]
	}
	for i := 1; i < n; i++ {
		if flowM3S <= f.FlowM3S[i] {
			share := (flowM3S - f.FlowM3S[i-1]) / (f.FlowM3S[i] - f.FlowM3S[i-1])
			return f.PressurePa[i-1] + share*(f.PressurePa[i]-f.PressurePa[i-1])
		}
	}
	return f.PressurePa[n-1]
}

// Scaled returns the curve at another speed and density by the affinity laws:
//
//	V ~ n,  Δp ~ n²·ρ
//
// speedRatio is speed over full speed, rhoRatio density over that of the datasheet.
// Source: affinity laws of turbomachines (Bleier1997, ch. 5).
func (f FanCurve) Scaled(speedRatio, rhoRatio float64) FanCurve {
	g := FanCurve{FlowM3S: make([]float64, len(f.FlowM3S)), PressurePa: make([]float64, len(f.PressurePa))}
	for i := range f.FlowM3S {
		g.FlowM3S[i] = f.FlowM3S[i] * speedRatio
		g.PressurePa[i] = f.PressurePa[i] * speedRatio * speedRatio * rhoRatio
	}
	return g
}

// Point is where a fan works on a system.
type Point struct {
	FlowM3S    float64  `json:"flowM3S"`
	PressurePa float64  `json:"pressurePa"`
	Stopped    bool     `json:"stopped"` // speed zero: no flow
	InDip      bool     `json:"inDip"`   // works in or below the stall dip of its curve
	PowerRatio float64  `json:"powerRatio"`
	NoiseDB    float64  `json:"noiseDB"` // change of sound power against full speed; 0 when stopped
	Notes      []string `json:"notes,omitempty"`
}

// PowerRatio returns the fan's power over that at full speed: n³·ρ, by the affinity laws.
func PowerRatio(speedRatio, rhoRatio float64) float64 {
	return speedRatio * speedRatio * speedRatio * rhoRatio
}

// NoiseChangeDB returns how the sound power level of a fan changes with its speed, in decibels: 50·log₁₀(n).
//
// Source: rule of fan engineering (Bleier1997, ch. 5; also common practice).
func NoiseChangeDB(speedRatio float64) float64 { return 50 * math.Log10(speedRatio) }

const (
	stoppedNote = "fan stopped: the sink is cooled by natural convection only, as mounted; the fan's body and guard hinder that further"
	slowNote    = "fan below 30 % of full speed: many fans stall or do not start there, and speed is not proportional to duty; ask for the lowest stated speed"

	// RecirculationNote is for every lamp with a fan.
	RecirculationNote = "recirculation not modelled: the fan inlet must be at room ambient"
)

// Operate returns where a fan works on a system of ducts and sinks: the flow at which the fan's pressure equals the loss.
//
// speedRatio is speed over full speed (0 is a stopped fan), rhoRatio the air's density over that of the datasheet, and
// system the pressure lost at a flow [Pa over m³/s], which must rise with it. Found from the highest flow
// down; where a stall dip gives several points the one of highest flow is returned with a note.
func Operate(f FanCurve, speedRatio float64, system func(flowM3S float64) float64, rhoRatio float64) (Point, error) {
	err := f.Validate()
	if err != nil {
		return Point{}, err
	}
	if !(speedRatio >= 0) || math.IsInf(speedRatio, 0) || !(rhoRatio > 0) || math.IsInf(rhoRatio, 0) {
		return Point{}, fmt.Errorf("fan at a speed ratio of %g and a density ratio of %g; give zero or more, and a positive number", speedRatio, rhoRatio)
	}
	if speedRatio == 0 {
		return Point{Stopped: true, Notes: []string{stoppedNote}}, nil
	}
	g := f.Scaled(speedRatio, rhoRatio)
	p := Point{PowerRatio: PowerRatio(speedRatio, rhoRatio), NoiseDB: NoiseChangeDB(speedRatio)}
	if speedRatio < 0.3 {
		p.Notes = append(p.Notes, slowNote)
	}
	surplus := func(v float64) float64 { return g.At(v) - system(v) }

	n := len(g.FlowM3S)
	last := g.FlowM3S[n-1]
	top := surplus(last)
	if math.IsNaN(top) {
		return Point{}, errors.New("loss of the system is not a number; check the sink's geometry")
	}
	crossings := 0
	if top > 0 {
		crossings++
		p.FlowM3S = last
		p.Notes = append(p.Notes, "fan operates beyond the last point of its curve: that point is used; the true flow is higher")
	}
	const pieces = 16 // per segment of the curve, to see both points of a dip
	upper := top
	for i := n - 1; i >= 0; i-- {
		from, to := 0.0, g.FlowM3S[0]
		if i > 0 {
			from, to = g.FlowM3S[i-1], g.FlowM3S[i]
		}
		if to == from {
			continue
		}
		for j := pieces - 1; j >= 0; j-- {
			lo := from + (to-from)*float64(j)/pieces
			hi := from + (to-from)*float64(j+1)/pieces
			lower := surplus(lo)
			if (lower > 0) != (upper > 0) {
				if crossings == 0 {
					if p.FlowM3S, err = root.Bisect(surplus, lo, hi, 1e-14*last); err != nil {
						return Point{}, fmt.Errorf("find the flow of the fan: %w", err)
					}
				}
				crossings++
			}
			upper = lower
		}
	}
	if crossings == 0 {
		return Point{}, errors.New("fan gives no pressure against this system at any flow")
	}
	p.PressurePa = g.At(p.FlowM3S)
	if end, dips := g.StallEnd(); dips && p.FlowM3S < end {
		p.InDip = true
		p.Notes = append(p.Notes, "fan operates in or below the stall region of its curve: noise and unstable flow; reduce the pressure drop or use another fan")
	}
	if crossings > 1 {
		p.Notes = append(p.Notes, "fan curve and system curve cross more than once: the highest flow is used; the fan may settle at a lower one")
	}
	return p, nil
}

// FanDrive says how a fan is set on a sink.
type FanDrive struct {
	Curve         FanCurve
	SpeedRatio    float64 // 0 is a stopped fan
	Impinging     bool    // blows onto the fin tips
	ChannelShare  float64 // 0 means all air goes through the fins
	ExtraLossPaM6 float64 // further loss of guards and filters, Δp = c·V² [Pa·s²/m⁶]
	PowerW        float64 // electrical, at full speed; warms the air where the fan blows at the sink
	Sucking       bool    // the fan is behind the sink, so that its own heat does not reach it
}

// fanDensityKgM3 is the density at which fans are measured. Source: ISO5801 (standard air).
const fanDensityKgM3 = 1.2

// WithFan returns the cooling of the sink by a fan and where the fan works. With the fan stopped it is the natural
// cooling of the sink as mounted.
//
// A fan that blows warms the air by its own power first; at base temperatures below that air the conductance is zero.
// A recirculation caution always comes with a running fan. PlateFin.Forced reports the uncertainty at a known flow.
// Source: as Forced and Operate.
func (f PlateFin) WithFan(d FanDrive, o Orientation, baseK, airK, surroundK, pressurePa float64) (Cooling, Point, error) {
	if err := f.Validate(); err != nil {
		return Cooling{}, Point{}, err
	}
	if err := checkState(baseK, airK, surroundK, pressurePa); err != nil {
		return Cooling{}, Point{}, err
	}
	film := AirAt((baseK+airK)/2, pressurePa)
	inlet := AirAt(airK, pressurePa)
	share := d.ChannelShare
	if share == 0 {
		share = 1
	}
	system := func(flow float64) float64 {
		through := flow * share
		loss := d.ExtraLossPaM6 * flow * flow
		if d.Impinging {
			return loss + f.ImpingingPressureDrop(through, film)
		}
		return loss + f.PressureDrop(through, film).PressurePa
	}
	if f.Fins == 0 {
		return Cooling{}, Point{}, errors.New("sink has no fins; forced flow is computed between fins only")
	}
	p, err := Operate(d.Curve, d.SpeedRatio, system, inlet.RhoKgM3/fanDensityKgM3)
	if err != nil {
		return Cooling{}, Point{}, fmt.Errorf("fan on the sink: %w", err)
	}
	if p.Stopped {
		c, err := f.Natural(o, baseK, airK, surroundK, pressurePa)
		return c, p, err
	}
	p.Notes = append(p.Notes, RecirculationNote)
	warmK := 0.0
	if !d.Sucking {
		warmK = d.PowerW * p.PowerRatio / (inlet.RhoKgM3 * p.FlowM3S * inlet.CpJkgK)
	}
	c, err := f.Forced(Flow{VolumeM3S: p.FlowM3S, ChannelShare: d.ChannelShare, Impinging: d.Impinging}, baseK, airK+warmK, pressurePa)
	if err != nil {
		return Cooling{}, p, err
	}
	if warmK > 0 {
		// The air reaches the fins warmer than the room by the fan's own heat; refer the rest to the room again.
		dTK := baseK - airK
		if math.Abs(dTK) >= minRiseK {
			c.ConvectionConductanceWK *= math.Max(0, (dTK-warmK)/dTK)
			c.settle(baseK, airK, airK, 1-c.RelUncertainty, 1+c.RelUncertainty)
		}
		if warmK > 0.5 {
			c.Notes = append(c.Notes, fmt.Sprintf("fan power %.2g W warms the air by %.1f K before the fins", d.PowerW*p.PowerRatio, warmK))
		}
	}
	return c, p, nil
}
