package sink

import (
	"fmt"
	"math"
)

// Orientation says how a finned sink is mounted.
type Orientation int

const (
	Vertical   Orientation = iota // base upright, fins running from bottom to top
	FinsUp                        // base lying, fins above it: the usual lamp over a tank
	FinsDown                      // base lying, fins below it
	FinsAcross                    // base upright, long fins lying
)

// String names the orientation as the trade does.
func (o Orientation) String() string {
	switch o {
	case Vertical:
		return "fins vertical"
	case FinsUp:
		return "base horizontal, fins up"
	case FinsDown:
		return "base horizontal, fins down"
	case FinsAcross:
		return "base vertical, fins horizontal"
	}
	return fmt.Sprintf("orientation %d", int(o))
}

// orientationFactor contains what an orientation keeps of the convection of vertical fins: rule of thumb (no source).
func orientationFactor(o Orientation) (factor float64, known bool) {
	switch o {
	case Vertical:
		return 1, true
	case FinsUp:
		return 0.75, true
	case FinsDown, FinsAcross:
		return 0.55, true
	}
	return 0, false
}

const (
	uncertaintyVertical = 0.15 // scatter of the channel correlations on real sinks: rule of thumb (no source)
	uncertaintyOther    = 0.25 // the same for every other orientation
)

// PlateFin is an extruded sink with straight fins, or with none a plain plate.
type PlateFin struct {
	WidthM         float64 `json:"widthM"`         // across the fins [m]
	LengthM        float64 `json:"lengthM"`        // along the fins [m]
	FinHeightM     float64 `json:"finHeightM"`     // from the base to the tip [m]
	FinThicknessM  float64 `json:"finThicknessM"`  // mean thickness [m]
	BaseThicknessM float64 `json:"baseThicknessM"` // [m]
	Fins           int     `json:"fins"`           // 0 for a plain plate, otherwise at least 2
	KWmK           float64 `json:"kWmK"`           // conductivity of the metal [W/(m·K)]
	Emissivity     float64 `json:"emissivity"`     // of the finish: about 0.05 bare, 0.85 anodised
}

// Validate says what is wrong with the sink's dimensions, or nil.
func (f PlateFin) Validate() error {
	positive := func(name string, v float64) error {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("%s of the sink is %g; give a positive number", name, v)
		}
		return nil
	}
	if err := positive("width", f.WidthM); err != nil {
		return err
	}
	if err := positive("length", f.LengthM); err != nil {
		return err
	}
	if err := positive("conductivity", f.KWmK); err != nil {
		return err
	}
	if !(f.BaseThicknessM >= 0) || math.IsInf(f.BaseThicknessM, 0) {
		return fmt.Errorf("base thickness of the sink is %g m; give zero or more", f.BaseThicknessM)
	}
	if !(f.Emissivity >= 0 && f.Emissivity <= 1) {
		return fmt.Errorf("emissivity of the sink is %g; give a share from 0 to 1", f.Emissivity)
	}
	switch {
	case f.Fins == 0:
		return nil
	case f.Fins < 2:
		return fmt.Errorf("sink has %d fins; give at least 2, or 0 for a plain plate", f.Fins)
	}
	if err := positive("fin height", f.FinHeightM); err != nil {
		return err
	}
	if err := positive("fin thickness", f.FinThicknessM); err != nil {
		return err
	}
	if f.GapM() <= 0 {
		return fmt.Errorf("%d fins of %.3g mm fill the width of %.3g mm and leave no gap; use fewer or thinner fins",
			f.Fins, f.FinThicknessM*1e3, f.WidthM*1e3)
	}
	return nil
}

// GapM returns the clear gap between two fins in metres: (W − N·t)/(N − 1).
func (f PlateFin) GapM() float64 {
	return (f.WidthM - float64(f.Fins)*f.FinThicknessM) / float64(f.Fins-1)
}

