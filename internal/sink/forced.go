package sink

import (
	"errors"
	"fmt"
	"math"
)

// UnductedShare is the fraction of the approaching air that goes through a sink that is free in the stream; the rest
// passes beside it. Rule of thumb (no source): 0.4 to 0.6.
const UnductedShare = 0.5

// Flow is the air that a fan sends to a sink. Give ApproachMS or VolumeM3S, not both.
type Flow struct {
	ApproachMS   float64 // speed before the sink, over its frontal area [m/s]
	VolumeM3S    float64 // volume flow towards the sink [m³/s]
	ChannelShare float64 // fraction of it that enters the channels: 0 means 1, all of it (a duct); UnductedShare without a duct
	Impinging    bool    // the fan blows onto the fin tips, and the air leaves at both ends
}

// volume returns the flow through the channels in m³/s, given the area that the approach speed crosses.
func (w Flow) volume(frontM2 float64) (float64, error) {
	if w.ApproachMS != 0 && w.VolumeM3S != 0 {
		return 0, errors.New("air flow is given both as speed and as volume; give one")
	}
	share := w.ChannelShare
	if share == 0 {
		share = 1
	}
	if !(share > 0 && share <= 1) {
		return 0, fmt.Errorf("fraction of the air that enters the channels is %g; give a share above 0, up to 1", share)
	}
	v := (w.ApproachMS*frontM2 + w.VolumeM3S) * share
	if !(v > 0) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("air flow through the sink is %g m³/s; give a positive flow, or take natural convection for a stopped fan", v)
	}
	return v, nil
}

// DevelopingNusselt returns the Nusselt number over the gap of a fin channel whose flow is developing [1]:
//
//	Nu = {(Re*·Pr/2)^(−3) + [0.664·√Re*·Pr^(1/3)·√(1 + 3.65/√Re*)]^(−3)}^(−1/3),  Re* = (U·b/ν)·(b/L)
//
// referred to wall minus inlet air, so that the air's own heating is in it. reStar from 0.1 to 100, where it met the
// authors' experiments within 2.1 % (rms); above that it tends to the flat plate and serves until Re over the length
// reaches about 3e5.
// Source: TeertstraYovanovichCulham2000, composite model.
func DevelopingNusselt(reStar, pr float64) float64 {
	full := reStar * pr / 2
	root := math.Sqrt(reStar)
	developing := 0.664 * root * math.Cbrt(pr) * math.Sqrt(1+3.65/root)
	return 1 / math.Cbrt(1/(full*full*full)+1/(developing*developing*developing))
}

// FrictionRectangle returns Fanning's f times the Reynolds number over the hydraulic diameter for developed laminar flow
// in a rectangular duct [1]:
//
//	f·Re = 24·(1 − 1.3553·e + 1.9467·e² − 1.7012·e³ + 0.9564·e⁴ − 0.2537·e⁵)
//
// e is the short side over the long one, in [0, 1]; within 0.05 % of the exact series. Darcy's f is four times Fanning's.
// Source: ShahLondon1978, eq. 341.
func FrictionRectangle(e float64) float64 {
	return 24 * polynomial(e, 1, -1.3553, 1.9467, -1.7012, 0.9564, -0.2537)
}

// ChannelLoss contains the parts of the pressure drop of a finned sink.
type ChannelLoss struct {
	SpeedMS     float64 // in the channels
	HydraulicM  float64 // hydraulic diameter 2·b·H/(b + H)
	Reynolds    float64 // over the hydraulic diameter
	FApparent   float64 // Fanning, with the developing part
	Contraction float64 // loss factor at the inlet
	Expansion   float64 // loss factor at the outlet
	PressurePa  float64
}

