package foldback

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"lampwright/internal/root"
)

// Fault is what is wrong with the sensor.
type Fault int

const (
	Healthy Fault = iota
	Open          // wire off
	Short         // wires touch
)

// Loop is a lamp with its foldback. For a fan failure at maximum ambient give the warm-up with the sink's conductance
// without the fan, and that day's air.
type Loop struct {
	Sensor     Response // of the place where the sensor sits, over the air
	Junction   Response // of the hottest junction, over the air
	SensorTauS float64  // lag of the sensor itself behind that place [s]; 0 is none

	AirK      float64                     // the maximum ambient
	FullHeatW float64                     // heat at full light
	Heat      func(level float64) float64 // heat at a level [W]; nil means FullHeatW·level

	Divider Divider
	Curve   Curve

	SampleS float64 // time between two readings [s]; 0 means 1
	DelayS  float64 // from a reading to the light that it sets [s]: filters and slow drivers
}

// Options steer a simulation.
type Options struct {
	DurationS float64 // 0 means two hours
	FaultAtS  float64 // when Fault happens; 0 means from the start
	Fault     Fault
}

// Sample is one moment of a simulation.
type Sample struct {
	S         float64 `json:"s"`
	SensorK   float64 `json:"sensorK"` // true temperature of the sensor
	ReadK     float64 `json:"readK"`   // what the controller reads; 0 for a fault
	JunctionK float64 `json:"junctionK"`
	Level     float64 `json:"level"`
}

// Verdict says how a loop ends.
type Verdict string

const (
	Full     Verdict = "full light"       // the foldback curve never acted in the end
	Settled  Verdict = "settled"          // between full and minimum light
	AtLeast  Verdict = "at minimum light" // dimmed as far as the foldback curve goes
	Hunting  Verdict = "hunting"          // the level swings
	Moving   Verdict = "still moving"     // not long enough to tell
	FailSafe Verdict = "fault, minimum light"
)

// hunt is the swing of the level that counts as hunting: 2 % of full light can be seen. Rule of thumb (no source).
const hunt = 0.02

// driftK is the change of the sensor within the last third that counts as still moving.
const driftK = 0.5

// Simulation is how a foldback loop behaves.
type Simulation struct {
	Verdict       Verdict  `json:"verdict"`
	Level         float64  `json:"level"`     // mean of the last third
	LowLevel      float64  `json:"lowLevel"`  // least in the last third
	HighLevel     float64  `json:"highLevel"` // largest in the last third
	PeriodS       float64  `json:"periodS"`   // of hunting, 0 otherwise
	SensorK       float64  `json:"sensorK"`   // mean of the last third
	JunctionK     float64  `json:"junctionK"` // mean of the last third
	PeakJunctionK float64  `json:"peakJunctionK"`
	PeakAtS       float64  `json:"peakAtS"`
	OffsetK       float64  `json:"offsetK"` // junction less sensor, mean of the last third
	Samples       []Sample `json:"samples"` // at most about 500, evenly thinned
	Notes         []string `json:"notes,omitempty"`
}

// Validate says what is wrong with the loop, or nil.
func (l Loop) Validate() error {
	if l.Sensor == nil || l.Junction == nil {
		return errors.New("foldback loop needs the warm-up of both the sensor and the junction")
	}
	if !(l.AirK > 0) || math.IsInf(l.AirK, 0) {
		return fmt.Errorf("air of the foldback loop is at %g K; give a positive absolute temperature", l.AirK)
	}
	if !(l.FullHeatW >= 0) || math.IsInf(l.FullHeatW, 0) {
		return fmt.Errorf("heat at full light is %g W; give zero or more", l.FullHeatW)
	}
	if !(l.SampleS >= 0) || !(l.DelayS >= 0) || !(l.SensorTauS >= 0) {
		return fmt.Errorf("times of the foldback loop are %g, %g and %g s; give zero or more", l.SampleS, l.DelayS, l.SensorTauS)
	}
	if err := l.Divider.Validate(); err != nil {
		return err
	}
	return l.Curve.check()
}

