package sink

import (
	"fmt"
	"math"
)

// Tilt is how a lying sink hangs askew.
type Tilt struct {
	FromLevelRad float64 // of the base, 0 to π/2
	AlongFins    float64 // cos² of the angle between the slope and the fins: 1 where they run up the slope
}

// tiltNote is on every tilted sink.
const tiltNote = "tilted base: interpolated between lying and upright, ±30 %"

// blend returns the cooling between two states of one sink, b with the given share of the convection.
func (c Cooling) blend(b Cooling, share, baseK, airK, surroundK float64) Cooling {
	c.ConvectionConductanceWK = (1-share)*c.ConvectionConductanceWK + share*b.ConvectionConductanceWK
	c.FilmWm2K = (1-share)*c.FilmWm2K + share*b.FilmWm2K
	c.settle(baseK, airK, surroundK, 0.7, 1.3)
	return c
}

// NaturalAskew returns what a lying sink dissipates that is tilted from level:
//
//	G = cos²α G_up(θ) + sin²α [(1 − 2θ/π) G_lying + (2θ/π) G_across]
//
// θ is the tilt, α the angle between slope and fins, G_up that of fins that run up the slope (NaturalTilted), G_lying
// that of the lying sink, G_across that of upright fins across the air; radiation does not change. Good to ±30 %.
// Temperatures as in Natural. Source: NaturalTilted; the rest is an interpolation of ours between its ends (no source).
func (f PlateFin) NaturalAskew(o Orientation, t Tilt, baseK, airK, surroundK, pressurePa float64) (Cooling, error) {
	lying, err := f.Natural(o, baseK, airK, surroundK, pressurePa)
	if err != nil || t.FromLevelRad == 0 {
		return lying, err
	}
	if err := t.check(o); err != nil {
		return lying, err
	}
	if f.Fins == 0 {
		face := BareFace{
			Face: FaceUp, AreaM2: f.WidthM * f.LengthM, PerimeterM: 2 * (f.WidthM + f.LengthM),
			HeightM: math.Sqrt(t.AlongFins)*f.LengthM + math.Sqrt(1-t.AlongFins)*f.WidthM, TiltRad: t.FromLevelRad,
		}
		if o == FinsDown {
			face.Face = FaceDown
		}
		steep := lying
		steep.FilmWm2K = face.Coefficient(baseK, airK, pressurePa)
		steep.ConvectionConductanceWK = steep.FilmWm2K * face.AreaM2
		return lying.blend(steep, 1, baseK, airK, surroundK), nil
	}
	fromUpright := math.Pi/2 - t.FromLevelRad
	if o == FinsDown {
		fromUpright = -fromUpright
	}
	up, err := f.NaturalTilted(fromUpright, baseK, airK, surroundK, pressurePa)
	if err != nil {
		return up, err
	}
	across, err := f.Natural(FinsAcross, baseK, airK, surroundK, pressurePa)
	if err != nil {
		return across, err
	}
	c := lying.blend(across, t.FromLevelRad/(math.Pi/2), baseK, airK, surroundK)
	c = c.blend(up, t.AlongFins, baseK, airK, surroundK)
	c.Method, c.Notes = "vertical channel and lying fins, interpolated by tilt", append(c.Notes, tiltNote)
	return c, nil
}

// NaturalAskew returns what a lying sink of pins dissipates that is tilted from level: between lying and upright, by
// angle. Source: an interpolation of ours (no source).
func (f PinFin) NaturalAskew(o Orientation, t Tilt, baseK, airK, surroundK, pressurePa float64) (Cooling, error) {
	lying, err := f.Natural(o, baseK, airK, surroundK, pressurePa)
	if err != nil || t.FromLevelRad == 0 {
		return lying, err
	}
	if err := t.check(o); err != nil {
		return lying, err
	}
	upright, err := f.Natural(Vertical, baseK, airK, surroundK, pressurePa)
	if err != nil {
		return upright, err
	}
	c := lying.blend(upright, t.FromLevelRad/(math.Pi/2), baseK, airK, surroundK)
	c.settle(baseK, airK, surroundK, 0.85, 2)
	c.Notes = append(c.Notes, tiltNote)
	return c, nil
}

// check reports a tilt that is none of a lying sink.
func (t Tilt) check(o Orientation) error {
	if o != FinsUp && o != FinsDown {
		return fmt.Errorf("a sink with its %s has no tilt from level", o)
	}
	if !(t.FromLevelRad >= 0 && t.FromLevelRad <= math.Pi/2*(1+1e-12)) || !(t.AlongFins >= 0 && t.AlongFins <= 1) {
		return fmt.Errorf("tilt of %.3g° with %g of the slope along the fins; give 0° to 90° and 0 to 1",
			t.FromLevelRad*180/math.Pi, t.AlongFins)
	}
	return nil
}
