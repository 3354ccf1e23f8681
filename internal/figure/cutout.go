package figure

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/foldback"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Values of a cut-out that are assumed; rules of thumb (no source).
const (
	UsualCutoutToleranceK = 5
	cutoutLagS            = 40          // of a cut-out clamped to metal
	unknownOvershootK     = 5           // where the mass of the heat sink is not known
	nearbyWoodK           = 273.15 + 90 // wood or plastic near the heat sink, cited from memory
	metalJkgK             = 900         // specific heat of aluminium
)

// FaultPart is a part with its limit and its temperature after the worst single failure.
type FaultPart struct {
	Name           string // "junction of white-1"
	LimitK, FaultK float64
	Wire           bool       // the insulation of a wire
	At             source.Pos // of the limit
}

// Fault is the lamp after the worst single failure, without foldback.
type Fault struct {
	Parts           []FaultPart
	BaseK           float64 // heat sink
	Runaway         bool
	NormalK, PlaceK float64 // at the place of the cut-out: without a fault at maximum ambient, and with it
	OvershootK      float64
	Silent          bool    // some part does not state its limit
	LoK, HiK        float64 // window of the nominal opening temperature
	First           string  // the part that sets HiK
}

// Fault returns the worst single failure; nil where the lamp has no data for it.
func (r *Evaluation) Fault() *Fault {
	normal, ok := r.Sol.Cases[engine.MaxAmbient]
	st, faulty := r.Sys.Fault(&r.Sol)
	if !ok || faulty == nil {
		return nil
	}
	f := &Fault{BaseK: st.Sink.BaseK, Runaway: st.Runaway, NormalK: normal.Sink.BaseK, PlaceK: st.Sink.BaseK}
	if c := r.Lamp.Design.Cutout; c != nil && c.At.X.Set && c.At.Y.Set {
		patch := r.Sys.PatchAt(c.At.X.SI, c.At.Y.SI, 0)
		f.NormalK, f.PlaceK = normal.AirK+patch.RiseK(&normal), st.AirK+patch.RiseK(&st)
	}
	r.faultParts(f, faulty, &st)
	f.OvershootK = unknownOvershootK
	if kg, known := r.Lamp.SinkMassKg(); known {
		f.OvershootK = foldback.Overshoot(st.TotalW, kg+r.Lamp.BoardMassKg(), metalJkgK, cutoutLagS)
	}
	r.cutoutWindow(f)
	return f
}

// faultParts lists the parts with their limits.
func (r *Evaluation) faultParts(f *Fault, l *lamp.Lamp, st *engine.State) {
	add := func(name string, limit source.Value, kelvin float64) {
		if !limit.Set {
			f.Silent = true
			return
		}
		f.Parts = append(f.Parts, FaultPart{Name: name, LimitK: limit.SI, FaultK: kelvin, At: limit.At})
	}
	for k := range l.Types {
		hot := 0.0
		for i := range l.Emitters {
			if l.Emitters[i].Type == k {
				hot = math.Max(hot, st.JunctionK[i])
			}
		}
		add("junction of "+l.Types[k].Part.ID.S, l.Types[k].Part.MaxJunction, hot)
	}
	if l.OnLaminate() {
		hot := 0.0
		for i := range l.Emitters {
			hot = math.Max(hot, st.AirK+r.Sol.Board.DielectricRise(i, st))
		}
		add("laminate of the board", l.Stack.MaxOperatingTemperature, hot)
	}
	add("thermal interface", l.Interface.Max, st.Sink.BaseK)
	r.faultLenses(f, l, st)
	for i := range l.Channels {
		if w := l.Channels[i].Wire; w != nil && w.InsulationRating.Set {
			f.Parts = append(f.Parts, FaultPart{
				"insulation of wire " + w.ID.S, w.InsulationRating.SI, st.Sink.BaseK, true, w.InsulationRating.At,
			})
		}
	}
	f.Parts = append(f.Parts, FaultPart{
		Name: "wood or plastic at the heat sink", LimitK: nearbyWoodK,
		FaultK: st.Sink.BaseK,
	})
}

