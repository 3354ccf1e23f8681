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

// Iron is a soldering iron and the pad it is held to. The zero Iron is a common one on a common wire pad.
type Iron struct {
	TipK     float64 // temperature the tip is held at; 0 means 350 °C
	TipWK    float64 // conductance from tip to pad with molten solder between; 0 means 0.4 W/K (common practice: 0.3 to 0.5)
	PowerW   float64 // what it can deliver; 0 means 70 W
	PadXM    float64 // centre of the pad; both 0 mean the middle of the board's right edge, 5 mm in, or the next place that holds it
	PadYM    float64
	PadM     float64 // side of the square pad; 0 means 4 mm
	maxTimeS float64 // time in which the pad is to flow; 0 means 4 s
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

// wirePad finds a place for a wire pad of a half side [m]: 5 mm in from the right edge, half way up, or from there the first
// place further in, and then the first row nearest to it, that holds the pad clear of holes and edges.
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

// soldering is what it takes to solder a wire to the bare board.
type soldering struct {
	heat.SolderPlan
	Alloy   string  `json:"alloy"`
	FlowK   float64 `json:"flowK"` // what the pad must reach: the liquidus and 30 K
	WithinS float64 `json:"maxTimeS"`
	BenchK  float64 `json:"benchK"` // board without preheat
	Holds   string  `json:"holds"`  // alloy of the joints that must stay
	NearMax float64 `json:"nearMaxK"`
	BoardJ  float64 `json:"boardJ"` // heat to bring the board to the preheat
	BoardJK float64 `json:"boardJK"`
}

// benchK is the room in which a lamp is soldered.
const benchK = 293.15

// overLiquidusK is how far above the liquidus a pad must be for solder to flow and wet: common practice, no source.
const overLiquidusK = 30

// SolderWire finds whether an iron flows the wire solder on a pad of the bare board, the preheat that lets it, and how warm the
// joints of the emitters become meanwhile. The board lies on something that carries little heat away; see heat.Solder.
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
		return nil, errors.New("the design names no solder; add solder: sac305 and wire_solder: snbi58, or what you use")
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
		// A wire pad lies on the dielectric even where thermal pads do not.
		board.Layers = append([]heat.Layer{
			{Name: "copper", ThicknessM: l.Stack.Copper.SI, KWmK: engine.CopperWmK, DensityKgM3: 8930, HeatJkgK: 385, Cover: []geom.Shape{geom.Rectangle(pad)}, Rest: 0.5},
			{Name: "dielectric", ThicknessM: l.Stack.Dielectric.SI, KWmK: l.Stack.DielectricK.SI, DensityKgM3: 2000, HeatJkgK: 900},
		}, board.Layers...)
	}
	job := heat.SolderJob{
		Board: board, Pad: heat.Source{Name: "wire pad", Rect: pad}, LiquidusK: wire.Liquidus.SI + overLiquidusK, SolidusK: wire.Solidus.SI,
		BenchK: benchK, WithinS: iron.maxTimeS, IronW: iron.PowerW, TipK: iron.TipK, TipWK: iron.TipWK,
	}
	out := &soldering{Alloy: wire.ID.S, Holds: wire.ID.S, FlowK: job.LiquidusK, WithinS: iron.maxTimeS, BenchK: benchK}
	if joints != nil { // the wires' own solder is not there yet
		job.SolidusK, out.Holds = joints.Solidus.SI, joints.ID.S
		for i := range l.Emitters {
			job.Near = append(job.Near, heat.Probe{Name: l.Emitters[i].Label, XM: l.Emitters[i].XM, YM: l.Emitters[i].YM})
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
		"the board lies free; on a vice or a cold bench it takes more",
		"an even heat from the first moment is taken: a real tip gives more at first and less later",
		"preheat from below, work in moving air, and keep skin off the board; the datasheets of emitters and lenses rule how hot they may get")
	return out, nil
}
