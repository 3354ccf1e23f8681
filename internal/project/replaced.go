package project

import (
	"math"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// ReplacedLamp is tubes, or any other lamp, to compare with.
type ReplacedLamp struct {
	Name                source.Text             `yaml:"name" doc:"what you call it" eg:"the halide lamp"`
	Count               source.Whole            `yaml:"count" min:">=1" max:"<=1000" doc:"how many tubes or bulbs; 1 where it is not given" eg:"2"`
	Flux                source.Value            `yaml:"flux" dim:"flux" need:"yes" min:">0" doc:"of one, when new" eg:"5400 lm"`
	Power               source.Value            `yaml:"power" dim:"power" need:"yes" min:">0" doc:"of one, at the wall plug, its ballast included" eg:"79 W"`
	CCT                 source.Value            `yaml:"cct" dim:"cct" need:"yes" doc:"its colour temperature" eg:"6500 K"`
	LampType            source.Choice[LampType] `yaml:"lamp_type" doc:"how it makes its light; triphosphor, the common tube, where it is not given"`
	OperatingTime       source.Value            `yaml:"operating_time" dim:"time" min:">=0 h" doc:"how long it has burnt; new where it is not given" eg:"8000 h"`
	Tubes               *Tubes                  `yaml:"tubes" doc:"size and place of the tubes, or of the arcs of discharge lamps, for their PPFD in this installation"`
	Photoperiod         source.Value            `yaml:"photoperiod" dim:"time" min:">0 h" max:"<=24 h" doc:"time on per day; the photoperiod of the daily programme where it is not given" eg:"10 h"`
	Price               source.Value            `yaml:"price" dim:"money" min:">=0 EUR" doc:"of one new tube or bulb" eg:"9 EUR"`
	RatedLife           source.Value            `yaml:"rated_life" dim:"time" min:">=100 h" max:"<=200000 h" doc:"operating time after which a tube or bulb is replaced" eg:"16000 h"`
	ReplacementInterval source.Value            `yaml:"replacement_interval" dim:"time" min:">=1 week" max:"<=30 years" doc:"calendar time after which a tube or bulb is replaced; with rated_life, whichever comes first" eg:"12 months"`
	Disposal            source.Value            `yaml:"disposal_cost" dim:"money" min:">=0 EUR" doc:"of one old tube or bulb; none where it is not given" eg:"0.50 EUR"`
}

// Tubes is the size and the place of the tubes of a lamp that is replaced. They lie side by side along the length of
// the place, horizontally, at equal spacing.
type Tubes struct {
	Length      source.Value                 `yaml:"length" dim:"length" need:"yes" min:">=5 mm" max:"<=3 m" doc:"of the part that emits light, without end caps; of the arc of a discharge lamp that burns horizontally" eg:"1150 mm"`
	Diameter    source.Value                 `yaml:"diameter" dim:"length" min:">=2 mm" max:"<=100 mm" doc:"of the tube; 26 mm (T8) where it is not given" eg:"16 mm"`
	Height      source.Value                 `yaml:"height" dim:"length" min:">=20 mm" max:"<=20 m" doc:"from the axis of the tubes down to the water surface, or to the target where there is no water; hanging_height where it is not given" eg:"90 mm"`
	Spacing     source.Value                 `yaml:"spacing" dim:"length" min:">0" max:"<=50 m" doc:"from axis to axis, across the place; the width of the place divided by count where it is not given" eg:"60 mm"`
	Offset      source.Point                 `yaml:"offset" doc:"middle of all tubes from the centre of the place" eg:"[0 mm, 40 mm]"`
	Reflector   source.Choice[ReflectorKind] `yaml:"reflector" doc:"what is above the tubes: nothing, a white painted surface, or bright aluminium; none where it is not given"`
	Reflectance source.Value                 `yaml:"reflectance" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"of the reflector; painted 80 %, aluminium 86 % where it is not given" eg:"86 %"`
	Restrike    source.Value                 `yaml:"restrike" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"fraction of the reflected light that meets the tube again and is lost; painted 25 %, aluminium 15 % where it is not given" eg:"15 %"`
}

// maxTubes is the largest number of tubes whose light is computed.
const maxTubes = 16

// defaultTubeM is the diameter of a T8 tube.
const defaultTubeM = 26e-3

// DiameterM returns the diameter of a tube [m].
func (t *Tubes) DiameterM() float64 {
	if t.Diameter.Set {
		return t.Diameter.SI
	}
	return defaultTubeM
}

// HeightM returns the height of the axes above the water or the target [m].
func (t *Tubes) HeightM(p *Installation) float64 {
	if t.Height.Set {
		return t.Height.SI
	}
	return p.Hanging.SI
}

// SpacingM returns the distance of the axes of neighbours [m].
func (t *Tubes) SpacingM(p *Installation, count int) float64 {
	if t.Spacing.Set {
		return t.Spacing.SI
	}
	return p.Inside.Width.SI / float64(count)
}

// replacedLamp looks at the lamp to compare with: no wire glows white, and the model of white LEDs has its range.
func (c *checker) replacedLamp(d *Design) {
	o := d.ReplacedLamp
	if o == nil {
		return
	}
	switch k := o.CCT.SI; {
	case !o.CCT.Set:
	case o.LampType.S == Incandescent && k > 3500:
		c.add(o.CCT.At, "incandescent lamps have 2400 K to 3500 K", "no wire glows at %s", o.CCT.Text)
	case o.LampType.S == LED && (k < 2200 || k > 8000):
		c.add(o.CCT.At, "give 2200 K to 8000 K", "white LEDs of %s are not known here", o.CCT.Text)
	case k > 20000:
		c.add(o.CCT.At, "give 20000 K or less", "lamps of %s are not known here", o.CCT.Text)
	}
	lasts := o.RatedLife.Given() || o.ReplacementInterval.Given()
	for _, v := range []source.Value{o.Price, o.Disposal} {
		if v.Set && !lasts {
			c.add(v.At, "add rated_life, such as 16000 h, or replacement_interval, such as 12 months",
				"a price of tubes or bulbs, and not how long they last")
			break
		}
	}
	if o.Tubes != nil {
		c.tubes(o, &d.Installation)
	}
}

// tubes looks for tubes that overlap, that touch the water or the target, or that hang in the glass.
func (c *checker) tubes(o *ReplacedLamp, p *Installation) {
	t, count := o.Tubes, max(1, o.Count.N)
	if count > maxTubes {
		c.add(o.Count.At, "leave tubes out: flux and power are compared without them",
			"the light of %d tubes is not computed; at most %d", count, maxTubes)
		return
	}
	if t.Reflector.S == "" || t.Reflector.S == NoReflector {
		for _, v := range []source.Value{t.Reflectance, t.Restrike} {
			if v.Given() {
				c.add(v.At, "add reflector: painted, or reflector: aluminium",
					"a value of a reflector, and there is none")
				break
			}
		}
	}
	if !t.Length.Set || !p.Inside.Width.Set || !p.Hanging.Set {
		return
	}
	spacing := t.SpacingM(p, count)
	at := t.Length.At
	if t.Spacing.Set {
		at = t.Spacing.At
	}
	if count > 1 && spacing < t.DiameterM()*(1-1e-9) {
		c.add(at, "spacing is measured from axis to axis", "tubes of %s at a spacing of %s overlap",
			quantity.Format(t.DiameterM(), quantity.Length), quantity.Format(spacing, quantity.Length))
	}
	c.tubesHeight(t, p, spacing*float64(count-1))
}

// tubesHeight looks for tubes that touch what is below them, or that are below the rim and wider than the tank.
func (c *checker) tubesHeight(t *Tubes, p *Installation, acrossM float64) {
	at := t.Length.At
	if t.Height.Set {
		at = t.Height.At
	}
	level := math.Max(p.Water.SI, p.Substrate.SI)
	below := level
	if p.Water.SI == 0 {
		x, y := p.RiseM()
		below += math.Abs(x)*p.Inside.Length.SI/2 + math.Abs(y)*p.Inside.Width.SI/2
	}
	axis := level + t.HeightM(p)
	if axis-t.DiameterM()/2 < below+1e-3 {
		c.add(at, "raise the tubes: height is measured from their axis",
			"tubes of %s whose axis is %s above the water or the target touch it",
			quantity.Format(t.DiameterM(), quantity.Length), quantity.Format(axis-below, quantity.Length))
		return
	}
	if p.Kind.S != Tank || axis >= p.Inside.Height.SI {
		return
	}
	if t.Length.SI/2+math.Abs(t.Offset.X.SI) >= p.Inside.Length.SI/2 ||
		acrossM/2+math.Abs(t.Offset.Y.SI) >= p.Inside.Width.SI/2 {
		c.add(at, "raise the tubes above the rim, or shorten length, spacing or offset",
			"the tubes are below the rim and do not fit between the panes")
	}
}