// VolumeM3 returns the metal in the sink in cubic metres; times density and heat capacity it is the sink's in J/K.
func (f PlateFin) VolumeM3() float64 {
	return f.LengthM * (f.WidthM*f.BaseThicknessM + float64(f.Fins)*f.FinThicknessM*f.FinHeightM)
}

// RadiatingAreaM2 returns the area of a black face that radiates like the sink, in square metres:
//
//	A = (N−1)·A_m·ε_app + ε·A_outer,  A_m = s·(L + 2·H),  A_w = (2·H + s)·L
//
// Gaps radiate through their mouths (front and two ends) as cavities, so that the envelope counts and not the area of
// the fins. Outer faces are the tips and ends of the fins and the two outermost sides.
// Source: SparrowCess1978, ch. 6 (isothermal grey enclosure); view from the gaps closed by a plane.
func (f PlateFin) RadiatingAreaM2() float64 {
	if f.Fins == 0 {
		return f.Emissivity * f.WidthM * f.LengthM
	}
	s, n := f.GapM(), float64(f.Fins)
	mouth := s * (f.LengthM + 2*f.FinHeightM)
	wall := (2*f.FinHeightM + s) * f.LengthM
	outer := n*f.FinThicknessM*(f.LengthM+2*f.FinHeightM) + 2*f.FinHeightM*f.LengthM
	return (n-1)*mouth*CavityEmissivity(f.Emissivity, mouth, wall) + f.Emissivity*outer
}

// Elenbaas returns the Elenbaas number of a gap [1]: El = g·β·ΔT·s⁴/(ν·α·L).
//
// dTK is wall minus inlet air [K], gapM the clear gap and lengthM the height of the channel [m].
// Source: Elenbaas1942; BarCohenRohsenow1984.
func (a Air) Elenbaas(dTK, gapM, lengthM float64) float64 {
	return a.rayleighPerM3(dTK) * gapM * gapM * gapM * gapM / lengthM
}

// ChannelNusselt returns the mean Nusselt number over the gap of a vertical channel between isothermal plates [1]:
//
//	Nu = [576/El² + 2.873/El^(1/2)]^(−1/2)
//
// referred to wall minus inlet air and to both walls. It holds for every el > 0: El/24 when the gap chokes,
// 0.59·El^(1/4) when the plates stand alone.
// Source: BarCohenRohsenow1984, symmetric isothermal plates.
func ChannelNusselt(el float64) float64 { return 1 / math.Sqrt(576/(el*el)+2.873/math.Sqrt(el)) }

// ChannelNusseltOneSided returns the same with one wall adiabatic [1]: 144 in place of 576.
//
// Source: BarCohenRohsenow1984, asymmetric isothermal plates.
func ChannelNusseltOneSided(el float64) float64 {
	return 1 / math.Sqrt(144/(el*el)+2.873/math.Sqrt(el))
}

// ElenbaasNusselt returns the measured curve for square plates that the above is compared with [1]:
//
//	Nu = (El/24)·(1 − exp(−35/El))^(3/4)
//
// for el from 0.1 to 1e5. Source: Elenbaas1942.
func ElenbaasNusselt(el float64) float64 { return el / 24 * math.Pow(-math.Expm1(-35/el), 0.75) }

// UChannel is the gap of a sink with its base as third wall: two fins, the base between them, the front open.
type UChannel struct {
	RadiusM  float64 // r = 2·H·s/(2·H + s) [m]
	Psi      float64 // geometry factor [1]
	Rayleigh float64 // Ra* = g·β·ΔT·r³/(ν·α)·(r/L) [1]
	Nusselt  float64 // h·r/k [1]
	FilmWm2K float64
}

