package review

import (
	"fmt"
	"math"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

const freezingK = 273.15

// ice compares ambient temperatures with the freezing point of the water: water expands by 9 % as it freezes
// (1000/916.7 kg/m³ − 1), and ice is not modelled.
func (v *reviewer) ice() []Judgement {
	if !v.aboveWater() {
		return nil
	}
	low, stated := v.l.MinAmbientK()
	at := v.d.Installation.Ambient.Min.At
	if !stated {
		at = v.d.Installation.Ambient.Typical.At
	}
	j := Judgement{
		Subject: Subject{Kind: "tank"}, At: at, Bound: AtLeast, Dim: quantity.Temperature, Value: low, P90: low,
		Limit: freezingK,
	}
	j = compare(finding.Warn, j)
	when := "minimum ambient temperature"
	if top := v.d.Installation.Ambient.Max; top.SI < freezingK {
		when = "maximum ambient temperature"
		j.Value, j.P90, j.At, j.Severity = top.SI, top.SI, top.At, finding.Stop
	}
	if j.Severity == finding.Pass {
		return nil // a default is no pass, and a room above 0 °C is no news
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: capital(when), limit: "freezing point of water"}),
			Why:   "Freezing water expands by 9 % and breaks the glass. Light under ice is not modelled.",
		}
		t.fix("Heat the water, or drain the tank before frost")
		t.fixf("State the lowest temperature of the air at the tank: `ambient: {min: %s}`", "5 °C")
		if j.Severity == finding.Stop {
			t.Why = fmt.Sprintf("At %s the water is ice on every day. %s", format(j.Value, j.Dim), t.Why)
		}
		return t
	}
	return []Judgement{j}
}

// Distances of a lamp from water and glass: rules of thumb (no source).
const (
	splashM   = 0.05 // heat, splash and steam reach the lamp
	dropsM    = 0.1  // drops of feeding, filters and hands reach it
	glassGapM = 0.01 // a hand, a clamp, and the swing of the lamp
	overflowM = 0.02 // displaced by a hand, or by ripples
)

// lensHeight compares the height of the lowest lens above the water with the reach of splash.
func (v *reviewer) lensHeight() []Judgement {
	if v.l.WaterM() == 0 {
		return nil
	}
	height := v.d.Installation.Hanging.SI - v.l.DropM()
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "lamp"}, At: v.d.Installation.Hanging.At, Bound: AtLeast, Dim: quantity.Length,
		Value: height, P90: height, Limit: splashM,
	})
	if j.Severity == finding.Pass {
		if height >= dropsM*(1-bitError) || v.d.Enclosure.Splash() >= wiring.SplashProof {
			return nil
		}
		j.Severity, j.Limit = finding.Note, dropsM
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Lens height above the water", limit: "reach of splash"}),
			Why:   "Splash and steam reach lenses, board and joints (rule of thumb, no source).",
		}
		t.fixf("Set `hanging_height` ≥ %s", quantity.Format(j.Limit, quantity.Length))
		t.fix("Cover the lamp with glass, or use a lamp of IPX4 or more and state it: `enclosure`")
		return t
	}
	return []Judgement{j}
}

// belowRim compares the plan of a lamp whose lenses are below the rim with the inside of the tank.
func (v *reviewer) belowRim() []Judgement {
	p := &v.d.Installation
	if !p.BelowRim(v.l.LensLevelM() - v.l.DropM()) {
		return nil
	}
	x0, x1, y0, y1 := v.d.Board.Outline().Bounds()
	// The heat sink may be wider than the board.
	cx, cy, length, width := v.l.ContactOf()
	x0, x1 = math.Min(x0, cx-length/2), math.Max(x1, cx+length/2)
	y0, y1 = math.Min(y0, cy-width/2), math.Max(y1, cy+width/2)
	dx, dy := p.Offset.X.SI, p.Offset.Y.SI
	gap := math.Min(
		p.Inside.Length.SI/2-math.Max(x1+dx, -x0-dx), p.Inside.Width.SI/2-math.Max(y1+dy, -y0-dy),
	)
	j := Judgement{
		Subject: Subject{Kind: "lamp"}, At: p.Hanging.At, Bound: AtLeast, Dim: quantity.Length, Value: gap, P90: gap,
		Limit: glassGapM, Severity: finding.Note,
	}
	switch {
	case gap <= 0:
		j.Severity, j.Limit = finding.Stop, 0
	case gap < glassGapM*(1-bitError):
		j.Severity = finding.Warn
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: "Lenses are below the rim of the tank; gap between lamp and glass " + format(j.Value, j.Dim),
			Why:   "Humid air stays between lamp and water; the model of the light holds.",
		}
		switch j.Severity {
		case finding.Stop:
			t.Title = fmt.Sprintf("The lamp below the rim reaches %s into the glass", format(-j.Value, j.Dim))
			t.Why = "It does not fit into the tank."
		case finding.Warn:
			t.Title = j.title(claim{quantity: "Gap between lamp and glass", limit: "rule of thumb"})
			t.Why = "A lamp that swings or expands touches the glass (rule of thumb, no source)."
		}
		up := p.Inside.Height.SI - math.Max(p.Water.SI, p.Substrate.SI) + v.l.DropM()
		t.fixf("Set `hanging_height` ≥ %s, above the rim", roundUp(up, 1e-3, quantity.Length))
		if j.Severity != finding.Note {
			t.fix("Use a smaller board and heat sink, or move the lamp to the middle")
		}
		return t
	}
	return []Judgement{j}
}

// waterLevel notes water near the rim, and a substrate that leaves the water.
func (v *reviewer) waterLevel() (out []Judgement) {
	p := &v.d.Installation
	if p.Kind.S != project.Tank || p.Water.SI == 0 {
		return nil
	}
	if left := p.Inside.Height.SI - p.Water.SI; left <= overflowM*(1+bitError) {
		out = append(out, Judgement{
			Severity: finding.Note, Subject: Subject{Kind: "tank"}, At: p.Water.At, Bound: AtLeast,
			Dim:   quantity.Length,
			Value: left, P90: left, Limit: overflowM,
			text: func(_ *reviewer, j *Judgement) Text {
				return Text{
					Title: "Water is " + format(j.Value, j.Dim) + " below the rim",
					Why:   "A hand in the tank displaces it over the rim, towards cables (rule of thumb, no source).",
					Fix:   []string{"Keep the water ≥ " + format(j.Limit, j.Dim) + " below the rim"},
				}
			},
		})
	}
	if top := v.l.EmergentM(); top >= 0 {
		out = append(out, Judgement{
			Severity: finding.Note, Subject: Subject{Kind: "tank"}, At: p.Substrate.At, Dim: quantity.Length,
			Value: top,
			P90:   top, text: emergentText,
		})
	}
	return out
}

func emergentText(v *reviewer, j *Judgement) Text {
	t := Text{
		Title: "Substrate rises " + format(j.Value, j.Dim) + " above the water; light computed on the substrate in air",
		Why:   "It covers the water. Plants in deeper water, beside it, are a second target.",
	}
	if v.l.WaterM() > 0 {
		t.Title = "Substrate rises " + format(j.Value,
			j.Dim) + " above the water; light computed on a flatter slope below it"
		t.Why = "There are two targets, in air and in water; the maps have one. Light in air is a little higher."
	}
	t.fix("Compare with a design without `water_depth`, which has the target in air")
	return t
}
