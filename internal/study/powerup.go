package study

import (
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
)

// PowerUp is what is measured at the first power-up, before the drivers are connected and while the lamp warms up.
type PowerUp struct {
	AirK    float64         `json:"air_k"` // of the bench, the typical ambient temperature
	Strings []PowerUpString `json:"strings"`
	Board   []PowerUpSpot   `json:"board,omitempty"`
	// CoreF is the capacitance of copper to core [F], and CoreA the current of an insulation tester of 500 V, 50 Hz; 0
	// where the board has no dielectric.
	CoreF float64 `json:"core_f,omitempty"`
	CoreA float64 `json:"core_a,omitempty"`
}

// PowerUpString is one string on a bench supply, without its driver.
type PowerUpString struct {
	Channel  string              `json:"channel"`
	Count    int                 `json:"strings"` // equal strings of the channel; each is measured alone
	LimitV   float64             `json:"limit_v"` // voltage limit of the supply
	ShortedV float64             `json:"shorted_v"`
	At       []engine.BenchPoint `json:"at"`
}

// PowerUpSpot is an infrared spot after the warm-up at full level.
type PowerUpSpot struct {
	Spot  string  `json:"spot"`
	TempK float64 `json:"temp_k"`
	P90K  float64 `json:"p90_k"`
	StopK float64 `json:"stop_k"` // above it the lamp is switched off: 1.3 times the rise of P90
}

// stopRise is the rise at which the first warm-up is ended over that of P90; common practice, no source.
const stopRise = 1.3

// Mains tester, for the current through the capacitance of the board.
const (
	testerV  = 500.0
	testerHz = 50.0
)

// FirstPowerUp computes what is to be expected at the first power-up: the voltage of each string on a current-limited
// bench supply at the typical ambient temperature [V], and the temperature of each infrared spot [K].
func FirstPowerUp(r *figure.Evaluation) PowerUp {
	l := r.Lamp
	out := PowerUp{AirK: l.Design.Installation.Ambient.Typical.SI}
	for _, b := range r.Sys.Bench(&r.Sol, out.AirK) {
		ch := &l.Channels[b.Channel]
		out.Strings = append(out.Strings, PowerUpString{ch.Name, ch.Strings, b.LimitV, b.LeastDie, b.Points})
	}
	airK := r.Sol.Cases[engine.Typical].AirK
	for _, s := range r.Sys.Board.Spots {
		f, ok := r.Figure("spot." + s.Name)
		if !ok || f.Withheld != "" {
			continue
		}
		out.Board = append(out.Board, PowerUpSpot{s.Name, f.Value, f.Hi, airK + stopRise*(f.Hi-airK)})
	}
	if c, ok := engine.CoreCapacitanceF(l); ok {
		out.CoreF, out.CoreA = c, 2*math.Pi*testerHz*c*testerV
	}
	return out
}