func (l Loop) heat(level float64) float64 {
	if l.Heat != nil {
		return l.Heat(level)
	}
	return l.FullHeatW * level
}

// SteadyLevel returns the level at which a proportional curve comes to rest if the loop is stable:
//
//	level = curve(T_air + R_s·P(level))
//
// sensorKW is the sensor's steady rise per watt. The curve falls with temperature and the heat rises
// with the level, so there is one solution. Converter steps are left out.
func (l Loop) SteadyLevel(sensorKW float64) float64 {
	brighter := func(level float64) bool { return l.Curve.Level(l.AirK+sensorKW*l.heat(level)) > level }
	return root.Boundary(brighter, l.Curve.MinLevel, 1, 0)
}

// maxSamples bounds a simulation, whose work goes with the square of it.
const maxSamples = 20000

// Simulate runs the loop from a lamp at the air's temperature that is switched to full light.
//
// Between two samples the heat is constant, so that temperatures are exact sums of step responses; the sensor's own lag
// takes its place as straight between samples. The controller sees converter codes. The last third decides the verdict.
func (l Loop) Simulate(ctx context.Context, o Options) (Simulation, error) {
	if err := l.Validate(); err != nil {
		return Simulation{}, err
	}
	dt, duration := l.SampleS, o.DurationS
	if dt == 0 {
		dt = 1
	}
	if duration == 0 {
		duration = 7200
	}
	if !(duration >= 3*dt) || duration/dt > maxSamples {
		return Simulation{}, fmt.Errorf("simulation of %g s in samples of %g s; give 3 to %d samples", duration, dt, maxSamples)
	}
	n := int(math.Ceil(duration / dt))
	late := int(math.Round(l.DelayS / dt))
	// The responses stand in reverse, so that the sum over all past steps is a plain dot product.
	place, junction := make([]float64, n+1), make([]float64, n+1)
	for i := range n + 1 {
		s := float64(i) * dt
		place[n-i], junction[n-i] = l.Sensor(s), l.Junction(s)
		if math.IsNaN(place[n-i]) || math.IsNaN(junction[n-i]) {
			return Simulation{}, fmt.Errorf("warm-up is not a number at %g s", s)
		}
	}
	decay := 0.0
	if l.SensorTauS > 0 {
		decay = math.Exp(-dt / l.SensorTauS)
	}

	all := make([]Sample, n+1)
	steps := make([]float64, 0, n+1) // changes of heat, one a sample
	asked := make([]float64, n+1)    // level asked for at each sample, before the delay
	level, heatW, before, sensorK := 1.0, 0.0, l.AirK, l.AirK
	for i := range n + 1 {
		if i%256 == 0 && ctx.Err() != nil {
			return Simulation{}, fmt.Errorf("simulate foldback: %w", ctx.Err())
		}
		placeK := l.AirK + floats.Dot(steps, place[n-i:n])
		junctionK := l.AirK + floats.Dot(steps, junction[n-i:n])
		if i > 0 {
			sensorK = follow(sensorK, before, placeK, l.SensorTauS, dt, decay)
		}
		before = placeK

		code := l.Divider.Code(sensorK)
		if o.Fault != Healthy && float64(i)*dt >= o.FaultAtS {
			code = l.Divider.OpenCode()
			if o.Fault == Short {
				code = l.Divider.ShortCode()
			}
		}
		asked[i] = l.Curve.at(l.Divider, code)
		target := 1.0
		if i >= late {
			target = asked[i-late]
		}
		if most := l.Curve.RampPerS * dt; most > 0 && i > 0 {
			target = math.Max(level-most, math.Min(target, level+most))
		}
		level = target
		now := l.heat(level)
		steps = append(steps, now-heatW)
		heatW = now
		readK := l.Divider.Kelvin(code)
		if math.IsNaN(readK) {
			readK = 0
		}
		all[i] = Sample{S: float64(i) * dt, SensorK: sensorK, ReadK: readK, JunctionK: junctionK, Level: level}
	}
	return l.judge(all, o), nil
}

