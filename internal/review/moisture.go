package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
	"lampwright/internal/wiring"
)

// Relative humidity of air about a lamp, where it is not stated or computed: rules of thumb (no source).
const (
	humidityFree = 0.60 // hanging free
	humidityRim  = 0.75 // below the rim of the tank
	humidityHood = 0.95 // under a hood whose air is stated: at the temperature of the water
)

// dewReserveK is by how much a board is warmer than the dew point to stay dry: rule of thumb (no source).
const dewReserveK = 2.0

// damp is the air about the lamp while it is off, when the board has the temperature of the air.
type damp struct {
	boardK, dewK float64
	vapourPa     float64
	assumed      string // what is assumed of it; empty where it is stated
	hood         *sink.HumidAir
	figure       string
}

// condenses reports whether vapour condenses on the board while the lamp is off.
func (d damp) condenses() bool { return d.boardK < d.dewK+dewReserveK }

// dampAir returns the air about the lamp while it is off, at typical ambient. Under a hood over open water it is that
// of the balances; elsewhere it has the stated or the usual humidity.
func (v *reviewer) dampAir() damp {
	p := &v.d.Installation
	rh, typical := p.Ambient.Humidity, p.Ambient.Typical.SI
	if h := v.r.Sys.Cases[0].Humid; h != nil {
		d := damp{
			boardK: h.Night.AirK, dewK: h.Night.DewPointK, vapourPa: sink.SaturationPa(h.Night.DewPointK),
			hood: h, figure: "hood.air-off",
		}
		if !rh.Set {
			d.assumed = quantity.Format(sink.UsualRoomRH, quantity.Ratio) + " in the room"
		}
		return d
	}
	share, airK, assumed := rh.SI, typical, ""
	below := v.aboveWater() && p.BelowRim(v.l.LensLevelM()-v.l.DropM())
	switch {
	case v.aboveWater() && v.d.Sink.HoodAirRise.SI > 0:
		share, airK, assumed = humidityHood, math.Max(typical, p.WaterTemperature.SI), "95 % at the water"
	case below && share < humidityRim:
		share, assumed = humidityRim, "75 % below the rim"
	case !rh.Set:
		share, assumed = humidityFree, "60 %"
	}
	e := share * sink.SaturationPa(airK)
	return damp{boardK: typical, dewK: sink.DewPointK(e), vapourPa: e, assumed: assumed}
}

// protected returns what keeps water from the joints of the board; empty where nothing is stated.
func (v *reviewer) protected() string {
	e := v.d.Enclosure
	switch {
	case v.d.Board.Coating.Set:
		return "coating: " + string(v.d.Board.Coating.S)
	case e.Splash() >= wiring.SplashProof:
		return e.IP.S
	case e != nil && e.Sealing.S == project.SealingPotted:
		return "potted"
	}
	return ""
}

// condensation compares the board while the lamp is off with the dew point of the air about it, and reports a hood that
// drips.
func (v *reviewer) condensation() (out []Judgement) {
	d := v.dampAir()
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "board"}, At: v.d.Installation.Ambient.Typical.At, Figure: d.figure, Bound: AtLeast,
		Dim: quantity.Temperature, Value: d.boardK, P90: d.boardK, Limit: d.dewK + dewReserveK,
	})
	shield := v.protected()
	switch {
	case j.Severity == finding.Warn && shield != "":
		j.Severity = finding.Note
	case j.Severity == finding.Pass && d.assumed != "":
		return nil // a default is no pass
	}
	j.text = func(v *reviewer, j *Judgement) Text { return v.condensationText(j, d, shield) }
	return append([]Judgement{j}, v.dripping(d)...)
}