// UChannelAt returns the heat transfer coefficient in a vertical gap whose third wall is the base:
//
//	a = s/H,  r = 2·H·s/(2·H + s)
//	ψ = 24·(1 − 0.483·e^(−0.17/a))/{(1 + a/2)·[1 + (1 − e^(−0.83·a))·(9.14·√a·e^(−464.6·s) − 0.61)]}³
//	Nu_r = (Ra*/ψ)·{1 − exp[−ψ·(0.5/Ra*)^(3/4)]}
//
// gapM, finHeightM, lengthM in metres (464.6 is per metre); dTK is wall minus inlet air. Meant for 0 < s/H < 4 or so.
// Source: VanDePolTierney1974 (cited from memory; both limits hold).
func UChannelAt(air Air, dTK, gapM, finHeightM, lengthM float64) UChannel {
	var u UChannel
	a := gapM / finHeightM
	u.RadiusM = 2 * finHeightM * gapM / (2*finHeightM + gapM)
	d := (1 + a/2) * (1 + (1-math.Exp(-0.83*a))*(9.14*math.Sqrt(a)*math.Exp(-464.6*gapM)-0.61))
	u.Psi = 24 * (1 - 0.483*math.Exp(-0.17/a)) / (d * d * d)
	r2 := u.RadiusM * u.RadiusM
	u.Rayleigh = air.rayleighPerM3(dTK) * r2 * r2 / lengthM
	half := math.Sqrt(0.5 / u.Rayleigh)
	u.Nusselt = -u.Rayleigh / u.Psi * math.Expm1(-u.Psi*half*math.Sqrt(half))
	u.FilmWm2K = u.Nusselt * air.KWmK / u.RadiusM
	return u
}

// OptimumGap returns the gap at which vertical thin fins on a base of given width dissipate most heat, in metres:
//
//	s_opt = 2.714·(g·β·ΔT/(ν·α·L))^(−1/4)
//
// A gap 20 % too narrow costs about 10 % of the heat, one 20 % too wide about 6 %; below 0.6 of it the gap chokes.
// Source: BarCohenRohsenow1984, symmetric isothermal plates of no thickness.
func (f PlateFin) OptimumGap(baseK, airK, pressurePa float64) float64 {
	air := AirAt((baseK+airK)/2, pressurePa)
	return 2.714 / math.Pow(air.rayleighPerM3(heldRise(baseK-airK))/f.LengthM, 0.25)
}

// Natural returns what the sink dissipates without a fan: convection from the fins and the base between them, and
// radiation from the envelope.
//
// Vertical fins follow the channel between plates; where the fins are low (H/s < 4) the gap with the base as third wall
// gives the low end of the range. The outermost sides are upright plates. Fin tips are adiabatic and the edges and back
// of the base dissipate nothing, which errs on the warm side. The heat transfer coefficient is iterated on the mean
// excess of the walls. Other orientations keep 0.75 (fins up), 0.55 (fins down), 0.55 (fins across) of the vertical
// convection, ±25 %.
//
// Temperatures in kelvin; surroundK is what the sink sees. A base colder than the air takes heat up by the mirrored
// flow, and through equal temperatures everything is continuous.
// Source: BarCohenRohsenow1984, VanDePolTierney1974, ChurchillChu1975; factors rule of thumb (no source).
func (f PlateFin) Natural(o Orientation, baseK, airK, surroundK, pressurePa float64) (Cooling, error) {
	factor, known := orientationFactor(o)
	if !known {
		return Cooling{}, fmt.Errorf("orientation %d is not known; use vertical, fins up, fins down or fins across", int(o))
	}
	if err := f.Validate(); err != nil {
		return Cooling{}, err
	}
	if err := checkState(baseK, airK, surroundK, pressurePa); err != nil {
		return Cooling{}, err
	}
	if f.Fins == 0 {
		return f.naturalPlate(o, baseK, airK, surroundK, pressurePa), nil
	}
	return f.naturalFins(o, factor, 1, baseK, airK, surroundK, pressurePa), nil
}

