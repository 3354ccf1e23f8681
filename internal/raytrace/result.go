package raytrace

import (
	"context"
	"math"
	"sync"

	"lampwright/internal/light"
)

// Termination is where light ends.
type Termination int

// The terminations. With a Room, light that leaves the tank continues and ends elsewhere.
const (
	ToSpill       Termination = iota // missed the opening
	ToRim                            // left upwards through the rim, or absorbed there by a cover glass
	ToDryWall                        // left through walls above the water, or absorbed by what is on or behind them
	ToWetWall                        // the same below the water line
	ToCover                          // lamp light that a cover glass reflects or absorbs
	ToWater                          // absorbed by water
	ToGlass                          // absorbed in glass walls
	ToGlassEdge                      // reached an edge inside a thick glass wall
	ToSubstrate                      // absorbed by the substrate
	ToObject                         // absorbed by plates
	ToFloor                          // absorbed by the floor of the room
	ToRoomWall                       // by its walls
	ToCeiling                        // by its ceiling
	ToOutside                        // by the tank's underside and plinth
	NotTerminated                    // difference by Russian roulette, which ends faint paths: zero on average
	TerminationCount
)

var terminationNames = [TerminationCount]string{
	"spill light", "up through the rim", "glass above water", "glass below water", "cover glass", "water",
	"glass", "glass edges", "substrate", "objects", "floor", "room walls", "ceiling", "outside of the tank",
	"not terminated",
}

func (f Termination) String() string { return terminationNames[f] }

// Flow is light through or onto a surface; each passage counts.
type Flow int

// The flows.
const (
	ThroughOpening     Flow = iota // down through the rim
	OnWater                        // incident on the water surface from above (the target, if there is no water)
	IntoWater                      // transmitted into the water
	SubstrateDirect                // incident on the substrate straight from the lens
	SubstrateFirst                 // first arrival at the substrate
	SubstrateTotal                 // incident on the substrate, all orders
	UpThroughRim                   // leaves the tank upwards
	OutOfDryWalls                  // transmitted through (or absorbed at) walls above the water line
	OutOfWetWalls                  // the same below the water line
	BesideOpening                  // lamp light that misses the opening
	OnWaterDirect                  // incident on the surface straight from the lens
	UpLater                        // of UpThroughRim, after reflection at the substrate
	OutOfDryWallsLater             // of OutOfDryWalls, the same
	OutOfWetWallsLater             // of OutOfWetWalls, the same
	IntoWaterLater                 // absorbed by water after reflection at the substrate
	FlowCount
)

var flowNames = [FlowCount]string{
	"through the opening", "incident on water", "transmitted into water", "substrate, direct", "substrate, first arrival",
	"substrate, all reflections", "up through the rim", "out of glass above water", "out of glass below water",
	"beside the opening", "incident on water, direct", "up through the rim, after the substrate",
	"out of glass above water, after the substrate", "out of glass below water, after the substrate",
	"absorbed by water, after the substrate",
}

func (f Flow) String() string { return flowNames[f] }

// Estimate is a value with its standard error.
type Estimate struct {
	Value float64 `json:"value"`
	Err   float64 `json:"standard_error"`
}

// Map is the irradiance on one Receiver per watt of each group, with standard errors [1/m²].
type Map struct {
	Receiver  Receiver
	Response  light.Response // Emitters is the number of groups
	Err       []float64      // standard error of each value of Response.Data
	Direct    []float64      // part of it straight from the lens, as traced
	DirectErr []float64
	Mean      [][]Estimate // [group][band], over the whole grid
}

// Result is the result of Trace.
type Result struct {
	Groups, Bands int
	Paths         []int64 // of each group
	Segments      int64   // straight segments of the paths
	Maps          []Map
	Terminations  [][][TerminationCount]Estimate // [group][band]
	Flows         [][][FlowCount]Estimate        // [group][band]
	Complete      bool                           // false if stopped before the required paths or standard error
	Notes         []string
}

// Balance returns the sum of all terminations of a group in a band minus 1: the error of the energy balance [1].
func (t Result) Balance(group, band int) float64 {
	sum := -1.0
	for _, f := range t.Terminations[group][band] {
		sum += f.Value
	}
	return sum
}

// estimate returns the mean over n tiles and its standard error, both times scale.
func (m moments) estimate(n int, scale float64) Estimate {
	mean := m.sum / float64(n)
	e := Estimate{Value: mean * scale}
	if n > 1 {
		e.Err = math.Sqrt(math.Max(0, m.square/float64(n)-mean*mean)/float64(n-1)) * math.Abs(scale)
	}
	return e
}