// PressureDrop returns the pressure that air loses between the fins:
//
//	Δp = (Kc + Ke + 4·f_app·L/D_h)·ρ·U²/2
//	f_app·Re = √[(3.44/√L*)² + (f·Re)²],  L* = L/(D_h·Re),  Kc = 0.42·(1 − σ²),  Ke = (1 − σ²)²,  σ = 1 − N·t/W
//
// flowM3S is the volume flow through the channels [m³/s]; air is taken at the film temperature. Laminar flow, Reynolds
// number below about 2300. The sink must be valid and have fins.
// Source: CulhamMuzychka2001; MuzychkaYovanovich2009; ShahLondon1978; KaysLondon1984 for the losses at the ends.
func (f PlateFin) PressureDrop(flowM3S float64, air Air) ChannelLoss {
	b, n := f.GapM(), float64(f.Fins)
	return f.channelLoss(flowM3S/((n-1)*b*f.FinHeightM), f.LengthM, air)
}

// channelLoss works out the drop along lengthM of the channels at the given speed in them.
func (f PlateFin) channelLoss(speedMS, lengthM float64, air Air) ChannelLoss {
	b, n := f.GapM(), float64(f.Fins)
	l := ChannelLoss{SpeedMS: speedMS, HydraulicM: 2 * b * f.FinHeightM / (b + f.FinHeightM)}
	sigma := 1 - n*f.FinThicknessM/f.WidthM
	l.Contraction = 0.42 * (1 - sigma*sigma)
	l.Expansion = (1 - sigma*sigma) * (1 - sigma*sigma)
	l.Reynolds = speedMS * l.HydraulicM / air.NuM2S
	if l.Reynolds == 0 {
		return l
	}
	e := math.Min(b, f.FinHeightM) / math.Max(b, f.FinHeightM)
	lStar := lengthM / (l.HydraulicM * l.Reynolds)
	l.FApparent = math.Hypot(3.44/math.Sqrt(lStar), FrictionRectangle(e)) / l.Reynolds
	l.PressurePa = (l.Contraction + l.Expansion + 4*l.FApparent*lengthM/l.HydraulicM) * air.RhoKgM3 * speedMS * speedMS / 2
	return l
}

const (
	// Allowances for a fan on top of the fins, rule of thumb (no source): the heat transfer coefficient gains 10 to 20 %, the drop half.
	impingingGain     = 1.15
	impingingPressure = 1.5
)

// ImpingingPressureDrop returns the pressure lost, in pascal, when the same flow is blown onto the fin tips and leaves at
// both ends: half the flow over half the length, times 1.5. Rule of thumb (no source).
func (f PlateFin) ImpingingPressureDrop(flowM3S float64, air Air) float64 {
	b, n := f.GapM(), float64(f.Fins)
	return impingingPressure * f.channelLoss(flowM3S/(2*(n-1)*b*f.FinHeightM), f.LengthM/2, air).PressurePa
}

