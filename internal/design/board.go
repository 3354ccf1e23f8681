package design

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
)

func (l *Lamp) solveBoard(_ context.Context, _ Options) (*boardResponse, error) {
	b := l.Design.Board
	w, h := b.Length.SI, b.Width.SI
	if b.Shape.S == "disc" {
		w = b.Diameter.SI * math.Sqrt(math.Pi) / 2
		h = w
	}
	typ, _, _ := l.InterfaceM2KW()
	cover, _ := l.CoverageOf()
	layers := []heat.Layer{{Name: "copper", ThicknessM: l.Stack.Copper.SI, KWmK: 385 * cover, KzWmK: 385}}
	if l.Stack.Dielectric.Set {
		layers = append(layers, heat.Layer{Name: "dielectric", ThicknessM: l.Stack.Dielectric.SI, KWmK: l.Stack.DielectricK.SI})
	}
	layers = append(layers, heat.Layer{Name: "core", ThicknessM: b.Thickness.SI, KWmK: l.Stack.BaseK.SI, KzWmK: l.Stack.BaseKThrough.SI})
	p := heat.Plate{WidthM: w, HeightM: h, Layers: layers, BackFilmWm2K: 1 / typ}
	var src []geom.Rect
	for i := range l.Emitters {
		pad := l.Kinds[l.Emitters[i].Kind].Part.ThermalPad
		src = append(src, geom.Rect{XM: l.Emitters[i].XM, YM: l.Emitters[i].YM, WidthM: pad.Length.SI, HeightM: pad.Width.SI})
	}
	r, err := p.Unit(src, 0)
	if err != nil {
		return nil, fmt.Errorf("heat of the board: %w", err)
	}
	out := &boardResponse{solder: r, method: "series", source: "Muzychka2003", valid: "rectangle"}
	out.dielectric = make([]float64, len(src))
	for i := range out.dielectric {
		out.dielectric[i] = 0.5
	}
	return out, nil
}
