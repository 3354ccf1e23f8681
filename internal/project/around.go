package project

import (
	"math"

	"lampwright/internal/source"
)

// Around describes the place beyond its dimensions. All of it is optional. Water and the slope of the substrate
// count everywhere; ripples, surroundings, shade, viewer and meters count where the light is traced.
type InstallationDetails struct {
	WaterTransmittance *WaterTransmittance `yaml:"water_transmittance" doc:"colour of the water as measured, in place of water_tint"`
	BlackDiscRange     source.Value        `yaml:"black_disc_range" dim:"length" min:">=50 mm" doc:"turbidity of the water: how far away a black disc, held under water and looked at level, just disappears; free of particles where it is not given" eg:"3 m"`
	SurfaceSlopeRMS    source.Value        `yaml:"surface_slope_rms" dim:"angle" min:">=0 deg" max:"<=20 deg" doc:"root mean square tilt of the water surface, about 1 deg with a weak and 5 deg with a strong outlet; flat where it is not given" eg:"3 deg"`
	Slope              *Slope              `yaml:"substrate_slope" doc:"how the substrate rises; substrate_depth is then its thickness in the middle"`
	Panes              *Panes              `yaml:"panes" doc:"what is on or behind the glass walls of a tank; a pane that is not stated counts as clean, and the review asks for it"`
	Cover              *CoverGlass         `yaml:"cover_glass" doc:"a clear plate on the rim; none where it is not given"`
	Maintenance        *Maintenance        `yaml:"maintenance" doc:"cleaning and what light it leaves, for the light before the next cleaning at the end of the service life"`
	Room               *Room               `yaml:"room" doc:"the room about the place, for the light that spills into it"`
	Shade              *Shade              `yaml:"shade" doc:"an upright frame about the lamp that keeps its light off walls and eyes"`
	Viewer             *Viewer             `yaml:"viewer" doc:"the eye of somebody who looks at the lamp from a seat, for glare in the traced light; the eye straight under the lamp, for blue light, is viewer_distance"`
	Meters             []PointMeter        `yaml:"meters" doc:"places at which a lux or PAR meter is read"`
}

// WaterLoss is what a meter says of the water.
type WaterTransmittance struct {
	Transmittance source.Value             `yaml:"transmittance" dim:"ratio" need:"yes" min:">0 %" max:"<=100 %" doc:"fraction of the light that comes through that length of the water, without what surfaces send back" eg:"85 %"`
	PathLength    source.Value             `yaml:"path_length" dim:"length" need:"yes" min:">0" max:"<=10 m" doc:"length of water between the two readings" eg:"300 mm"`
	Meter         source.Choice[MeterKind] `yaml:"meter" doc:"what was read, under this lamp; lux where it is not given"`
}

// Slope is the tilt of the substrate along both sides of the tank.
type Slope struct {
	Length source.Value `yaml:"length" dim:"angle" min:">=-45 deg" max:"<=45 deg" doc:"rise along x" eg:"0 deg"`
	Width  source.Value `yaml:"width" dim:"angle" min:">=-45 deg" max:"<=45 deg" doc:"rise along y, front to back" eg:"8 deg"`
}

// Surroundings is the room the place is in, a box with matt faces.
type Room struct {
	Length             source.Value `yaml:"length" dim:"length" need:"yes" min:">0" max:"<=100 m" doc:"along x" eg:"4 m"`
	Width              source.Value `yaml:"width" dim:"length" need:"yes" min:">0" max:"<=100 m" doc:"along y" eg:"3 m"`
	Height             source.Value `yaml:"height" dim:"length" need:"yes" min:">0" max:"<=50 m" doc:"from floor to ceiling" eg:"2.5 m"`
	HeightAboveFloor   source.Value `yaml:"height_above_floor" dim:"length" min:">=0 mm" max:"<=10 m" doc:"how high the place is over the floor; on it where it is not given" eg:"750 mm"`
	At                 source.Point `yaml:"at" doc:"centre of the place from the centre of the room; in the middle where it is not given" eg:"[0 mm, 1.2 m]"`
	FloorReflectance   source.Value `yaml:"floor_reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"fraction of the light that it sends back; 20 %, a wooden floor, where it is not given" eg:"20 %"`
	WallReflectance    source.Value `yaml:"wall_reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"likewise; 50 % where it is not given" eg:"50 %"`
	CeilingReflectance source.Value `yaml:"ceiling_reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"likewise; 70 % where it is not given" eg:"70 %"`
}