// follow returns a first-order lag after a step of dt in which its input ran straight from a to b.
func follow(was, a, b, tauS, dt, decay float64) float64 {
	if tauS == 0 {
		return b
	}
	slope := (b - a) / dt
	return b - tauS*slope + (was-a+tauS*slope)*decay
}

// judge reads a verdict from the samples.
func (l Loop) judge(all []Sample, o Options) Simulation {
	var out Simulation
	out.PeakJunctionK = math.Inf(-1)
	for _, s := range all {
		if s.JunctionK > out.PeakJunctionK {
			out.PeakJunctionK, out.PeakAtS = s.JunctionK, s.S
		}
	}
	end := all[len(all)*2/3:]
	out.LowLevel, out.HighLevel = math.Inf(1), math.Inf(-1)
	for _, s := range end {
		out.Level += s.Level / float64(len(end))
		out.SensorK += s.SensorK / float64(len(end))
		out.JunctionK += s.JunctionK / float64(len(end))
		out.LowLevel, out.HighLevel = math.Min(out.LowLevel, s.Level), math.Max(out.HighLevel, s.Level)
	}
	out.OffsetK = out.JunctionK - out.SensorK

	// Count how often the level crosses the middle of its swing upwards.
	middle := (out.LowLevel + out.HighLevel) / 2
	crossings, first, last := 0, 0.0, 0.0
	for i := 1; i < len(end); i++ {
		if end[i-1].Level <= middle && end[i].Level > middle {
			if crossings == 0 {
				first = end[i].S
			}
			crossings++
			last = end[i].S
		}
	}
	swing := out.HighLevel - out.LowLevel
	switch {
	case o.Fault != Healthy:
		out.Verdict = Moving
		if math.Abs(all[len(all)-1].Level-l.Curve.MinLevel) < 1e-9 {
			out.Verdict = FailSafe
		}
	case swing > hunt && crossings >= 2:
		out.Verdict = Hunting
		out.PeriodS = (last - first) / float64(crossings-1)
	case swing > hunt || math.Abs(end[len(end)-1].SensorK-end[0].SensorK) > driftK:
		out.Verdict = Moving
	case out.Level >= 1-hunt/2:
		out.Verdict = Full
	case out.Level <= l.Curve.MinLevel+hunt/2:
		out.Verdict = AtLeast
	default:
		out.Verdict = Settled
	}
	out.Notes = l.notes(out)

	every := (len(all) + 499) / 500
	for i := 0; i < len(all); i += every {
		out.Samples = append(out.Samples, all[i])
	}
	return out
}

// notes says what a person should know of the sensor and the foldback curve.
func (l Loop) notes(out Simulation) []string {
	var notes []string
	cold, hot := l.Divider.Range()
	if hot < l.Curve.EndK {
		notes = append(notes, fmt.Sprintf("the divider takes temperatures above %.0f °C for a shorted sensor, before the foldback curve ends at %.0f °C", hot-273.15, l.Curve.EndK-273.15))
	}
	if cold > l.AirK {
		notes = append(notes, fmt.Sprintf("the divider takes temperatures below %.0f °C for an open sensor: the lamp would not start in this room", cold-273.15))
	}
	step := 1 / l.Divider.CountsPerK((l.Curve.StartK+l.Curve.EndK)/2)
	if flicker := l.Curve.SlopePerK() * step; flicker > 0.01 {
		notes = append(notes, fmt.Sprintf("one step of the converter moves the light by %.1f %%, which can be seen: take more bits, a flatter curve, or a ramp", 100*flicker))
	}
	if out.Verdict == AtLeast && out.SensorK > l.Curve.EndK {
		notes = append(notes, fmt.Sprintf("the sensor rests at %.0f °C, above the end of the foldback curve: minimum light is still too much for this sink and room", out.SensorK-273.15))
	}
	return notes
}
