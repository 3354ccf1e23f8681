package heat

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// casesDeep is how deep a case may be nested: a corner of a via of a layer lies seven deep.
const casesDeep = 20

// onceEach makes sure that no key of a document stands twice in one object: the reader would take the last and say nothing.
// Keys that differ in case alone are the same to it.
func onceEach(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	type level struct {
		object bool
		key    bool // a key is due
		seen   map[string]bool
	}
	var stack []level
	value := func() {
		if n := len(stack) - 1; n >= 0 && stack[n].object {
			stack[n].key = true
		}
	}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		n := len(stack) - 1
		switch v := tok.(type) {
		case json.Delim:
			switch v {
			case '{', '[':
				if len(stack) == casesDeep {
					return fmt.Errorf("nested more than %d deep", casesDeep)
				}
				stack = append(stack, level{object: v == '{', key: v == '{', seen: map[string]bool{}})
			default:
				stack = stack[:n]
				value()
			}
		case string:
			if n >= 0 && stack[n].object && stack[n].key {
				k := strings.ToLower(v)
				if stack[n].seen[k] {
					return fmt.Errorf("the key %q stands twice", v)
				}
				stack[n].seen[k], stack[n].key = true, false
				continue
			}
			value()
		default:
			value()
		}
	}
}

// readable puts the decoder's errors into words of the case.
func readable(err error) error {
	var wrong *json.UnmarshalTypeError
	if !errors.As(err, &wrong) {
		return fmt.Errorf("%s (docs/cases-heat.md lists the keys)", strings.TrimPrefix(err.Error(), "json: "))
	}
	due := wrong.Type.String()
	switch kind := wrong.Type.Kind().String(); {
	case strings.HasPrefix(kind, "float"):
		due = "a number"
	case kind == "struct", kind == "map":
		due = "an object"
	case kind == "slice", kind == "array":
		due = "a list"
	case kind == "string":
		due = "a text"
	}
	return fmt.Errorf("%s is a JSON %s, and %s is due there", wrong.Field, wrong.Value, due)
}

// limits are what numbers of a case may be. They are wide: what lies beyond is a slip of the unit, and would cost time and
// digits without an answer.
const (
	farM      = 10.0 // places and lengths
	thinM     = 1e-9 // layers
	narrowM   = 1e-6 // sources, submounts, holes, pieces
	mostK     = 1e6  // conductivity [W/(m·K)]
	leastK    = 1e-6
	mostFilm  = 1e9 // [W/(m²·K)]
	leastFilm = 1e-9
	mostR     = 1e3  // specific resistance [m²·K/W]
	mostW     = 1e9  // power
	mostRhoC  = 1e12 // density times specific heat [J/(m³·K)]
	leastRhoC = 1e-3
	mostTimeS = 1e10
	leastS    = 1e-6
	mostTempC = 1e5
)

// bounds finds the first number of a case that no board has.
type bounds struct{ err error }

func (c *bounds) most(what string, most float64, v ...float64) {
	for _, x := range v {
		if c.err == nil && !(math.Abs(x) <= most) {
			c.err = fmt.Errorf("%s is %g; at most %g is taken", what, x, most)
		}
	}
}

// from bounds numbers from below that are given at all.
func (c *bounds) from(what string, least float64, v ...float64) {
	for _, x := range v {
		if c.err == nil && x != 0 && math.Abs(x) < least {
			c.err = fmt.Errorf("%s is %g; at least %g is taken", what, x, least)
		}
	}
}