// Shade is four upright plates about the lamp, open above and below.
type Shade struct {
	Length      source.Value `yaml:"length" dim:"length" need:"yes" min:">0" doc:"inside, along x" eg:"300 mm"`
	Width       source.Value `yaml:"width" dim:"length" need:"yes" min:">0" doc:"inside, along y" eg:"200 mm"`
	Below       source.Value `yaml:"below" dim:"length" need:"yes" min:">0" doc:"how far it reaches down below the front of the lenses" eg:"60 mm"`
	Above       source.Value `yaml:"above" dim:"length" min:">=0 mm" doc:"how far it reaches up from there; 20 mm where it is not given" eg:"20 mm"`
	Reflectance source.Value `yaml:"reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"of its faces, matt; 5 %, black, where it is not given" eg:"5 %"`
}

// Viewer is an eye that looks at the lamp.
type Viewer struct {
	At     source.Point `yaml:"at" need:"yes" doc:"from the centre of the place; y is negative in front of it" eg:"[0 mm, -1 m]"`
	Height source.Value `yaml:"height" dim:"length" need:"yes" min:">=-10 m" max:"<=10 m" doc:"of the eye over the inside bottom of the tank, or over the bench" eg:"400 mm"`
}

// PointMeter is a small cosine-corrected meter.
type PointMeter struct {
	Name   source.Text           `yaml:"name" need:"yes" doc:"what you call the place" eg:"foreground, left"`
	At     source.Point          `yaml:"at" need:"yes" doc:"from the centre of the place" eg:"[-200 mm, -100 mm]"`
	Height source.Value          `yaml:"height" dim:"length" need:"yes" min:">=-10 m" max:"<=10 m" doc:"over the inside bottom of the tank, or over the bench" eg:"60 mm"`
	Facing source.Choice[Facing] `yaml:"facing" doc:"where its white disc looks; up where it is not given"`
}

// RiseM returns how far the substrate rises along each side of the tank for each metre [1].
func (a *InstallationDetails) RiseM() (x, y float64) {
	if a.Slope == nil {
		return 0, 0
	}
	return math.Tan(a.Slope.Length.SI), math.Tan(a.Slope.Width.SI)
}

// around complains of what cannot be about a place. It looks only at values that were given.
func (c *checker) around(p *Installation) {
	c.panes(p)
	water := p.Water.SI > 0
	if l := p.WaterTransmittance; l != nil {
		if p.WaterTint.Set {
			c.add(
				l.Transmittance.At, "keep one of them",
				"water_transmittance and water_tint both give the colour of the water",
			)
		}
		if !water {
			c.add(l.Transmittance.At, "add water_depth", "water_transmittance is given, and there is no water")
		}
	}
	if p.BlackDiscRange.Set && !water {
		c.add(p.BlackDiscRange.At, "add water_depth", "black_disc_range is given, and there is no water")
	}
	if p.SurfaceSlopeRMS.SI > 0 && !water {
		c.add(p.SurfaceSlopeRMS.At, "add water_depth", "there is no water to ripple")
	}
	c.slope(p)
	c.shade(p)
	c.surroundings(p)
	glass := p.Glass.SI
	inTank := func(at source.Point, height, more float64) bool {
		return p.Kind.S == Tank && p.Inside.Height.Set && math.Abs(at.X.SI) < p.Inside.Length.SI/2+more &&
			math.Abs(at.Y.SI) < p.Inside.Width.SI/2+more && height > -more && height < p.Inside.Height.SI
	}
	if e := p.Viewer; e != nil {
		if inTank(e.At, e.Height.SI, glass) {
			c.add(
				e.Height.At, "in front of it y is negative, such as at: [0 mm, -1 m]",
				"the viewer's eye lies in the tank",
			)
		}
		c.inRoom(p, e.At, e.Height, "the viewer's eye")
	}
	names := map[string]bool{}
	for i := range p.Meters {
		m := &p.Meters[i]
		c.distinct(names, m.Name, "meter", "give each its own name")
		if m.Height.Set && m.At.At != (source.Pos{}) && !inTank(m.At, m.Height.SI, 0) &&
			inTank(m.At, m.Height.SI, glass) {
			c.add(m.Height.At, "inside the tank, or outside of its panes", "meter %q lies in the glass", m.Name.S)
		}
		x, y := p.RiseM()
		ground := p.Substrate.SI + x*m.At.X.SI + y*m.At.Y.SI
		if m.Height.Set && p.Kind.S == Tank && inTank(m.At, m.Height.SI, 0) && m.Height.SI < ground-1e-9 {
			c.add(
				m.Height.At, "height counts from the inside bottom",
				"meter %q lies in the substrate, which is %.4g mm high there", m.Name.S, 1e3*ground,
			)
		}
		c.inRoom(p, m.At, m.Height, "meter \""+m.Name.S+"\"")
	}
}