// Forced returns what the sink dissipates in a stream of air along its fins, or blown onto their tips.
//
//	Q = h·(A_base + η·A_fins)·(T_base − T_inlet),  m = √[2·h/(k·t)·(1 + t/L)]
//
// airK is the air that enters. Heat transfer coefficient from DevelopingNusselt at the film temperature; every wetted face has it, the outermost
// sides too, but no more heat goes than the air can carry. Radiation is left out, which errs on the warm side. Below Re* = 0.1 and above 100 a note says so.
// A blown sink takes half the flow over half the length, its heat transfer coefficient times 1.15.
// Uncertainty: ±10 % with a duct, ±25 % without, ±20 % blown from above.
// Source: TeertstraYovanovichCulham2000; CulhamMuzychka2001; allowances rule of thumb (no source).
func (f PlateFin) Forced(w Flow, baseK, airK, pressurePa float64) (Cooling, error) {
	if err := f.Validate(); err != nil {
		return Cooling{}, err
	}
	if f.Fins == 0 {
		return Cooling{}, errors.New("sink has no fins; forced flow is computed between fins only")
	}
	if err := checkState(baseK, airK, airK, pressurePa); err != nil {
		return Cooling{}, err
	}
	front := f.WidthM * f.FinHeightM
	length, ways := f.LengthM, 1.0
	if w.Impinging {
		front, length, ways = f.WidthM*f.LengthM, f.LengthM/2, 2
	}
	flow, err := w.volume(front)
	if err != nil {
		return Cooling{}, err
	}

	air := AirAt((baseK+airK)/2, pressurePa)
	b, n := f.GapM(), float64(f.Fins)
	speed := flow / (ways * (n - 1) * b * f.FinHeightM)
	reStar := speed * b / air.NuM2S * b / length
	film := DevelopingNusselt(reStar, air.Pr) * air.KWmK / b
	loss := f.channelLoss(speed, length, air)
	c := Cooling{
		PressurePa: loss.PressurePa,
		Method:     "developing laminar flow between fins",
		Source:     "TeertstraYovanovichCulham2000; CulhamMuzychka2001",
	}
	uncertainty := 0.10
	if w.ChannelShare > 0 && w.ChannelShare < 1 {
		uncertainty = 0.25
		c.Notes = append(c.Notes, fmt.Sprintf("no duct: fin flow fraction %.0f %% assumed (typical 40 %% to 80 %%; rule of thumb, no source)", 100*w.ChannelShare))
	}
	if w.Impinging {
		film *= impingingGain
		c.PressurePa *= impingingPressure
		uncertainty = math.Max(uncertainty, 0.20)
		c.Method = "developing laminar flow between fins, blown onto the tips (allowance)"
		c.Notes = append(c.Notes, "impingement flow: half the flow, half the length, h × 1.15, Δp × 1.5 (rule of thumb, no source)")
	}
	if reStar < 0.1 || reStar > 100 {
		c.Notes = append(c.Notes, fmt.Sprintf("channel Reynolds number Re* %.3g is outside 0.1 to 100, the range of the correlation", reStar))
	}
	if loss.Reynolds > 2300 {
		c.Notes = append(c.Notes, fmt.Sprintf("Reynolds number between the fins %.0f exceeds 2300: turbulent flow cools better and has a higher pressure drop than computed", loss.Reynolds))
	}
	eta := StraightFinEfficiency(film*(1+f.FinThicknessM/f.LengthM), f.KWmK, f.FinThicknessM, f.FinHeightM)
	c.FilmWm2K, c.FinEfficiency = film, eta
	c.ConvectionConductanceWK = film * ((n-1)*b*f.LengthM + eta*2*n*f.FinHeightM*f.LengthM)
	if most := air.RhoKgM3 * flow * air.CpJkgK; c.ConvectionConductanceWK > most {
		c.ConvectionConductanceWK = most
		c.Notes = append(c.Notes, "air leaves at heat sink temperature: its heat capacity flow limits the heat")
	}
	c.settle(baseK, airK, airK, 1-uncertainty, 1+uncertainty)
	return c, nil
}

// PinFin is a sink of round pins.
type PinFin struct {
	WidthM         float64 `json:"widthM"`         // across the stream [m]
	LengthM        float64 `json:"lengthM"`        // along the stream [m]
	PinHeightM     float64 `json:"pinHeightM"`     // from the base to the tip [m]
	PinDiameterM   float64 `json:"pinDiameterM"`   // [m]
	PitchAcrossM   float64 `json:"pitchAcrossM"`   // between pins across the stream, centre to centre [m]
	PitchAlongM    float64 `json:"pitchAlongM"`    // between rows along the stream [m]
	BaseThicknessM float64 `json:"baseThicknessM"` // [m]
	Staggered      bool    `json:"staggered"`
	KWmK           float64 `json:"kWmK"`       // conductivity of the metal [W/(m·K)]
	Emissivity     float64 `json:"emissivity"` // of the finish
}