// faultLenses adds the hottest lens of each kind.
func (r *Evaluation) faultLenses(f *Fault, l *lamp.Lamp, st *engine.State) {
	hot := map[*project.Lens]float64{}
	var order []*project.Lens
	for i := range l.Emitters {
		lens := l.Optics[l.Emitters[i].Optic].Lens
		if lens == nil {
			continue
		}
		if hot[lens] == 0 {
			order = append(order, lens)
		}
		hot[lens] = math.Max(hot[lens], r.lensBoard().LensK(l, r.Sol.Params, r.Sol.Board, st, i))
	}
	for _, lens := range order {
		limit := lens.MaxTemperature
		if m, ok := lamp.LensMaterial(lens); ok && !limit.Set {
			limit = source.Value{Set: true, SI: m.ServiceK, At: lens.Material.At}
		}
		if !limit.Set {
			f.Silent = true
			continue
		}
		f.Parts = append(f.Parts, FaultPart{
			Name: "lens " + lens.ID.S, LimitK: limit.SI, FaultK: hot[lens],
			At: limit.At,
		})
	}
}

// cutoutWindow computes between which nominal temperatures a cut-out must open.
func (r *Evaluation) cutoutWindow(f *Fault) {
	tolerance, link := CutoutTolerance(r.Lamp.Design.Cutout)
	f.LoK, f.HiK = math.Inf(-1), math.Inf(1)
	for _, p := range f.Parts {
		c := foldback.Cutout{
			NormalK: f.NormalK, LimitK: p.LimitK, GradientK: p.FaultK - f.PlaceK, ToleranceK: tolerance, OvershootK: f.OvershootK,
		}
		lo, hi := c.Window()
		f.LoK = lo
		if link {
			f.LoK = f.NormalK + foldback.LinkRestK
		}
		if hi < f.HiK {
			f.HiK, f.First = hi, p.Name
		}
	}
}

// CutoutTolerance returns the tolerance of a cut-out above its nominal temperature [K], and whether it is a thermal
// link, which opens early and never late.
func CutoutTolerance(c *project.CutoutUse) (tolK float64, link bool) {
	switch {
	case c == nil || c.Kind.S != project.CutoutLink && !c.Tolerance.Set:
		return UsualCutoutToleranceK, false
	case c.Kind.S == project.CutoutLink:
		return 0, true
	}
	return c.Tolerance.SI, false
}

// cutoutFigures writes the window of an independent thermal cut-out.
func (r *Evaluation) cutoutFigures(w *writer) {
	f := r.Fault()
	if f == nil || f.Runaway || r.Sol.RanAway(engine.MaxAmbient) {
		return
	}
	tolerance, link := CutoutTolerance(r.Lamp.Design.Cutout)
	lowest := fmt.Sprintf("%s + %s K + %d K", celsius(f.NormalK), num(tolerance), foldback.CutoutReserveK)
	if link {
		lowest = fmt.Sprintf("%s + %d K", celsius(f.NormalK), foldback.LinkRestK)
	}
	w.row("cutout.opens-min", "Lowest opening temperature of a thermal cut-out", quantity.Temperature, once(f.LoK),
		func() Basis {
			return Basis{
				Formula: "T_lo = T_normal + tolerance + 5 K; of a thermal link T_normal + 25 K",
				Numbers: lowest + " = " + w.text("cutout.opens-min", quantity.Temperature),
				Inputs: []Input{{
					Name: "T_normal, at its place, maximum ambient", Value: celsius(f.NormalK),
					Source: "computed",
				}},
				Method: "IEC60691 for thermal links, cited from memory; 5 K is a rule of thumb (no source)",
				Valid:  "clamped to metal, out of the fan's air",
			}
		})
	for _, p := range f.Parts {
		if p.Name != f.First {
			continue
		}
		w.row("cutout.opens-max", "Highest opening temperature of a thermal cut-out", quantity.Temperature,
			once(f.HiK), func() Basis {
				return Basis{
					Formula: "T_hi = T_limit − gradient − tolerance − overshoot,  overshoot = P τ / (m c)",
					Numbers: fmt.Sprintf("%s − %s K − %s K − %s K = %s", celsius(p.LimitK), num(p.FaultK-f.PlaceK),
						num(tolerance),
						num(f.OvershootK), w.text("cutout.opens-max", quantity.Temperature)),
					Inputs: []Input{
						{Name: "T_limit, " + p.Name, Value: celsius(p.LimitK), Source: "its datasheet, or usual", At: p.At},
						{
							Name: "gradient from the place of the cut-out", Value: num(p.FaultK-f.PlaceK) + " K",
							Source: "computed: worst single failure",
						},
						{
							Name: "τ", Value: fmt.Sprintf("%d s", cutoutLagS),
							Source: "assumed: cut-out clamped to metal; rule of thumb (no source)",
						},
					},
					Method: "derived", Valid: "the fan stopped, or the controller at full level, without foldback; " +
						"overshoot as without cooling",
				}
			})
	}
}