func (c *checker) slope(p *Installation) {
	if p.Slope == nil {
		return
	}
	x, y := p.RiseM()
	at := p.Slope.Width.At
	if !p.Slope.Width.Set {
		at = p.Slope.Length.At
	}
	reach := math.Abs(x)*p.Inside.Length.SI/2 + math.Abs(y)*p.Inside.Width.SI/2
	top := p.Substrate.SI + reach
	switch {
	case reach == 0:
	case p.Kind.S == Bench:
		c.add(at, "leave substrate_slope out", "a bench is level")
	case reach > p.Substrate.SI+1e-9:
		c.add(at, "substrate_depth is the thickness in the middle; make it larger, or the slope smaller", "the substrate would fall %.3g mm below the bottom of the tank", 1e3*(reach-p.Substrate.SI))
	case p.Inside.Height.Set && top >= p.Inside.Height.SI:
		c.add(at, "make the slope smaller", "the substrate rises to %.4g mm, over the panes", 1e3*top)
	}
}

// lensLevelM returns how high the lenses hang over the inside bottom.
func (p *Installation) lensLevelM() float64 {
	return math.Max(p.Water.SI, p.Substrate.SI) + p.Hanging.SI
}

func (c *checker) shade(p *Installation) {
	s := p.Shade
	if s == nil || !s.Below.Set || !p.Hanging.Set {
		return
	}
	edge := p.lensLevelM() - s.Below.SI
	inside := math.Abs(p.Offset.X.SI)-s.Length.SI/2 < p.Inside.Length.SI/2+p.Glass.SI && math.Abs(p.Offset.Y.SI)-s.Width.SI/2 < p.Inside.Width.SI/2+p.Glass.SI
	switch {
	case p.Kind.S == Tank && inside && p.Inside.Height.Set && edge < p.Inside.Height.SI:
		c.add(
			s.Below.At, "let it end above the rim", "the shade reaches %.4g mm below the rim of the tank",
			1e3*(p.Inside.Height.SI-edge),
		)
	case edge <= 0:
		c.add(s.Below.At, "", "the shade reaches through the %s", p.Kind.S)
	}
}

func (c *checker) surroundings(p *Installation) {
	s := p.Room
	if s == nil {
		return
	}
	for _, side := range []struct {
		room       source.Value
		size, away float64
		what       string
	}{{s.Length, p.Inside.Length.SI, s.At.X.SI, "long"}, {s.Width, p.Inside.Width.SI, s.At.Y.SI, "wide"}} {
		if side.room.Set && math.Abs(side.away)+side.size/2+p.Glass.SI > side.room.SI/2+1e-9 {
			c.add(
				side.room.At, "at is the centre of the place from the centre of the room",
				"the place does not fit into a room %.4g m %s", side.room.SI, side.what,
			)
		}
	}
	if top := s.HeightAboveFloor.SI + math.Max(p.Inside.Height.SI, p.lensLevelM()); s.Height.Set && p.Hanging.Set &&
		top >= s.Height.SI {
		c.add(
			s.Height.At, "height_above_floor is that of the tank or bench",
			"the lamp hangs %.4g m over the floor, and the ceiling is at %.4g m", top, s.Height.SI,
		)
	}
}

// inRoom complains where a point lies outside of the surroundings.
func (c *checker) inRoom(p *Installation, at source.Point, height source.Value, what string) {
	s := p.Room
	if s == nil || !height.Set || !s.Height.Set {
		return
	}
	x, y, z := at.X.SI+s.At.X.SI, at.Y.SI+s.At.Y.SI, height.SI+s.HeightAboveFloor.SI
	if math.Abs(x) >= s.Length.SI/2 || math.Abs(y) >= s.Width.SI/2 || z <= 0 || z >= s.Height.SI {
		c.add(
			height.At, "places count from the centre of the tank or bench, heights from its inside bottom",
			"%s lies outside of the room", what,
		)
	}
}
