package heat

import (
	"context"
	"math"

	"lampwright/internal/geom"
)

// FilmResponse is how a Response falls where the heat transfer coefficients of both faces grow by the same relative
// change ε. To second order
//
//	e = ε/(1 + κ ε)
//	rise of a place per kelvin of the sink  ψ(ε) = ψ − e χ
//	rise of source i per watt of source j   R_ij(ε) = R_ij − e X_ij
//	loss of the faces per kelvin of the sink L(ε) = L + e (L_top + L_back)
//
// h ψ is the flux through the faces at ε = 0; χ is the field of a board with that flux as its heat, and the sink at
// ambient; X_ij = ∫h φ_i φ_j dA, with φ_j the surface rise per watt of source j; L_top = ∫h ψ² dA over the top;
// κ = ∫h ψ χ dA / ∫h ψ² dA. Every one is a derivative of the field's equations (K + ε H) T = Q. In e, L is the [1/1]
// Padé approximant and exact for a board of one temperature behind a joint; each R is an upper bound of a convex
// function by its tangent.
// Source: derived; perturbation of a symmetric operator.
type FilmResponse struct {
	TopWK, BackWK float64     // L_top, L_back [W/K]
	Curvature     float64     // κ
	Mean, Probe   []float64   // χ of sources and probes [K/K]
	Raster        []float64   // of the map
	Section       [][]float64 // of the cuts, [source][knot]
	MeanKW        [][]float64 // X [K/W]
}

// filmJob is χ and its sums on one grid.
type filmJob struct {
	figures
	raster               []float64
	topWK, backWK, kappa float64
}

// solveFilm finds χ for the solution of the sink at 1 K, on its grid, and its sums.
func (a *request) solveFilm(
	ctx context.Context, w *workspace, sink *solution, o Options,
) (chi *solution, f *filmJob, err error) {
	s := sink.s
	n := len(s.ground)
	last := n - len(s.c.area)
	flux := s.c.mem.floats(n)
	f = &filmJob{}
	for col := range s.c.area {
		top, back := s.c.topG[col]*sink.t[col], s.c.backG[col]*sink.t[last+col]
		flux[col] += top
		flux[last+col] += back
		f.topWK += top * sink.t[col]
		f.backWK += back * sink.t[last+col]
	}
	chi = &solution{s: s, t: s.c.mem.floats(n)}
	if _, err := s.op.solve(ctx, w, chi.t, flux, s.ground, o.Tol, o.MaxIter); err != nil {
		return nil, nil, err
	}
	if all := f.topWK + f.backWK; all > 0 {
		f.kappa = dot(flux, chi.t) / all
	}
	return chi, f, nil
}

// filmResponse turns χ and the maps of the sources into a FilmResponse.
func (a *request) filmResponse(f *filmJob, r *Response) *FilmResponse {
	n := len(a.sources)
	out := &FilmResponse{
		TopWK: f.topWK, BackWK: f.backWK, Curvature: f.kappa, Mean: f.mean, Probe: f.probe, Raster: f.raster,
		MeanKW: make([][]float64, n),
	}
	knots := len(f.section) / n
	for i := range n {
		out.Section = append(out.Section, f.section[i*knots:(i+1)*knots])
	}
	filmWK := a.filmOfCells()
	var rise, weighed [][]float64 // by source, of the cells that lose heat
	for _, all := range r.Raster.KW {
		v, w := make([]float64, 0, len(all)), make([]float64, 0, len(all))
		for k, g := range filmWK {
			if g > 0 {
				v, w = append(v, all[k]), append(w, g*all[k])
			}
		}
		rise, weighed = append(rise, v), append(weighed, w)
	}
	for i := range n {
		out.MeanKW[i] = make([]float64, n)
		for j := range i + 1 {
			sum := dot(weighed[i], rise[j])
			out.MeanKW[i][j], out.MeanKW[j][i] = sum, sum
		}
	}
	return out
}

// filmOfCells returns the conductance to ambient of each cell of the map, through both faces [W/K]; the areas of cells on
// the board sum to its own. Patches are left out: what is of the first order in them is small of the second.
func (a *request) filmOfCells() []float64 {
	on, area := 0, a.b.Outline.AreaM2()
	for _, h := range a.b.Holes {
		area -= h.AreaM2()
	}
	for _, is := range a.on {
		if is {
			on++
		}
	}
	out := make([]float64, len(a.on))
	cell := area / math.Max(1, float64(on))
	var contact geom.Shape
	if a.b.Contact != nil {
		contact = a.b.Contact.Area
	}
	for k, is := range a.on {
		if !is {
			continue
		}
		out[k] = cell * a.b.TopFilmWm2K
		if x, y := a.raster.Place(k); a.b.Contact == nil || !contact.Contains(x, y) {
			out[k] += cell * a.b.BackFilmWm2K
		}
	}
	return out
}
