package casefile

import (
	"fmt"
	"math"
)

// limits are what numbers of a case may be. They are wide: what lies beyond is a slip of the unit, and would cost time and
// digits without an answer.
const (
	farM           = 10.0 // places and lengths
	thinM          = 1e-9 // layers
	narrowM        = 1e-6 // sources, submounts, holes, pieces
	mostK          = 1e6  // conductivity [W/(m·K)]
	leastK         = 1e-6
	maxCoefficient = 1e9 // [W/(m²·K)]
	minCoefficient = 1e-9
	mostR          = 1e3  // specific resistance [m²·K/W]
	mostW          = 1e9  // power
	mostRhoC       = 1e12 // density times specific heat [J/(m³·K)]
	leastRhoC      = 1e-3
	mostTimeS      = 1e10
	leastS         = 1e-6
	mostTempC      = 1e5
)

// bounds finds the first number of a case that no board has; path is where it looks.
type bounds struct {
	path string
	err  error
}

func (c *bounds) fail(format string, a ...any) {
	if c.err == nil {
		c.err = at(c.path, fmt.Errorf(format, a...))
	}
}

// in sets the path of the numbers that follow.
func (c *bounds) in(format string, a ...any) { c.path = fmt.Sprintf(format, a...) }

func (c *bounds) atMost(what string, most float64, v ...float64) {
	for _, x := range v {
		if !(math.Abs(x) <= most) {
			c.fail("%s is %g; at most %g is allowed", what, x, most)
		}
	}
}

// from bounds numbers from below that are given at all.
func (c *bounds) from(what string, least float64, v ...float64) {
	for _, x := range v {
		if x != 0 && math.Abs(x) < least {
			c.fail("%s is %g; at least %g is allowed", what, x, least)
		}
	}
}

func (c *bounds) area(what string, a *heatArea) {
	c.atMost(what, farM, a.X, a.Y, a.WX, a.WY, a.Radius)
	c.from(what, narrowM, a.WX, a.WY, a.Radius)
	c.points(what, a.Points)
	if kinds := btoi(len(a.Points) > 0) + btoi(a.Radius != 0) + btoi(a.WX != 0 || a.WY != 0); kinds > 1 {
		c.fail("%s is of several kinds; give wx and wy, or radius, or points", what)
	}
	if len(a.Points) == 0 && a.Radius == 0 && (a.WX == 0 || a.WY == 0) {
		c.fail("%s has no area; give wx and wy, or radius, or points", what)
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (c *bounds) points(what string, p [][2]float64) {
	if len(p) > maxPoints {
		c.fail("%s has %d points; at most %d are read", what, len(p), maxPoints)
	}
	for _, q := range p {
		c.atMost("a point of "+what, farM, q[0], q[1])
	}
}

// limits reports the first number that is beyond what a board can have.
func (f *heatCase) limits() error {
	var c bounds
	f.boardLimits(&c)
	for i := range f.Layers {
		c.in("layers[%d]", i)
		f.Layers[i].limits(&c)
	}
	c.in("top")
	f.Top.limits(&c)
	c.in("back")
	f.Back.limits(&c)
	if s := f.Sink; s != nil {
		c.in("sink")
		c.atMost("G of the sink", maxCoefficient, s.G)
		c.from("G of the sink", minCoefficient, s.G)
		c.atMost("C of the sink", mostRhoC, s.C)
	}
	for i := range f.Sources {
		c.in("sources[%d]", i)
		f.Sources[i].limits(&c)
	}
	for i := range f.Probes {
		c.in("probes[%d]", i)
		c.atMost(fmt.Sprintf("position of probe %q", f.Probes[i].Name), farM, f.Probes[i].X, f.Probes[i].Y, f.Probes[i].Z)
	}
	for i, t := range f.Times {
		c.in("times[%d]", i)
		c.atMost("time", mostTimeS, t)
		c.from("time", leastS, t)
	}
	if t := f.TAmbient; t != nil {
		c.in("T_ambient_C")
		c.atMost("temperature", mostTempC, *t)
	}
	if t := f.TInitial; t != nil {
		c.in("T_initial_C")
		c.atMost("temperature", mostTempC, *t)
	}
	return c.err
}

func (f *heatCase) boardLimits(c *bounds) {
	b := &f.Board
	c.in("board")
	c.atMost("size of the board", farM, b.LX, b.LY, b.Radius)
	c.from("size of the board", narrowM, b.LX, b.LY, b.Radius)
	c.points("the board", b.Points)
	for i := range b.Holes {
		c.in("board.holes[%d]", i)
		c.area(fmt.Sprintf("hole %d", i+1), &b.Holes[i])
	}
}

func (l *heatLayer) limits(c *bounds) {
	of := func(what string) string { return fmt.Sprintf("%s of layer %q", what, l.Name) }
	c.atMost(of("thickness"), farM, l.T)
	c.from(of("thickness"), thinM, l.T)
	for _, k := range []*float64{l.K, l.KXY, l.KZ} {
		if k != nil {
			c.atMost(of("conductivity"), mostK, *k)
			c.from(of("conductivity"), leastK, *k)
		}
	}
	if l.Vias != nil {
		c.atMost(of("k_z in the vias"), mostK, l.Vias.KZ)
		c.from(of("k_z in the vias"), leastK, l.Vias.KZ)
		for k := range l.Vias.Areas {
			c.area(fmt.Sprintf("vias %d of layer %q", k+1, l.Name), &l.Vias.Areas[k])
		}
	}
	c.atMost(of("r_below"), mostR, l.RBelow)
	c.atMost(of("rho times cp"), mostRhoC, l.Rho*l.Cp, l.Rho, l.Cp)
	c.from(of("rho times cp"), leastRhoC, l.Rho*l.Cp)
}

func (f *heatFace) limits(c *bounds) {
	c.atMost("heat transfer coefficient", maxCoefficient, f.H)
	c.from("heat transfer coefficient", minCoefficient, f.H)
	for i, p := range f.patches() {
		c.area(fmt.Sprintf("patch %d", i+1), &p.heatArea)
		for _, h := range []*float64{p.H, p.HContact} {
			if h != nil {
				c.atMost("heat transfer coefficient of a patch", maxCoefficient, *h)
				c.from("heat transfer coefficient of a patch", minCoefficient, *h)
			}
		}
	}
}

func (s *heatSource) limits(c *bounds) {
	of := func(what string) string { return fmt.Sprintf("%s of source %q", what, s.Name) }
	c.atMost(of("position"), farM, s.X, s.Y)
	c.atMost(of("size"), farM, s.WX, s.WY)
	c.from(of("size"), narrowM, s.WX, s.WY)
	c.atMost(of("power"), mostW, s.P)
	if m := s.Submount; m != nil {
		c.atMost(of("submount"), farM, m.WX, m.WY, m.T)
		c.from(of("submount"), narrowM, m.WX, m.WY)
		c.from(of("thickness of the submount"), thinM, m.T)
		c.atMost(of("conductivity of the submount"), mostK, m.K)
		c.from(of("conductivity of the submount"), leastK, m.K)
		c.atMost(of("r_attach"), mostR, m.R)
		c.atMost(of("rho times cp of the submount"), mostRhoC, m.Rho*m.Cp, m.Rho, m.Cp)
	}
}