// Validate says what is wrong with the sink's dimensions, or nil.
func (f PinFin) Validate() error {
	for _, d := range []struct {
		name string
		v    float64
	}{
		{"width", f.WidthM},
		{"length", f.LengthM},
		{"pin height", f.PinHeightM},
		{"pin diameter", f.PinDiameterM},
		{"pitch across the stream", f.PitchAcrossM},
		{"pitch along the stream", f.PitchAlongM},
		{"conductivity", f.KWmK},
	} {
		if !(d.v > 0) || math.IsInf(d.v, 0) {
			return fmt.Errorf("%s of the pin sink is %g; give a positive number", d.name, d.v)
		}
	}
	if f.PitchAcrossM <= f.PinDiameterM || f.PitchAlongM <= f.PinDiameterM {
		return fmt.Errorf("pins of %.3g mm at pitches of %.3g and %.3g mm touch; give pitches above the diameter",
			f.PinDiameterM*1e3, f.PitchAcrossM*1e3, f.PitchAlongM*1e3)
	}
	if f.WidthM < f.PinDiameterM || f.LengthM < f.PinDiameterM {
		return errors.New("pin sink is smaller than one of its pins")
	}
	if !(f.BaseThicknessM >= 0) || !(f.Emissivity >= 0 && f.Emissivity <= 1) {
		return fmt.Errorf("pin sink has a base of %g m and an emissivity of %g; give zero or more and a share from 0 to 1",
			f.BaseThicknessM, f.Emissivity)
	}
	return nil
}

// rows returns how many pins stand across and along the stream.
func (f PinFin) rows() (across, along float64) {
	return math.Floor((f.WidthM-f.PinDiameterM)/f.PitchAcrossM+1e-9) + 1,
		math.Floor((f.LengthM-f.PinDiameterM)/f.PitchAlongM+1e-9) + 1
}

// VolumeM3 returns the metal in the sink in cubic metres.
func (f PinFin) VolumeM3() float64 {
	across, along := f.rows()
	return f.WidthM*f.LengthM*f.BaseThicknessM + across*along*f.PinHeightM*math.Pi/4*f.PinDiameterM*f.PinDiameterM
}

// PinBank contains the numbers of a bank of pins in cross flow.
type PinBank struct {
	SpeedMS  float64 // in the narrowest passage
	Reynolds float64 // over the diameter
	C1       float64
	Nusselt  float64 // over the diameter
	FilmWm2K float64
}

// Bank returns the heat transfer coefficient on isothermal round pins in cross flow:
//
//	Nu_D = C₁·Re_D^(1/2)·Pr^(1/3),  Re_D = U_max·D/ν,  U_max = max{S_T/(S_T − 1), S_T/(S_D − 1)}·U_app
//	in line:   C₁ = [0.25 + exp(−0.55·S_L)]·S_T^0.285·S_L^0.212
//	staggered: C₁ = 0.61·S_T^0.091·S_L^0.053/[1 − 2·exp(−1.09·S_L)]
//
// with pitches S in diameters and S_D = √(S_L² + (S_T/2)²), the second passage for staggered pins only. Valid for Re_D
// from 40 to 1000 and pitches from 1.25 to 3 diameters.
// Source: KhanCulhamYovanovich2005 (cited from memory).
func (f PinFin) Bank(approachMS float64, air Air) PinBank {
	st, sl := f.PitchAcrossM/f.PinDiameterM, f.PitchAlongM/f.PinDiameterM
	gain := st / (st - 1)
	c1 := (0.25 + math.Exp(-0.55*sl)) * math.Pow(st, 0.285) * math.Pow(sl, 0.212)
	if f.Staggered {
		gain = math.Max(gain, st/(math.Hypot(sl, st/2)-1))
		c1 = 0.61 * math.Pow(st, 0.091) * math.Pow(sl, 0.053) / (1 - 2*math.Exp(-1.09*sl))
	}
	b := PinBank{SpeedMS: gain * approachMS, C1: c1}
	b.Reynolds = b.SpeedMS * f.PinDiameterM / air.NuM2S
	b.Nusselt = c1 * math.Sqrt(b.Reynolds) * math.Cbrt(air.Pr)
	b.FilmWm2K = b.Nusselt * air.KWmK / f.PinDiameterM
	return b
}

