package project

import (
	"lampwright/internal/source"
)

// PaneCondition is what is on or behind a pane of a tank.
type PaneCondition string

// Words of PaneCondition.
const (
	PaneClean      PaneCondition = "clean"
	PanePaint      PaneCondition = "paint"
	PanePaper      PaneCondition = "paper"
	PaneBackground PaneCondition = "background"
)

// Values lists the words.
func (PaneCondition) Values() []string { return words(PaneClean, PanePaint, PanePaper, PaneBackground) }

// CoverCondition is the state of a cover glass.
type CoverCondition string

// Words of CoverCondition.
const (
	CoverDry CoverCondition = "dry"
	CoverWet CoverCondition = "wet"
)

// Values lists the words.
func (CoverCondition) Values() []string { return words(CoverDry, CoverWet) }

// Cleaning is how often the glass of a tank is cleaned.
type Cleaning string

// Words of Cleaning.
const (
	CleanedWeekly  Cleaning = "weekly"
	CleanedMonthly Cleaning = "monthly"
	CleanedRarely  Cleaning = "rarely"
)

// Values lists the words.
func (Cleaning) Values() []string { return words(CleanedWeekly, CleanedMonthly, CleanedRarely) }

// Panes states what is on or behind each glass wall of a tank.
type Panes struct {
	Left  *Pane `yaml:"left" doc:"pane at the left, negative x"`
	Right *Pane `yaml:"right" doc:"pane at the right, positive x"`
	Front *Pane `yaml:"front" doc:"pane at the front, negative y"`
	Back  *Pane `yaml:"back" doc:"pane at the back, positive y"`
}

// PaneNames are the names of the panes, in the order of their positions in Panes.All.
var PaneNames = [4]string{"left", "right", "front", "back"}

// All returns the panes in the order of PaneNames; nil where one is not stated, or where none is.
func (p *Panes) All() [4]*Pane {
	if p == nil {
		return [4]*Pane{}
	}
	return [4]*Pane{p.Left, p.Right, p.Front, p.Back}
}

// Pane is one glass wall.
type Pane struct {
	Condition       source.Choice[PaneCondition] `yaml:"condition" need:"yes" doc:"clean: bare glass with air behind it; paint: paint or film on the outside that wets the glass, which ends its total reflection; paper: paper or board behind a layer of air, which leaves total reflection; background: a matt plate in the tank, in front of the glass"`
	Reflectance     source.Value                 `yaml:"reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"diffuse reflectance of pigment, paper or background: black 4 %, grey 20 %, white 80 %; without effect on clean glass" eg:"4 %"`
	RefractiveIndex source.Value                 `yaml:"refractive_index" dim:"none" min:">=1.2" max:"<=1.8" doc:"refractive index of the binder of paint or of the adhesive of a film, without effect otherwise; 1.5 where it is not given" eg:"1.5"`
	Retained        source.Value                 `yaml:"retained" dim:"ratio" min:">=10 %" max:"<=100 %" doc:"fraction that algae, lime and trims leave of the light that the pane returns; 100 % where it is not given" eg:"97 %"`
}

// CoverGlass is a clear plate on the rim.
type CoverGlass struct {
	Thickness       source.Value                  `yaml:"thickness" dim:"length" need:"yes" min:">0" max:"<=50 mm" doc:"thickness of the plate" eg:"4 mm"`
	Condition       source.Choice[CoverCondition] `yaml:"condition" need:"yes" doc:"dry, or wet with condensation on its underside"`
	RefractiveIndex source.Value                  `yaml:"refractive_index" dim:"none" min:">=1.3" max:"<=1.8" doc:"refractive index; 1.52, soda-lime glass, where it is not given" eg:"1.52"`
	Absorption      source.Value                  `yaml:"absorption" dim:"absorption" min:">=0 1/m" max:"<=100 1/m" doc:"absorption coefficient, natural logarithm: low-iron glass 1 1/m, green float glass 5 1/m; none where it is not given" eg:"3 1/m"`
	Retained        source.Value                  `yaml:"retained" dim:"ratio" min:">=10 %" max:"<=100 %" doc:"fraction that drops, lime and dust leave of the light that passes; 100 % dry and 90 % wet (rule of thumb, no source) where it is not given" eg:"95 %"`
}

// Maintenance is how the lamp is kept clean, and what light that leaves; for how long is the service life.
type Maintenance struct {
	LensCleaning  source.Value            `yaml:"lens_cleaning" dim:"time" min:">=1 d" max:"<=30 years" doc:"interval at which lenses and cover glass are cleaned; 1 year where it is not given" eg:"3 months"`
	GlassCleaning source.Choice[Cleaning] `yaml:"glass_cleaning" doc:"how often algae and film are wiped off the panes of a tank; monthly where it is not given"`
	Lumen         source.Value            `yaml:"lumen_maintenance" dim:"ratio" min:">0 %" max:"<=100 %" doc:"luminous flux of the emitters at the end of the service life over that when new (f_LF, LLMF), by TM-21 at their temperature; estimated where it is not given" eg:"90 %"`
	Luminaire     source.Value            `yaml:"luminaire_maintenance" dim:"ratio" min:">0 %" max:"<=100 %" doc:"light that dirt on lenses and cover glass leaves before cleaning (f_LM, LMF), as measured; estimated by lens_cleaning where it is not given" eg:"92 %"`
	Surface       source.Value            `yaml:"surface_maintenance" dim:"ratio" min:">0 %" max:"<=100 %" doc:"light that film on panes and water leaves before cleaning (f_SM, RMF), as measured; estimated by glass_cleaning where it is not given" eg:"90 %"`
}

// panes complains of what cannot be on the glass of an installation.
func (c *checker) panes(p *Installation) {
	bench := p.Kind.S == Bench
	for i, pane := range p.Panes.All() {
		if pane == nil {
			continue
		}
		name, at := PaneNames[i], pane.Condition.At
		switch {
		case bench:
			c.add(at, "remove `panes`", "a bench has no %s pane", name)
		case pane.Condition.Set && pane.Condition.S != PaneClean && !pane.Reflectance.Given():
			c.add(at, "add `reflectance`: black 4 %, grey 20 %, white 80 %",
				"the %s pane has %s of unknown reflectance", name, pane.Condition.S)
		}
	}
	cover := p.Cover
	if cover == nil {
		return
	}
	at := cover.Thickness.At
	rise := max(p.Water.SI, p.Substrate.SI) + p.Hanging.SI
	switch {
	case bench:
		c.add(at, "remove `cover_glass`", "a bench has no rim for a cover glass")
	case p.Hanging.Set && p.Inside.Height.Set && rise <= p.Inside.Height.SI+cover.Thickness.SI:
		c.add(at, "hang the lamp above it, or remove `cover_glass`",
			"the lenses are %.4g mm over the bottom, below the top of the cover glass at %.4g mm", 1e3*rise,
			1e3*(p.Inside.Height.SI+cover.Thickness.SI))
	}
}
