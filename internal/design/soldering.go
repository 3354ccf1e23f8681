package design

import (
	"context"
	"errors"
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
)

// Iron is a soldering iron and the pad it is held to. The zero Iron is a common one on a common wire pad.
type Iron struct {
	TipK    float64 // temperature the tip is held at; 0 means 350 °C
	TipWK   float64 // conductance from tip to pad with molten solder between; 0 means 0.4 W/K (common practice: 0.3 to 0.5)
	PowerW  float64 // what it can deliver; 0 means 70 W
	PadXM   float64 // centre of the pad; both 0 mean the middle of the board's right edge, 5 mm in
	PadYM   float64
	PadM    float64 // side of the square pad; 0 means 4 mm
	WithinS float64 // time in which the pad is to flow; 0 means 4 s
}

func (i Iron) withDefaults(l *Lamp) Iron {
	set := func(v *float64, to float64) {
		if *v == 0 {
			*v = to
		}
	}
	set(&i.TipK, 350+273.15)
	set(&i.TipWK, 0.4)
	set(&i.PowerW, 70)
	set(&i.PadM, 4e-3)
	set(&i.WithinS, 4)
	if i.PadXM == 0 && i.PadYM == 0 {
		half := l.Design.Board.Length.SI / 2
		if l.Design.Board.Shape.S == "disc" {
			half = l.Design.Board.Diameter.SI / 2
		}
		i.PadXM = half - 5e-3
	}
	return i
}

// Soldering is what it takes to solder a wire to the bare board.
type Soldering struct {
	Alloy     string   `json:"alloy"`
	FlowK     float64  `json:"flow_k"`  // what the pad must reach: liquidus and 30 K
	PadKW     float64  `json:"pad_k_w"` // rise of the pad per watt after WithinS
	WithinS   float64  `json:"within_s"`
	ColdK     float64  `json:"cold_k"`      // board without preheat
	ColdNeedW float64  `json:"cold_need_w"` // heat the iron must deliver to the cold board
	ColdHasW  float64  `json:"cold_has_w"`  // heat this iron delivers into a pad that flows
	ColdFlows bool     `json:"cold_flows"`
	PreheatK  float64  `json:"preheat_k"` // least board temperature at which this iron does it
	Preheats  bool     `json:"preheats"`  // that temperature is above the cold board
	MostK     float64  `json:"most_k"`    // greatest board temperature: solidus of what is soldered already, less 30 K
	MostBy    string   `json:"most_by"`
	Possible  bool     `json:"possible"` // PreheatK does not pass MostK
	BoardJ    float64  `json:"board_j"`  // heat to bring the board from cold to the preheat
	BoardJK   float64  `json:"board_j_k"`
	Notes     []string `json:"notes"`
}

// overLiquidusK is how far above the liquidus a pad must be for solder to flow and wet: common practice, no source.
const overLiquidusK = 30

// Solder finds whether an iron flows the wire solder on a pad of the bare board, and the preheat that lets it.
//
// The pad is followed by the field solver, the board lying on something that carries little heat away:
//
//	q_need = (T_flow − T_board)/θ(t)      q_iron = min(P, G (T_tip − T_flow))      T_preheat = T_flow − θ(t)·q_iron
//
// θ(t) is the rise of the pad per watt after a time t. An even heat from the first moment is taken, while a real tip gives
// more at first and less later. It is an error if the design names no solder.
// Source: Fourier's law by the field of package heat; common practice for the iron.
func (r *Result) Solder(ctx context.Context, iron Iron) (*Soldering, error) {
	l := r.Lamp
	wire := l.Project.Shelf.Solders.Get(l.Design.WireAlloy.S)
	joints := l.Project.Shelf.Solders.Get(l.Design.Solder.S)
	if wire == nil {
		wire = joints
	}
	if wire == nil {
		return nil, errors.New("the design names no solder; add solder: sac305 and wire_solder: snbi58, or what you use")
	}
	iron = iron.withDefaults(l)
	board, _ := l.heatBoard()
	board.Contact = nil
	pad := geom.Rect{XM: iron.PadXM, YM: iron.PadYM, WidthM: iron.PadM, HeightM: iron.PadM}
	for i := range board.Layers {
		if board.Layers[i].Name == "copper" {
			board.Layers[i].Cover = append(board.Layers[i].Cover, geom.Rectangle(pad))
		}
	}
	if l.Stack.ThermalPath.S != "dielectric" && l.Stack.Dielectric.Set {
		// A wire pad lies on the dielectric even where thermal pads do not.
		board.Layers = append([]heat.Layer{
			{Name: "copper", ThicknessM: l.Stack.Copper.SI, KWmK: copperWmK, DensityKgM3: 8930, HeatJkgK: 385, Cover: []geom.Shape{geom.Rectangle(pad)}, Rest: 0.5},
			{Name: "dielectric", ThicknessM: l.Stack.Dielectric.SI, KWmK: l.Stack.DielectricK.SI, DensityKgM3: 2000, HeatJkgK: 900},
		}, board.Layers...)
	}
	w, err := heat.Transient(ctx, board, []heat.Source{{Name: "wire pad", Rect: pad, PowerW: 1}}, nil, []float64{iron.WithinS}, heat.TimeOptions{})
	if err != nil {
		return nil, fmt.Errorf("heat of a wire pad: %w", err)
	}
	out := &Soldering{Alloy: wire.ID.S, FlowK: wire.Liquidus.SI + overLiquidusK, PadKW: w.Moments[0].MeanK[0], WithinS: iron.WithinS, ColdK: 293.15}
	out.ColdNeedW = (out.FlowK - out.ColdK) / out.PadKW
	out.ColdHasW = math.Min(iron.PowerW, iron.TipWK*math.Max(0, iron.TipK-out.FlowK))
	out.ColdFlows = out.ColdHasW >= out.ColdNeedW
	out.PreheatK = math.Max(out.ColdK, out.FlowK-out.PadKW*out.ColdHasW)
	out.Preheats = out.PreheatK > out.ColdK
	least := joints // the wires' own solder is not there yet
	if least == nil {
		least = wire
	}
	out.MostK, out.MostBy = least.Solidus.SI-jointReserveK, least.ID.S
	out.Possible = out.PreheatK <= out.MostK
	for i := range board.Layers {
		b := &board.Layers[i]
		out.BoardJK += b.DensityKgM3 * b.HeatJkgK * b.ThicknessM * l.boardAreaM2()
	}
	out.BoardJ = out.BoardJK * (out.PreheatK - out.ColdK)
	out.Notes = append(out.Notes,
		"the board lies free; on a vice or a cold bench it takes more",
		"an even heat from the first moment is taken: a real tip gives more at first and less later",
		"preheat from below, work in moving air, and keep skin off the board; the datasheets of emitters and lenses rule how hot they may get")
	return out, nil
}

// jointReserveK is how far a joint that is there already stays below its solidus: common practice, no source.
const jointReserveK = 30
