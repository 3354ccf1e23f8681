package review

import (
	"fmt"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// blueLight compares the blue light towards a person below the lamp who looks up with the limits of IEC 62471, and asks
// for the finish of lenses where it matters.
func (v *reviewer) blueLight() []Judgement {
	f, ok := v.r.Figure("viewer.exposure-time")
	if !ok {
		return nil
	}
	at := v.d.Installation.ViewerDistance.At
	if !v.d.Installation.ViewerDistance.Set {
		at = v.d.Installation.Hanging.At
	}
	j := Judgement{
		Severity: finding.Note, Subject: Subject{Kind: "eyes"}, Figure: f.Key, At: at, text: blueLightText,
	}
	switch v.r.Sol.Hazard.Viewer.Group {
	case 2:
		j.Severity = finding.Warn
	case 3:
		j.Severity = finding.Stop
	}
	return append([]Judgement{j}, v.lensFinish()...)
}

// distanceText states the distance of the viewer, and that it is assumed where it is.
func (v *reviewer) distanceText() string {
	m, stated := v.l.ViewerM()
	text := quantity.Format(m, quantity.Length)
	if !stated {
		text += " (assumed)"
	}
	return text
}

// radianceText prints a radiance with its unit.
func radianceText(wm2sr float64) string {
	return quantity.Format(wm2sr, quantity.None) + " W/(m²·sr)"
}

func blueLightText(v *reviewer, _ *Judgement) Text {
	h := &v.r.Sol.Hazard
	f, _ := v.r.Figure("viewer.exposure-time")
	t := Text{Value: f.Text()}
	longest := f.Value >= colour.LongestExposureS
	time := "maximum exposure time " + f.Text()
	if longest {
		time = "maximum exposure time exceeds 10 000 s"
	}
	name := figure.RiskGroupName(h.Viewer.Group)
	switch h.Viewer.Group {
	case 2, 3:
		limit, value := colour.LowRiskWM2Sr, h.Viewer.L11
		t.Value, t.Limit = radianceText(value), radianceText(limit)
		t.Title = fmt.Sprintf("Blue light %s exceeds %s (IEC 62471, 11 mrad): %s at %s; %s", t.Value, t.Limit, name,
			v.distanceText(), time)
		t.Why = "A person who looks into a lens for longer than that can damage the retina."
	default:
		t.Title = fmt.Sprintf("Blue light: %s at %s; %s (IEC 62471; below the lamp, looking up)", name,
			v.distanceText(), time)
		if h.Group > h.Viewer.Group {
			t.Title = fmt.Sprintf("Blue light: %s at 200 mm, %s at %s; %s (IEC 62471; below the lamp, looking up)",
				figure.RiskGroupName(h.Group), name, v.distanceText(), time)
		}
	}
	t.Why = joinSentences(t.Why, "The limits are for adults: not for infants, aphakic eyes or animals.")
	t.fix("Do not stare into the lamp")
	if h.Viewer.Group >= 2 {
		if d, ok := v.r.Figure("viewer.blue-distance"); ok {
			t.fixf("Mount the lamp so that eyes stay more than %s from the lenses, and state `viewer_distance`: "+
				"beyond it the lamp is in risk group 1 at most", d.Text())
		}
		t.fix("Use diffusing lenses: an evenly bright aperture has a lower radiance")
	}
	if !longest {
		t.fix("Shield the lenses from view")
		t.fix("Dim the lamp for work")
	}
	return t
}

func joinSentences(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

// lensFinish asks for the finish of lenses whose datasheet does not state it, where it changes the radiance.
func (v *reviewer) lensFinish() (out []Judgement) {
	var names []string
	var at source.Pos
	var clear, even float64
	sources := v.r.Sys.BlueSources(&v.r.Sol)
	for i := range sources {
		b := &sources[i]
		lens := v.l.Optics[v.l.Emitters[i].Optic].Lens
		if lens == nil || lens.Finish.Set || !(b.IntensityWSr > 0) || !(b.ApparentM2() < b.ApertureM2) {
			continue
		}
		if !slices.Contains(names, lens.ID.S) {
			names = append(names, lens.ID.S)
		}
		if l := b.IntensityWSr / b.ApparentM2(); l > clear {
			clear, even, at = l, b.IntensityWSr/b.ApertureM2, lens.ID.At
		}
	}
	if names == nil {
		return nil
	}
	return []Judgement{{
		Severity: finding.Ask, Subject: Subject{"lens", names}, Figure: "viewer.blue-radiance", At: at,
		text: func(*reviewer, *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Finish not stated in the datasheet; clear assumed for the blue-light hazard (%s)",
					list(names)),
				Why: fmt.Sprintf("A clear lens shows the die at %s, a diffusing lens its aperture at %s.",
					radianceText(clear), radianceText(even)),
			}
			t.fix("Look into the unlit lens: where the die is visible, add `finish: clear`, else `finish: diffusing`")
			return t
		},
	}}
}
