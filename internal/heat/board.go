package heat

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/geom"
)

// errNoWayOut is the one thing no steady state survives.
var errNoWayOut = errors.New("no film, patch or sink carries heat away, so there is no steady state; give a film coefficient or a sink above zero")

// Layer is one layer of a board. Layers are listed from the top.
type Layer struct {
	Name       string
	ThicknessM float64
	KWmK       float64 // conductivity in the plane [W/(m·K)]
	KzWmK      float64 // and through it; 0 means as in the plane
	JointM2KW  float64 // specific resistance of the joint under the layer [m²·K/W]
	// DensityKgM3 and HeatJkgK matter in time only.
	DensityKgM3, HeatJkgK float64
	// Cover lists where the layer is; nil means everywhere. Elsewhere the layer has the share Rest of its material
	// (0 is none: what lies below is then the surface).
	Cover []geom.Shape
	Rest  float64
}

func (l *Layer) kz() float64 {
	if l.KzWmK == 0 {
		return l.KWmK
	}
	return l.KzWmK
}

// label names a layer in a message.
func (l *Layer) label(i int) string {
	if l.Name == "" {
		return fmt.Sprintf("%d", i+1)
	}
	return fmt.Sprintf("%d (%q)", i+1, l.Name)
}

func (l *Layer) check(i int) error {
	bad := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	switch {
	case !(l.ThicknessM > 0) || bad(l.ThicknessM):
		return fmt.Errorf("layer %s has thickness %g m; it must be above zero", l.label(i), l.ThicknessM)
	case !(l.KWmK > 0) || bad(l.KWmK):
		return fmt.Errorf("layer %s has conductivity %g W/(m·K); it must be above zero", l.label(i), l.KWmK)
	case l.KzWmK < 0 || bad(l.KzWmK):
		return fmt.Errorf("layer %s has conductivity %g W/(m·K) through it; it must be above zero", l.label(i), l.KzWmK)
	case l.JointM2KW < 0 || bad(l.JointM2KW):
		return fmt.Errorf("the joint under layer %s has resistance %g m²·K/W; it must not be negative", l.label(i), l.JointM2KW)
	case l.DensityKgM3 < 0 || l.HeatJkgK < 0 || bad(l.DensityKgM3) || bad(l.HeatJkgK):
		return fmt.Errorf("layer %s has a negative density or heat capacity", l.label(i))
	case l.Rest < 0 || l.Rest > 1 || bad(l.Rest):
		return fmt.Errorf("layer %s keeps the share %g outside its pieces; it must be 0 to 1", l.label(i), l.Rest)
	}
	for k, s := range l.Cover {
		if err := s.Check(); err != nil {
			return fmt.Errorf("piece %d of layer %s: %w", k+1, l.label(i), err)
		}
	}
	return nil
}
