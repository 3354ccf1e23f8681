package engine

import (
	"context"
	"fmt"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/spectrum"
)

// TubeLight is the light of the tubes of the replaced lamp in the installation, when new.
type TubeLight struct {
	Row         *lamp.TubeRow
	OutputRatio float64 // light output ratio of tubes and reflector
	Target      PlaneSolution
	Surface     *PlaneSolution // nil where there is no water
	Spill       float64        // fraction of the light of tubes and reflector that misses the place
	Notes       []string
}

// TubeLight returns the light of the tubes of the replaced lamp by the unit responses of their points; nil where the
// design does not state where they hang. of is the light of the lamps when new.
//
// Unit responses depend on the place, the tubes, their reflector and the shape of their spectrum, not on flux, age or
// the currents of the designed lamp: a Solver with a memory solves them once.
func (s *System) TubeLight(ctx context.Context, of *colour.ReplacedLight, o Options) (*TubeLight, error) {
	row, err := s.Lamp.Tubes()
	if err != nil || row == nil {
		return nil, err
	}
	t, err := TankOf(s.Lamp)
	if err != nil {
		return nil, fmt.Errorf("light in the installation: %w", err)
	}
	radiantW, unit := of.New.RadiantW(), of.Unit
	in := LightInputs{
		Tank: t, Emitters: row.Emitters, Types: make([]int, len(row.Emitters)), Units: []spectrum.Spectrum{unit},
		UmolJ: []float64{unit.PhotonUmolS(400, 700)}, LmW: []float64{unit.LuminousLm()}, CellM: o.CellEdgeM(s.Lamp),
	}
	u, err := s.Solver.Light(ctx, in)
	if err != nil {
		return nil, fmt.Errorf("tubes of the replaced lamp: %w", err)
	}
	n := len(row.Emitters)
	out := &TubeLight{
		Row: row, OutputRatio: row.Reflector.OutputRatio(row.Reflector.Returned), Notes: slices.Clip(u.Notes),
	}
	watts := slices.Repeat([]float64{radiantW * out.OutputRatio / float64(n)}, n)
	out.Target = u.Target.sum(watts, watts)
	if u.Surface != nil {
		surface := u.Surface.sum(watts, watts)
		out.Surface = &surface
	}
	for i := range u.Shares {
		out.Spill += u.Shares[i].Spill / float64(n)
	}
	if row.Coarse {
		out.Notes = append(out.Notes, fmt.Sprintf("each tube is split into %d points, which are farther apart than "+
			"the distance to the target permits: uniformity is too low", row.Points))
	}
	return out, nil
}