// PressureDrop returns the pressure that a stream loses in the pins, in pascal:
//
//	Δp = N_L·f·ρ·U_max²/2
//	in line:   f = K₁·[0.233 + 45.78/((S_T − 1)^1.1·Re_D)],  K₁ = 1.009·[(S_T − 1)/(S_L − 1)]^(1.09/Re_D^0.0553)
//	staggered: f = K₁·378.6/S_T^(13.1/S_T)/Re_D^(0.68/S_T^1.29),  K₁ = 1.175·S_L/(S_T·Re_D^0.3124) + 0.5·Re_D^0.0807
//
// Good to about ±30 %. Source: KhanCulhamYovanovich2005, fits to the charts of Žukauskas (cited from memory).
func (f PinFin) PressureDrop(flowM3S float64, air Air) float64 {
	if flowM3S <= 0 {
		return 0
	}
	b := f.Bank(flowM3S/(f.WidthM*f.PinHeightM), air)
	st, sl := f.PitchAcrossM/f.PinDiameterM, f.PitchAlongM/f.PinDiameterM
	re := b.Reynolds
	k := 1.009 * math.Pow((st-1)/(sl-1), 1.09/math.Pow(re, 0.0553))
	friction := k * (0.233 + 45.78/(math.Pow(st-1, 1.1)*re))
	if f.Staggered {
		k = 1.175*sl/(st*math.Pow(re, 0.3124)) + 0.5*math.Pow(re, 0.0807)
		friction = k * 378.6 / math.Pow(st, 13.1/st) / math.Pow(re, 0.68/math.Pow(st, 1.29))
	}
	_, along := f.rows()
	return along * friction * air.RhoKgM3 * b.SpeedMS * b.SpeedMS / 2
}

// Forced returns what the pins dissipate in a ducted stream:
//
//	Q = ṁ·cp·[1 − exp(−h·A/(ṁ·cp))]·(T_base − T_inlet)
//
// with A of the pins times their efficiency and of the free base, which is taken to have a flat plate's heat transfer coefficient. Radiation is
// left out. ±20 %; a note says where Re_D or the pitches leave the correlation's range. Impinging flow is not covered.
// Source: KhanCulhamYovanovich2005; IncroperaDeWitt2007, eq. 7.30 for the base and §11.4 for the heating of the air.
func (f PinFin) Forced(w Flow, baseK, airK, pressurePa float64) (Cooling, error) {
	if err := f.Validate(); err != nil {
		return Cooling{}, err
	}
	if err := checkState(baseK, airK, airK, pressurePa); err != nil {
		return Cooling{}, err
	}
	if w.Impinging {
		return Cooling{}, errors.New("a fan on top of pins is not covered; give the flow along the base")
	}
	flow, err := w.volume(f.WidthM * f.PinHeightM)
	if err != nil {
		return Cooling{}, err
	}
	air := AirAt((baseK+airK)/2, pressurePa)
	b := f.Bank(flow/(f.WidthM*f.PinHeightM), air)
	across, along := f.rows()
	pins := across * along
	eta := PinFinEfficiency(b.FilmWm2K, f.KWmK, f.PinDiameterM, f.PinHeightM)
	baseFilm := ForcedPlateNusselt(b.SpeedMS*f.LengthM/air.NuM2S, air.Pr) * air.KWmK / f.LengthM
	baseM2 := math.Max(0, f.WidthM*f.LengthM-pins*math.Pi/4*f.PinDiameterM*f.PinDiameterM)
	ha := b.FilmWm2K*eta*pins*math.Pi*f.PinDiameterM*f.PinHeightM + baseFilm*baseM2
	capacity := air.RhoKgM3 * flow * air.CpJkgK

	uncertainty := 0.20
	c := Cooling{
		FilmWm2K: b.FilmWm2K, FinEfficiency: eta, PressurePa: f.PressureDrop(flow, air),
		Method: "bank of isothermal pins in cross flow", Source: "KhanCulhamYovanovich2005",
	}
	c.ConvectionConductanceWK = -capacity * math.Expm1(-ha/capacity)
	if b.Reynolds < 40 || b.Reynolds > 1000 {
		c.Notes = append(c.Notes, fmt.Sprintf("Reynolds number of the pins %.0f is outside 40 to 1000, the range of the correlation", b.Reynolds))
	}
	for _, s := range []float64{f.PitchAcrossM / f.PinDiameterM, f.PitchAlongM / f.PinDiameterM} {
		if s < 1.25 || s > 3 {
			c.Notes = append(c.Notes, fmt.Sprintf("pin pitch %.2f diameters is outside 1.25 to 3, the range of the correlation", s))
		}
	}
	if w.ChannelShare > 0 && w.ChannelShare < 1 {
		uncertainty = 0.30
	}
	c.settle(baseK, airK, airK, 1-uncertainty, 1+uncertainty)
	return c, nil
}

