package lamp

import (
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// Rules of thumb (no source) on what deposits leave of light.
const (
	wetCoverRetained = 0.90
	cleanPanesLo     = 0.90 // of what panes return, between two cleanings
)

// backings are the terms of package light for the conditions of a pane.
var backings = map[project.PaneCondition]light.Backing{
	project.PaneClean: light.Air, project.PanePaint: light.Contact, project.PanePaper: light.Gap,
	project.PaneBackground: light.Inside,
}

// addPaneParams adds the parameters of the panes and of the cover glass.
func (l *Lamp) addPaneParams() {
	p := &l.Design.Installation
	l.Param.PanesRetained = l.param(Param{
		Name: "installation.panes.retained", nominal: 1, Lo: cleanPanesLo, Hi: 1, Drawn: p.Kind.S == project.Tank,
	})
	for i, pane := range p.Panes.All() {
		nominal := Param{Name: "installation.panes." + project.PaneNames[i] + ".reflectance"}
		if pane != nil {
			nominal = stated(nominal.Name, pane.Reflectance.SI, pane.Reflectance)
		}
		l.Param.PaneReflectance[i] = l.param(nominal)
	}
	cover := Param{Name: "installation.cover_glass.retained", nominal: 1}
	if c := p.Cover; c != nil && c.Retained.Set {
		cover = stated(cover.Name, c.Retained.SI, c.Retained)
	} else if c != nil && c.Condition.S == project.CoverWet {
		cover.nominal, cover.Lo, cover.Hi, cover.Drawn = wetCoverRetained, 0.75, 1, true
	} else if c != nil {
		cover.Lo, cover.Hi, cover.Drawn = 0.95, 1, true
	}
	l.Param.CoverRetained = l.param(cover)
}

// Panes returns the panes of the tank for some parameters; those that the design does not state are clean.
func (l *Lamp) Panes(p Params) (out [4]light.Pane) {
	for i, pane := range l.Design.Installation.Panes.All() {
		kept := p[l.Param.PanesRetained]
		if pane != nil {
			out[i] = light.Pane{
				Backing: backings[pane.Condition.S], Reflectance: p[l.Param.PaneReflectance[i]],
				BinderIndex: pane.RefractiveIndex.SI,
			}
			if pane.Retained.Set {
				kept *= pane.Retained.SI
			}
		}
		out[i].Loss = 1 - kept
	}
	return out
}

// CoverGlass returns the cover glass of the tank for some parameters; the zero value where there is none.
func (l *Lamp) CoverGlass(p Params) light.Cover {
	c := l.Design.Installation.Cover
	if c == nil {
		return light.Cover{}
	}
	return light.Cover{
		ThicknessM: c.Thickness.SI, Index: c.RefractiveIndex.SI, PerM: c.Absorption.SI,
		Loss: 1 - p[l.Param.CoverRetained],
	}
}

// CoveredPanes lists the panes that are not clean glass, as "back: paint".
func (l *Lamp) CoveredPanes() (out []string) {
	for i, pane := range l.Design.Installation.Panes.All() {
		if pane != nil && pane.Condition.S != project.PaneClean {
			out = append(out, project.PaneNames[i]+": "+string(pane.Condition.S))
		}
	}
	return out
}

// UnstatedPanes lists the panes of a tank of whose condition the design says nothing.
func (l *Lamp) UnstatedPanes() (out []string) {
	if l.Design.Installation.Kind.S != project.Tank {
		return nil
	}
	for i, pane := range l.Design.Installation.Panes.All() {
		if pane == nil {
			out = append(out, project.PaneNames[i])
		}
	}
	return out
}