func (c *bounds) area(what string, a *caseArea) {
	c.most(what, farM, a.X, a.Y, a.WX, a.WY, a.Radius)
	c.from(what, narrowM, a.WX, a.WY, a.Radius)
	c.points(what, a.Points)
	if kinds := btoi(len(a.Points) > 0) + btoi(a.Radius != 0) + btoi(a.WX != 0 || a.WY != 0); c.err == nil && kinds > 1 {
		c.err = fmt.Errorf("%s is of several kinds; give wx and wy, or radius, or points", what)
	}
	if c.err == nil && len(a.Points) == 0 && a.Radius == 0 && (a.WX == 0 || a.WY == 0) {
		c.err = fmt.Errorf("%s has no area; give wx and wy, or radius, or points", what)
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (c *bounds) points(what string, p [][2]float64) {
	if c.err == nil && len(p) > maxCasePoints {
		c.err = fmt.Errorf("%s has %d points; at most %d are read", what, len(p), maxCasePoints)
	}
	for _, q := range p {
		c.most("a point of "+what, farM, q[0], q[1])
	}
}

// limits tells the first number that lies beyond what a board can have.
func (f *caseFile) limits() error {
	var c bounds
	b := &f.Board
	c.most("size of the board", farM, b.LX, b.LY, b.Radius)
	c.from("size of the board", narrowM, b.LX, b.LY, b.Radius)
	c.points("the board", b.Points)
	for i := range b.Holes {
		c.area(fmt.Sprintf("hole %d", i+1), &b.Holes[i])
	}
	for i := range f.Layers {
		l := &f.Layers[i]
		of := func(what string) string { return fmt.Sprintf("%s of layer %q", what, l.Name) }
		c.most(of("thickness"), farM, l.T)
		c.from(of("thickness"), thinM, l.T)
		for _, k := range []*float64{l.K, l.KXY, l.KZ} {
			if k != nil {
				c.most(of("conductivity"), mostK, *k)
				c.from(of("conductivity"), leastK, *k)
			}
		}
		if l.Vias != nil {
			c.most(of("k_z in the vias"), mostK, l.Vias.KZ)
			c.from(of("k_z in the vias"), leastK, l.Vias.KZ)
			for k := range l.Vias.Areas {
				c.area(fmt.Sprintf("vias %d of layer %q", k+1, l.Name), &l.Vias.Areas[k])
			}
		}
		c.most(of("r_below"), mostR, l.RBelow)
		c.most(of("rho times cp"), mostRhoC, l.Rho*l.Cp, l.Rho, l.Cp)
		c.from(of("rho times cp"), leastRhoC, l.Rho*l.Cp)
	}
	for _, face := range []caseFace{f.Top, f.Back} {
		c.most("film coefficient", mostFilm, face.H)
		c.from("film coefficient", leastFilm, face.H)
		patches := face.Patches
		if face.Patch != nil {
			patches = append([]casePatch{*face.Patch}, patches...)
		}
		for i := range patches {
			p := &patches[i]
			c.area(fmt.Sprintf("patch %d", i+1), &p.caseArea)
			for _, h := range []*float64{p.H, p.HContact} {
				if h != nil {
					c.most("film coefficient of a patch", mostFilm, *h)
					c.from("film coefficient of a patch", leastFilm, *h)
				}
			}
		}
	}
	if s := f.Sink; s != nil {
		c.most("G of the sink", mostFilm, s.G)
		c.from("G of the sink", leastFilm, s.G)
		c.most("C of the sink", mostRhoC, s.C)
	}
	for i := range f.Sources {
		s := &f.Sources[i]
		of := func(what string) string { return fmt.Sprintf("%s of source %q", what, s.Name) }
		c.most(of("place"), farM, s.X, s.Y)
		c.most(of("size"), farM, s.WX, s.WY)
		c.from(of("size"), narrowM, s.WX, s.WY)
		c.most(of("power"), mostW, s.P)
		if m := s.Submount; m != nil {
			c.most(of("submount"), farM, m.WX, m.WY, m.T)
			c.from(of("submount"), narrowM, m.WX, m.WY)
			c.from(of("thickness of the submount"), thinM, m.T)
			c.most(of("conductivity of the submount"), mostK, m.K)
			c.from(of("conductivity of the submount"), leastK, m.K)
			c.most(of("r_attach"), mostR, m.R)
			c.most(of("rho times cp of the submount"), mostRhoC, m.Rho*m.Cp, m.Rho, m.Cp)
		}
	}
	for i := range f.Probes {
		c.most(fmt.Sprintf("place of probe %q", f.Probes[i].Name), farM, f.Probes[i].X, f.Probes[i].Y, f.Probes[i].Z)
	}
	c.most("time", mostTimeS, f.Times...)
	c.from("time", leastS, f.Times...)
	for _, t := range []*float64{f.TAmbient, f.TInitial} {
		if t != nil {
			c.most("temperature", mostTempC, *t)
		}
	}
	return c.err
}