// Natural returns what the pins dissipate at least without a fan: as much as a solid block of the sink's outline would, with
// the pins radiating as cavities. No closed form for natural convection through pins is good to 25 %; the true value is
// higher unless the pins stand very close.
// Source: ChurchillChu1975; McAdams1954; SparrowCess1978; that the envelope is a lower bound is a rule of thumb (no source).
func (f PinFin) Natural(o Orientation, baseK, airK, surroundK, pressurePa float64) (Cooling, error) {
	if _, known := orientationFactor(o); !known {
		return Cooling{}, fmt.Errorf("orientation %d is not known; use vertical, fins up, fins down or fins across", int(o))
	}
	if err := f.Validate(); err != nil {
		return Cooling{}, err
	}
	if err := checkState(baseK, airK, surroundK, pressurePa); err != nil {
		return Cooling{}, err
	}
	top := f.WidthM * f.LengthM
	ends, sides := 2*f.WidthM*f.PinHeightM, 2*f.LengthM*f.PinHeightM
	perimeter := 2 * (f.WidthM + f.LengthM)
	height := f.LengthM
	face := FaceVertical
	switch o {
	case FinsUp:
		face, height = FaceUp, f.PinHeightM
	case FinsDown:
		face, height = FaceDown, f.PinHeightM
	}
	film := PlateCoefficient(FaceVertical, height, 0, 0, baseK, airK, pressurePa)
	front := film
	if face != FaceVertical {
		front = PlateCoefficient(face, 0, top, perimeter, baseK, airK, pressurePa)
	}
	across, along := f.rows()
	tips := across * along * math.Pi / 4 * f.PinDiameterM * f.PinDiameterM
	wall := top - tips + across*along*math.Pi*f.PinDiameterM*f.PinHeightM
	mouth := top - tips + ends + sides

	c := Cooling{
		FilmWm2K: film,
		Method:   "solid block of the pins' outline, a lower bound",
		Source:   "ChurchillChu1975; McAdams1954; SparrowCess1978",
		Notes:    []string{"pin fins in natural convection: lower bound only; measure, or use the datasheet value"},
	}
	c.ConvectionConductanceWK = front*top + film*(ends+sides)
	radiating := mouth*CavityEmissivity(f.Emissivity, mouth, wall) + f.Emissivity*tips
	c.RadiationConductanceWK = radiating * RadiationCoefficient(1, baseK, surroundK)
	c.settle(baseK, airK, surroundK, 0.85, 2)
	return c, nil
}