// NaturalTilted returns the same for a base tilted from upright, fins running up the slope.
//
// tiltRad is 0 upright, +π/2 lying with the fins up, −π/2 lying with the fins down. Up to 60° gravity along the fins is
// g·cos(tilt); from there to lying the convection runs straight to that of FinsUp or FinsDown, ±30 %.
// Source: IncroperaDeWitt2007, §9.6.2 up to 60°; beyond that an interpolation of ours between the two.
func (f PlateFin) NaturalTilted(tiltRad, baseK, airK, surroundK, pressurePa float64) (Cooling, error) {
	tilt := math.Abs(tiltRad)
	if !(tilt <= math.Pi/2*(1+1e-12)) {
		return Cooling{}, fmt.Errorf("tilt is %.3g°; give −90° (fins down) to 90° (fins up)", tiltRad*180/math.Pi)
	}
	if f.Fins == 0 {
		return Cooling{}, fmt.Errorf("tilt of a plate without fins is not known here; take it as upright or lying")
	}
	if err := f.Validate(); err != nil {
		return Cooling{}, err
	}
	if err := checkState(baseK, airK, surroundK, pressurePa); err != nil {
		return Cooling{}, err
	}
	const limit = math.Pi / 3
	steep := f.naturalFins(Vertical, 1, math.Cos(math.Min(tilt, limit)), baseK, airK, surroundK, pressurePa)
	if tilt <= limit {
		if tilt > 0 {
			steep.Notes = append(
				steep.Notes, "tilted fins: gravity along the fins is g·cos(tilt), valid up to 60° from vertical",
			)
		}
		return steep, nil
	}
	o := FinsUp
	if tiltRad < 0 {
		o = FinsDown
	}
	factor, _ := orientationFactor(o)
	lying := f.naturalFins(o, factor, 1, baseK, airK, surroundK, pressurePa)
	share := math.Min((tilt-limit)/(math.Pi/2-limit), 1)
	lying.ConvectionConductanceWK = (1-share)*steep.ConvectionConductanceWK + share*lying.ConvectionConductanceWK
	lying.FilmWm2K = (1-share)*steep.FilmWm2K + share*lying.FilmWm2K
	lying.settle(baseK, airK, surroundK, 0.7, 1.3)
	lying.Method = "vertical channel and lying fins, interpolated by tilt"
	lying.Notes = append(lying.Notes, "tilt beyond 60° is interpolated between 60° and lying: ±30 %")
	return lying, nil
}

// naturalFins works out a finned sink. gravityShare scales gravity along the fins.
func (f PlateFin) naturalFins(o Orientation, factor, gravityShare, baseK, airK, surroundK, pressurePa float64) Cooling {
	s, n := f.GapM(), float64(f.Fins)
	air := AirAt((baseK+airK)/2, pressurePa)
	riseK := heldRise(baseK - airK)
	side := f.FinHeightM * f.LengthM
	baseM2 := (n - 1) * s * f.LengthM

	var film, plate, eta, etaEnd float64
	meanShare := 1.0
	for range 3 {
		wallK := riseK * meanShare
		film = ChannelNusselt(gravityShare*air.Elenbaas(wallK, s, f.LengthM)) * air.KWmK / s
		ra := gravityShare * air.rayleighPerM3(wallK) * f.LengthM * f.LengthM * f.LengthM
		plate = VerticalPlateNusselt(ra, air.Pr) * air.KWmK / f.LengthM
		eta = StraightFinEfficiency(factor*film, f.KWmK, f.FinThicknessM, f.FinHeightM)
		etaEnd = StraightFinEfficiency(factor*(film+plate)/2, f.KWmK, f.FinThicknessM, f.FinHeightM)
		meanShare = (baseM2 + 2*side*((n-2)*eta+2*etaEnd)) / (baseM2 + 2*side*n)
	}

	c := Cooling{FilmWm2K: factor * film, FinEfficiency: eta}
	c.ConvectionConductanceWK = factor * (film*(baseM2+2*side*(n-2)*eta) + (film+plate)*side*2*etaEnd)
	wallK := airK + (baseK-airK)*meanShare
	// Fins cooler than the base radiate less, in the same share as they convect less.
	c.RadiationConductanceWK = meanShare * f.RadiatingAreaM2() * RadiationCoefficient(1, wallK, surroundK)

	low, high := 1-uncertaintyVertical, 1+uncertaintyVertical
	c.Method = "vertical channel between isothermal plates, outer sides as plates, radiation from the envelope"
	c.Source = "BarCohenRohsenow1984; ChurchillChu1975; SparrowCess1978"
	if o != Vertical {
		low, high = 1-uncertaintyOther, 1+uncertaintyOther
		c.Method = "vertical channel times an allowance for " + o.String() + ", radiation from the envelope"
		c.Source = "BarCohenRohsenow1984; allowance rule of thumb (no source); SparrowCess1978"
	}
	if f.FinHeightM < 4*s {
		u := UChannelAt(air, riseK*meanShare*gravityShare, s, f.FinHeightM, f.LengthM)
		share := u.FilmWm2K / film
		low = math.Min(low, share)
		if share < 1 && math.Abs(baseK-airK) >= 1 {
			c.Notes = append(c.Notes, fmt.Sprintf(
				"low fins: the base as third wall of the channel (Van de Pol and Tierney) reduces h by %.0f %%",
				100*(1-share),
			))
		}
	}
	c.settle(baseK, airK, surroundK, low, high)
	f.naturalNotes(&c, o, baseK, airK, pressurePa)
	return c
}

