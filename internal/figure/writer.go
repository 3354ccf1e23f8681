package figure

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// writer collects the rows of the catalogue for one lamp, and writes their figures.
type writer struct {
	rows   []row
	values map[string]float64 // of the nominal lamp, by key
	sol    *engine.Solution   // the nominal lamp
}

// row adds a row of the catalogue, where the lamp has the figure.
func (w *writer) row(key, title string, dim quantity.Dim, n numbers, derive func() Basis) {
	v, ok := n.value(w.sol)
	if !ok {
		return
	}
	w.values[key] = v
	w.rows = append(w.rows, row{key, title, dim, n, derive})
}

// figure writes the figure of a row.
func (w *writer) figure(r *row, g interval) Figure {
	v := w.values[r.key]
	f := Figure{Key: r.key, Title: r.title, Value: v, Lo: v, Hi: v, Dim: r.dim, Case: r.of, Decimals: r.decimals}
	if f.Withheld = w.withheld(r.of); f.Withheld != "" {
		f.Value, f.Lo, f.Hi = 0, 0, 0
		f.Basis = r.derive()
		f.Basis.Numbers, f.Basis.Inputs, f.Basis.Notes = f.Withheld, nil, nil
		return f
	}
	switch {
	case r.hi > r.lo:
		f.Lo, f.Hi, f.Ends = r.lo, r.hi, true
	case g.hi-g.lo > 1e-9*math.Abs(v):
		f.Lo, f.Hi = g.lo, g.hi
	}
	if duv, ok := w.values[strings.TrimSuffix(r.key, ".cct")+".duv"]; ok && r.dim == quantity.CCT {
		f.Duv = &duv
	}
	f.Basis = r.derive()
	for i := range f.Basis.Inputs {
		if in := &f.Basis.Inputs[i]; in.Figure != "" && in.Source == "" {
			in.Source = "computed"
		}
	}
	return f
}

// withheld returns why a case has no figures: the lamp does not reach it; "" where it does.
func (w *writer) withheld(of engine.CaseKey) string {
	supply, unsupplied := w.sol.Unsupplied()
	switch {
	case w.sol.RanAway(of):
		return fmt.Sprintf("withheld: no steady state at %s (thermal runaway)", of.Title())
	case of != "" && unsupplied:
		x := &w.sol.Supplies[supply]
		return fmt.Sprintf("withheld: no such state; the wire of supply %d delivers at most %s of %s", supply+1,
			quantity.Format(x.DeliverableW, quantity.Power), quantity.Format(x.RequiredW, quantity.Power))
	}
	return ""
}

// text prints a computed value.
func (w *writer) text(key string, dim quantity.Dim) string {
	return quantity.Format(w.values[key], dim)
}

// ref is an input that is itself a figure.
func (w *writer) ref(name, key string, dim quantity.Dim) Input {
	return Input{Name: name, Value: w.text(key, dim), Figure: key}
}

// given is an input that a file states.
func given(name string, v source.Value, dim quantity.Dim, from string) Input {
	if v.Source != "" {
		from = v.Source
	}
	return Input{Name: name, Value: quantity.Format(v.SI, dim), Source: from, At: v.At}
}

// theDesign is the source of what the design file sets.
const theDesign = "the design"

// num prints a number of a derivation with few digits.
func num(v float64) string {
	text := fmt.Sprintf("%.2g", v)
	switch a := math.Abs(v); {
	case v == 0:
		return "0"
	case a >= 1000:
		text = fmt.Sprintf("%.0f", v)
	case a >= 100:
		text = fmt.Sprintf("%.1f", v)
	case a >= 0.01:
		text = fmt.Sprintf("%.3g", v)
	}
	return strings.ReplaceAll(text, "-", "−")
}

func celsius(k float64) string {
	return strings.Replace(fmt.Sprintf("%.1f °C", k-273.15), "-", "−", 1)
}

// catalogue lists the rows of a solved lamp, and fills what its derivations and views need of whole spectra.
func (r *Evaluation) catalogue() (*writer, spectralLight) {
	s, p, sol := r.Sys, r.Base, r.Sol
	w := &writer{values: map[string]float64{}, sol: &r.Sol}
	spectral := spectralValues(s, r, &r.Sol)
	sol.Rendering = r.Sol.Rendering
	r.bom(s.Lamp)
	for i := range s.Lamp.Channels {
		r.channelFigures(newChannelWriter(w, r, i))
	}
	r.thermalFigures(w, s, p, sol)
	r.mountingFigures(w)
	r.suspensionFigures(w)
	r.cutoutFigures(w)
	r.fatigueFigures(w)
	r.wearFigures(w)
	r.lightFigures(w, s)
	r.yearsFigures(w)
	r.powerFigures(w)
	r.costFigures(w)
	r.mainsFigures(w)
	r.electricalFigures(w)
	r.controllerFigures(w)
	for i := range s.Lamp.Channels {
		shiftFigures(newChannelWriter(w, r, i))
	}
	r.spectralFigures(w, s, &spectral)
	r.replacedFigures(w)
	return w, spectral
}
