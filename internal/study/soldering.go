package study

import (
	"context"
	"errors"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Iron is a soldering iron and its pad. The zero Iron is a usual one on a usual wire pad.
type Iron struct {
	TipK float64 // tip temperature; 0 means 350 °C
	// conductance from tip to pad with molten solder between; 0 means 0.4 W/K (rule of thumb: 0.3 to 0.5)
	TipWK  float64
	PowerW float64 // power; 0 means 70 W
	// centre of the pad; both 0 mean 5 mm from the centre of the board's right edge, or the nearest free position
	PadXM    float64
	PadYM    float64
	PadM     float64 // side of the square pad; 0 means 4 mm
	maxTimeS float64 // maximum time until the solder flows; 0 means 4 s
}

func (i Iron) withDefaults(l *lamp.Lamp) Iron {
	set := func(v *float64, to float64) {
		if *v == 0 {
			*v = to
		}
	}
	set(&i.TipK, 350+273.15)
	set(&i.TipWK, 0.4)
	set(&i.PowerW, 70)
	set(&i.PadM, 4e-3)
	set(&i.maxTimeS, 4)
	if i.PadXM == 0 && i.PadYM == 0 {
		i.PadXM, i.PadYM = wirePad(l, i.PadM/2)
	}
	return i
}

// wirePad finds a place for a wire pad of a half side [m]: 5 mm in from the right edge, half way up, or from there the
// first place further in, and then the first row nearest to it, that holds the pad clear of holes and edges.
func wirePad(l *lamp.Lamp, halfM float64) (x, y float64) {
	b := &l.Design.Board
	x0, x1, y0, y1 := b.Outline().Bounds()
	const steps = 24
	middle, row := (y0+y1)/2, (y1-y0)/(2*steps)
	for k := range 2 * steps {
		y = middle + row*float64((k+1)/2)*float64(1-2*(k&1))
		for in := 5e-3; in < x1-x0; in += 1e-3 {
			if b.Holds(x1-in, y, halfM, halfM) {
				return x1 - in, y
			}
		}
	}
	return x1 - 5e-3, middle // no room anywhere: the solver says so
}

// soldering is what soldering a wire to the bare board requires.
type soldering struct {
	heat.SolderPlan
	Alloy   string  `json:"alloy"`
	FlowK   float64 `json:"flowK"` // required pad temperature: liquidus + 30 K
	WithinS float64 `json:"maxTimeS"`
	BenchK  float64 `json:"benchK"` // board without preheat
	Holds   string  `json:"holds"`  // alloy of the joints that must not melt
	NearMax float64 `json:"nearMaxK"`
	BoardJ  float64 `json:"boardJ"` // energy of the preheat
	BoardJK float64 `json:"boardJK"`
}

// benchK is the ambient temperature of soldering.
const benchK = 293.15

// overLiquidusK is the required pad temperature above the liquidus for wetting; rule of thumb (no source).
const overLiquidusK = 30

// SolderWire computes whether an iron melts the wire solder on a pad of the bare board, the required preheat, and the
// temperature of the emitters' joints. The board is thermally insulated from the bench; see heat.Solder.
//
// It is an error if the design names no solder.
func SolderWire(ctx context.Context, r *figure.Evaluation, iron Iron) (*soldering, error) {
	l := r.Lamp
	wire := l.Project.Library.Solders.Get(l.Design.WireAlloy.S)
	joints := l.Project.Library.Solders.Get(l.Design.Solder.S)
	if wire == nil {
		wire = joints
	}
	if wire == nil {
		return nil, errors.New("no solder in the design; add solder: sac305 and wire_solder: snbi58, or your alloys")
	}
	iron = iron.withDefaults(l)
	board, _ := engine.HeatBoard(l)
	board.Contact = nil
	pad := geom.Rect{XM: iron.PadXM, YM: iron.PadYM, WidthM: iron.PadM, HeightM: iron.PadM}
	for i := range board.Layers {
		if board.Layers[i].Name == "copper" {
			board.Layers[i].Cover = append(board.Layers[i].Cover, geom.Rectangle(pad))
		}
	}
	if l.Stack.ThermalPath.S != project.PathDielectric && l.Stack.Dielectric.Set {
		// A wire pad is on the dielectric even where thermal pads are not.
		board.Layers = append([]heat.Layer{
			{
				Name: "copper", ThicknessM: l.Stack.Copper.SI, KWmK: engine.CopperWmK, DensityKgM3: 8930, HeatJkgK: 385,
				Cover: []geom.Shape{geom.Rectangle(pad)}, Rest: 0.5,
			},
			{
				Name: "dielectric", ThicknessM: l.Stack.Dielectric.SI, KWmK: l.Stack.DielectricK.SI, DensityKgM3: 2000,
				HeatJkgK: 900,
			},
		}, board.Layers...)
	}
	job := heat.SolderJob{
		Board: board, Pad: heat.Source{Name: "wire pad", Rect: pad}, LiquidusK: wire.Liquidus.SI + overLiquidusK,
		SolidusK: wire.Solidus.SI,
		BenchK:   benchK, WithinS: iron.maxTimeS, IronW: iron.PowerW, TipK: iron.TipK, TipWK: iron.TipWK,
	}
	out := &soldering{Alloy: wire.ID.S, Holds: wire.ID.S, FlowK: job.LiquidusK, WithinS: iron.maxTimeS, BenchK: benchK}
	if joints != nil { // the wire solder is not on the board yet
		job.SolidusK, out.Holds = joints.Solidus.SI, joints.ID.S
		for i := range l.Emitters {
			job.Near = append(job.Near, heat.Probe{
				Name: l.Emitters[i].Label, XM: l.Emitters[i].XM,
				YM: l.Emitters[i].YM,
			})
		}
	}
	plan, err := heat.Solder(ctx, job, heat.TimeOptions{})
	if err != nil {
		return nil, err
	}
	out.SolderPlan = plan
	for _, k := range plan.NearK {
		out.NearMax = math.Max(out.NearMax, k)
	}
	for i := range board.Layers {
		b := &board.Layers[i]
		out.BoardJK += b.DensityKgM3 * b.HeatJkgK * b.ThicknessM * l.Design.Board.AreaM2()
	}
	out.BoardJ = out.BoardJK * (out.PreheatK - benchK)
	out.Notes = append(out.Notes,
		"board thermally insulated from the bench; a vice or a cold bench requires more power",
		"constant power assumed; a real tip delivers more at first and less later",
		"Caution: hot board, fumes. Preheat from below, ventilate, do not touch the board. Temperature limits in the "+
			"datasheets of LED packages and lenses take precedence.")
	return out, nil
}