// result returns the sums of all groups as estimates.
func (r *run) result(complete bool) Result {
	nb := len(r.bands)
	out := Result{Groups: len(r.groups), Bands: nb, Complete: complete, Notes: r.notes}
	for _, s := range r.sums {
		out.Paths = append(out.Paths, s.paths)
		out.Segments += s.segments
		ledger := make([][TerminationCount]Estimate, nb)
		passing := make([][FlowCount]Estimate, nb)
		for b := range nb {
			for f := range TerminationCount {
				ledger[b][f] = s.terminated[f][b].estimate(s.tiles, 1)
			}
			for f := range FlowCount {
				passing[b][f] = s.flow[f][b].estimate(s.tiles, 1)
			}
		}
		out.Terminations = append(out.Terminations, ledger)
		out.Flows = append(out.Flows, passing)
	}
	for k, rec := range r.receivers {
		out.Maps = append(out.Maps, r.mapOf(k, rec))
	}
	return out
}

// mapOf returns the map of the receiver k.
func (r *run) mapOf(k int, rec Receiver) Map {
	nb, ng := len(r.bands), len(r.groups)
	m := Map{Receiver: rec, Response: light.Response{Emitters: ng, Bands: nb, Plane: rec.Plane, Grid: rec.Grid}}
	cells := m.Response.Cells()
	size := ng * nb * cells
	m.Response.Data, m.Err = make([]float64, size), make([]float64, size)
	m.Direct, m.DirectErr = make([]float64, size), make([]float64, size)
	perArea := 1 / rec.area()
	split := r.o.Split && r.exactDirectApplies(rec) || r.o.ExactMeters && r.exactMeterApplies(rec)
	for g, s := range r.sums {
		var exact []float64
		if split {
			exact = r.exactDirect(rec, g)
		}
		means := make([]Estimate, nb)
		for b := range nb {
			whole := 0.0
			for c := range cells {
				i := (g*nb+b)*cells + c
				d := s.cell[k][c*nb+b].estimate(s.tiles, perArea)
				q := s.cell[k][(cells+c)*nb+b].estimate(s.tiles, perArea)
				m.Direct[i], m.DirectErr[i] = d.Value, d.Err
				if split {
					m.Response.Data[i], m.Err[i] = exact[b*cells+c]+q.Value, q.Err
					if rec.Region == OnMeter {
						m.Direct[i], m.DirectErr[i] = exact[b*cells+c], 0
					}
				} else {
					m.Response.Data[i], m.Err[i] = d.Value+q.Value, math.Hypot(d.Err, q.Err)
				}
				whole += m.Response.Data[i] / float64(cells)
			}
			part := b
			if split {
				part = nb + b
			}
			e := s.all[k][part].estimate(s.tiles, perArea/float64(cells))
			means[b] = Estimate{Value: whole, Err: e.Err}
		}
		m.Mean = append(m.Mean, means)
	}
	return m
}

// exactDirectApplies reports whether light.DirectMeans gives the direct light of a receiver.
func (r *run) exactDirectApplies(rec Receiver) bool {
	t := &r.Tank
	if rec.Region != OnPlane && rec.Region != OnSubstrate || r.SlopeRMS > 0 || len(r.Objects) > 0 {
		return false
	}
	g := rec.Grid
	return g.X0 >= -t.LengthM/2-1e-12 && g.X1 <= t.LengthM/2+1e-12 && g.Y0 >= -t.WidthM/2-1e-12 &&
		g.Y1 <= t.WidthM/2+1e-12
}

// exactMeterApplies reports whether light.DirectAt gives the direct light of a meter: the straight line from every
// emitter to it passes only the opening and the water.
func (r *run) exactMeterApplies(rec Receiver) bool {
	t := &r.Tank
	if rec.Region != OnMeter || r.SlopeRMS > 0 || len(r.Objects) > 0 || rec.At[2] < t.SubstrateM {
		return false
	}
	for _, e := range r.emitters {
		if e.ZM <= rec.At[2] {
			return false
		}
	}
	return rec.At[2] >= t.HeightM || math.Abs(rec.At[0]) <= t.LengthM/2 && math.Abs(rec.At[1]) <= t.WidthM/2
}

// exactDirect returns the mean direct light of a group in each cell, [band][cell].
func (r *run) exactDirect(rec Receiver, group int) []float64 {
	t := r.Tank
	nb, cells := len(r.bands), rec.Grid.NX*rec.Grid.NY
	t.Bands = append([]light.Band(nil), r.bands...)
	for b := range t.Bands {
		t.Bands[b].WaterIndex, t.Bands[b].ScatterPerM = 0, r.scatter
	}
	members := r.groups[group]
	out := make([]float64, nb*cells)
	if rec.Region == OnMeter {
		for _, e := range members {
			for b, v := range t.DirectAt(r.emitters[e], rec.At, rec.Facing) {
				out[b] += v / float64(len(members))
			}
		}
		return out
	}
	var wg sync.WaitGroup
	each := make([]light.Response, len(members))
	for i, e := range members {
		each[i] = light.Response{
			Emitters: 1, Bands: nb, Plane: rec.Plane, Grid: rec.Grid,
			Data: make([]float64, nb*cells),
		}
		wg.Go(func() {
			// It fails only when its context ends, and this one does not.
			_ = t.AddDirectMeans(context.Background(), &each[i], []light.Emitter{r.emitters[e]})
		})
	}
	wg.Wait()
	for _, one := range each {
		for i, v := range one.Data {
			out[i] += v / float64(len(members))
		}
	}
	return out
}
