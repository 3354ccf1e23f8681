package benchlamp

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"lampwright/internal/sink"
)

// Kind is what a reading is of.
type Kind string

// The kinds of readings.
const (
	StringAtBoard   Kind = "string_voltage_board"  // [V]
	StringAtDriver  Kind = "string_voltage_driver" // [V]
	CurrentMean     Kind = "string_current_mean"   // [A]
	LuxBare         Kind = "lux_axis_bare"         // [lx]
	LuxLens         Kind = "lux_axis_lens"         // [lx]
	FluxRatio       Kind = "flux_ratio_lens"
	SinkTemperature Kind = "t_sink"        // [°C], as the following
	Board           Kind = "t_board"       //
	Solder          Kind = "t_solder"      //
	Junction        Kind = "t_junction_vf" //
	Infrared        Kind = "ir_board"      //
	WallPower       Kind = "wall_power"    // [W]
	NTC             Kind = "ntc_ohm"       // [Ω]
	NTCBath         Kind = "ntc_bath"      // [Ω]
	WarmUp          Kind = "warmup_sink"   // [°C]
)

// Reading is a reading that is predicted.
type Reading struct {
	Kind          Kind
	Channel       int // index; −1: none
	Mode          Mode
	DistanceM     float64 // of LuxBare and LuxLens
	EmissivitySet float64 // of Infrared
	ReflectedC    float64
	BathC         float64 // of NTCBath
	TimeS         float64 // of WarmUp
}

const kelvin = 273.15 // 0 °C

// ownKinds are kinds of readings of one channel.
var ownKinds = []Kind{StringAtBoard, StringAtDriver, CurrentMean, LuxBare, LuxLens, FluxRatio, Solder, Junction}

// kinds are all kinds.
func kinds() []Kind {
	return append(slices.Clone(ownKinds), SinkTemperature, Board, Infrared, WallPower, NTC, NTCBath, WarmUp)
}

// Check returns what is missing or impossible in a reading.
func (l *Lamp) Check(r Reading) error {
	switch {
	case !slices.Contains(kinds(), r.Kind):
		var all []string
		for _, k := range kinds() {
			all = append(all, string(k))
		}
		return fmt.Errorf("kind %q is not known; use %s", r.Kind, strings.Join(all, ", "))
	case r.Channel < 0 && slices.Contains(ownKinds, r.Kind):
		return fmt.Errorf("a reading of kind %s needs a channel: %s", r.Kind, l.names())
	case (r.Kind == LuxBare || r.Kind == LuxLens) && !(r.DistanceM > 0):
		return fmt.Errorf("distance_m is %g; a reading of lux needs one above 0", r.DistanceM)
	case r.Kind == Infrared && !(r.EmissivitySet > 0 && r.EmissivitySet <= 1):
		return fmt.Errorf("emissivity_set is %g; required above 0 to 1", r.EmissivitySet)
	case r.Kind == WarmUp && !(l.SinkJPerK > 0):
		return errors.New("a warm-up series needs the heat capacity of the sink (C_sink_J_per_K)")
	case r.Kind == WarmUp && !(r.TimeS >= 0):
		return fmt.Errorf("time %g s of a warm-up series; required 0 or more", r.TimeS)
	}
	return nil
}

// Predict returns a reading in its own unit; s is the steady state of its mode.
func (l *Lamp) Predict(v *Values, s *State, r *Reading, f Fault) float64 {
	switch r.Kind {
	case SinkTemperature:
		return s.SinkC + v.ContactOffsetK
	case Board:
		return s.BoardC + v.ContactOffsetK
	case Infrared:
		return sink.InfraredReading(s.BoardC+kelvin, r.ReflectedC+kelvin, v.Emissivity, r.EmissivitySet) - kelvin
	case WallPower:
		return l.WallW(v, s)
	case NTC:
		return l.thermistor(v, s.BoardC, f)
	case NTCBath:
		return l.thermistor(v, r.BathC, f)
	case WarmUp:
		return l.warmUp(v, s, r.TimeS) + v.ContactOffsetK
	}
	i := f.reads(r.Channel)
	c, own := &s.Channels[i], &v.Channels[i]
	switch r.Kind {
	case StringAtBoard:
		return c.Emitters * c.VoltageV
	case StringAtDriver:
		return c.Emitters*c.VoltageV + c.CurrentA*own.WireOhm
	case CurrentMean:
		return c.Duty * c.CurrentA
	case FluxRatio:
		return own.LensEfficiency
	case Solder:
		return c.SolderC + v.ContactOffsetK
	case Junction:
		return c.JunctionC
	}
	lux := c.Emitters * c.Duty * c.FluxLm / (math.Pi * r.DistanceM * r.DistanceM) * v.LuxScale * own.Mismatch
	if r.Kind == LuxLens {
		lux *= own.LensAxis
	}
	return lux
}

// thermistor returns R25 exp(B (1/T − 1/298.15 K)) [Ω].
func (l *Lamp) thermistor(v *Values, tempC float64, f Fault) float64 {
	beta := l.NTCBetaK * v.BetaScale
	if f.BetaK > 0 {
		beta = f.BetaK
	}
	return l.NTCR25Ohm * v.R25Scale * math.Exp(beta*(1/(tempC+kelvin)-1/298.15))
}

// warmUp returns the temperature of the heat sink a time after switch-on from the temperature of the room [°C]:
//
//	C_b Ṫ_b = S0 + S1 (T_b − T_room) − (T_b − T_s)/paste,  C_s Ṫ_s = (T_b − T_s)/paste − (T_s − T_room)/R_sa
//
// by the exponential of the 2 × 2 matrix. Without a board of its own heat capacity the board follows at once.
// Source: exact, linear system with constant coefficients.
func (l *Lamp) warmUp(v *Values, s *State, timeS float64) float64 {
	board, sink := l.BoardJPerK*v.BoardScale, l.SinkJPerK*v.SinkScale
	riseB, riseS := s.BoardC-s.RoomC, s.SinkC-s.RoomC
	if !(board > 0) || !(v.PasteKPerW > 0) { // one time constant
		rate := (1/s.sinkKPerW - s.s1/(1-v.PasteKPerW*s.s1)) / (sink + max(0, board))
		return s.RoomC + riseS*-math.Expm1(-rate*timeS)
	}
	g := 1 / v.PasteKPerW
	a, b := (s.s1-g)/board, g/board
	c, d := g/sink, -(g+1/s.sinkKPerW)/sink
	mean, half := (a+d)/2, math.Sqrt((a-d)*(a-d)/4+b*c)
	// e^{Mt} = e^{mean t} (cosh(half t) I + sinh(half t)/half (M − mean I)), as sums of falling exponentials
	slow, fast := math.Exp((mean+half)*timeS), math.Exp((mean-half)*timeS)
	cosh, sinh := (slow+fast)/2, (slow-fast)/(2*half)
	left := c*sinh*riseB + (cosh+(d-mean)*sinh)*riseS
	return s.RoomC + riseS - left
}

// keys lists the keys of a map by name.
func keys[T any](m map[string]T) string { return strings.Join(slices.Sorted(maps.Keys(m)), ", ") }