// naturalNotes adds what a person should know of the gap and the temperatures.
func (f PlateFin) naturalNotes(c *Cooling, o Orientation, baseK, airK, pressurePa float64) {
	if math.Abs(baseK-airK) >= 1 {
		ratio := f.GapM() / f.OptimumGap(baseK, airK, pressurePa)
		switch {
		case ratio < 0.6:
			c.Notes = append(c.Notes, fmt.Sprintf(
				"fin spacing %.2g mm is %.0f %% of the natural-convection optimum: use fewer fins", f.GapM()*1e3,
				100*ratio,
			))
		case o != Vertical && ratio < 1.2:
			c.Notes = append(c.Notes, fmt.Sprintf("fin spacing %.2g mm is %.0f %% of the optimum for vertical fins; "+
				"horizontal fins need 120 %% to 150 %%", f.GapM()*1e3, 100*ratio))
		}
	}
	if o == FinsUp && f.LengthM < 5*f.FinHeightM {
		c.Notes = append(
			c.Notes, "fins shorter than 5 fin heights: the correction for upward fins overestimates temperature",
		)
	}
	if t := (baseK + airK) / 2; t < 250 || t > 450 {
		c.Notes = append(
			c.Notes, fmt.Sprintf("film temperature %.0f K is outside 250 K to 450 K, the range of the air data", t),
		)
	}
}

// naturalPlate works out a plain plate that is cooled on one face.
func (f PlateFin) naturalPlate(o Orientation, baseK, airK, surroundK, pressurePa float64) Cooling {
	face, u := FaceVertical, uncertaintyVertical
	height := f.LengthM
	switch o {
	case FinsUp:
		face, u = FaceUp, uncertaintyOther
	case FinsDown:
		face, u = FaceDown, uncertaintyOther
	case FinsAcross:
		height = f.WidthM
	}
	area := f.WidthM * f.LengthM
	c := Cooling{
		Method: "flat plate cooled on one face",
		Source: "ChurchillChu1975; McAdams1954; LloydMoran1974",
	}
	c.FilmWm2K = PlateCoefficient(face, height, area, 2*(f.WidthM+f.LengthM), baseK, airK, pressurePa)
	c.ConvectionConductanceWK = c.FilmWm2K * area
	c.RadiationConductanceWK = area * RadiationCoefficient(f.Emissivity, baseK, surroundK)
	c.settle(baseK, airK, surroundK, 1-u, 1+u)
	return c
}