func (v *reviewer) condensationText(j *Judgement, d damp, shield string) Text {
	t := Text{
		Title: j.title(claim{quantity: "Board temperature", when: "with the lamp off", limit: "dew point + 2 K"}),
		Why: fmt.Sprintf("At a dew point of %s vapour condenses on board, joints and connectors, and corrodes them "+
			"(2 K: rule of thumb, no source).", format(d.dewK, quantity.Temperature)),
	}
	if shield != "" {
		t.Title += "; " + shield
	}
	if d.assumed != "" {
		t.Title += "; humidity " + d.assumed + " assumed"
	}
	if j.Severity == finding.Pass {
		return t
	}
	if shield != "" {
		t.fix("Mask lenses and connectors before coating; inspect joints for corrosion each year")
		return t
	}
	t.fix("Coat board and joints, beside LEDs with silicone: `coating: silicone` under `board`")
	t.fix("Use an enclosure of IPX4 or more: `enclosure: {sealing: vented, ip_code: IPX4}`")
	if v.d.Sink.Hood != nil || v.d.Sink.HoodAirRise.SI > 0 {
		t.fix("Cover the tank with glass (`cover_glass`), or vent the hood")
	}
	return t
}

// dripping notes a hood on which vapour condenses, by day or after the lamp is off.
func (v *reviewer) dripping(d damp) []Judgement {
	if d.hood == nil {
		return nil
	}
	most := math.Max(d.hood.Day.CondensationKgS, d.hood.Night.CondensationKgS)
	if most <= 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Note, Subject: Subject{Kind: "hood"}, At: v.d.Sink.Hood.WallArea.At,
		Figure: "hood.dew-point-off",
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: fmt.Sprintf("Hood is colder than the dew point: %s of water an hour condense on it",
					quantity.Format(3600*most, quantity.Mass)),
				Why: "Drops run down the inside and fall on the lamp.",
				Fix: []string{
					"Slope the lid, and keep the lamp away from its lower edge", "Insulate the hood, or vent it",
				},
			}
		},
	}}
}

// coatingMaxK are the maximum temperatures of conformal coatings by resin: IPCCC830 (types), cited from memory.
var coatingMaxK = map[project.Coating]float64{
	project.CoatingAcrylic: 398.15, project.CoatingUrethane: 398.15, project.CoatingEpoxy: 423.15,
	project.CoatingSilicone: 453.15, project.CoatingParylene: 373.15,
}

// coatingTemperature compares the hottest solder points with what the coating withstands.
func (v *reviewer) coatingTemperature() (out []Judgement) {
	use := v.d.Board.Coating
	if !use.Set {
		return nil
	}
	for i := range v.l.Channels {
		name := v.l.Channels[i].Name
		j := v.temperature(name+".solder-max-ambient", coatingMaxK[use.S])
		j.Subject, j.At, j.group = channel(name), use.At, "coating"
		j.text = func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Solder point temperature", when: "at maximum ambient",
					limit: "limit of a coating of " + string(use.S),
				}),
				Why: "Above it the resin cracks and lets water in (IPC-CC-830, cited from memory).",
			}
			if j.Severity != finding.Pass {
				t.fix("Use `coating: silicone` (180 °C)")
			}
			return t
		}
		out = append(out, compare(finding.Warn, j))
	}
	return out
}

// breathing reports a sealed enclosure without a vent: its air warms and cools each day, and draws in vapour.
func (v *reviewer) breathing() []Judgement {
	e := v.d.Enclosure
	if e == nil || e.Sealing.S != project.SealingSealed {
		return nil
	}
	d := v.dampAir()
	hotK := v.r.Sol.Cases[typicalCase].Sink.BaseK
	b := sink.Breathe(e.Volume.SI, d.boardK, hotK, d.vapourPa,
		sink.PressureAtAltitude(v.d.Installation.Altitude.SI))
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "enclosure"}, At: e.Sealing.At, Figure: "sink.temperature",
		text: func(*reviewer, *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Sealed enclosure without a vent: its air warms by %s each day",
					quantity.Format(hotK-d.boardK, quantity.TemperatureDifference)),
				Why: fmt.Sprintf("A tight seal bears %s; one that leaks draws in moist air as it cools.",
					quantity.Format(b.PressurePa, quantity.Pressure)),
			}
			if e.Volume.Set {
				t.Why = fmt.Sprintf("A tight seal bears %s; one that leaks draws in %s of water a day, %s a year.",
					quantity.Format(b.PressurePa, quantity.Pressure), quantity.Format(b.WaterKg, quantity.Mass),
					quantity.Format(365*b.WaterKg, quantity.Mass))
			}
			t.fix("Fit a hydrophobic vent membrane (water entry pressure > 30 kPa) and state `sealing: vented`")
			t.fix("Pot it completely, or leave it open with drainage")
			return t
		},
	}}
}
