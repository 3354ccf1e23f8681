package figure

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// LensModelErrorK is the error of the temperature of a lens as one node; rule of thumb (no source).
const LensModelErrorK = 6

// lensTemperature writes the maximum temperature of the lenses of a channel in a case.
func (w *channelWriter) lensTemperature(c engine.CaseInput) {
	l := w.r.Lamp
	var lensed []int
	for _, e := range w.ch.Emitters {
		if l.Optics[l.Emitters[e].Optic].Lens != nil {
			lensed = append(lensed, e)
		}
	}
	if len(lensed) == 0 {
		return
	}
	board := w.r.lensBoard()
	hottest := func(s *engine.Solution, st *engine.State) (kelvin float64, at int) {
		for _, e := range lensed {
			if k := board.LensK(l, s.Params, s.Board, st, e); k > kelvin {
				kelvin, at = k, e
			}
		}
		return kelvin, at
	}
	key := "lens" + caseSuffix[c.Key]
	n := when(c.Key, 0, func(s *engine.Solution) (float64, bool) {
		st, ok := s.Cases[c.Key]
		if !ok {
			return 0, false
		}
		kelvin, _ := hottest(s, &st)
		return kelvin, true
	})
	w.put(key, "maximum lens temperature, "+c.Key.Title(), quantity.Temperature, n, func() Basis {
		st := w.r.Sol.Cases[c.Key]
		_, at := hottest(&w.r.Sol, &st)
		return w.lensBasis(c, &st, at, w.print(key, quantity.Temperature))
	})
}

func (w *channelWriter) lensBasis(c engine.CaseInput, st *engine.State, at int, result string) Basis {
	l, r := w.r.Lamp, w.r
	lens, node := l.Optics[l.Emitters[at].Optic].Lens, l.LensNode(at)
	air, board := node.Conductances()
	absorbedW := engine.LensW(l, r.Sol.Params, st, at)
	boardK := r.lensBoard().BoardK(r.Sol.Board, st, at)
	gap := "stated"
	if !lens.Gap.Set {
		gap = "not stated; assumed"
	}
	return Basis{
		Formula: "T_l = (P_a + G_o T_air + G_b T_board) / (G_o + G_b)",
		Numbers: fmt.Sprintf("%s: (%s W + %s mW/K · %s + %s mW/K · %s) / %s mW/K = %s", l.Emitters[at].Label,
			num(absorbedW),
			num(1e3*air), celsius(st.AirK), num(1e3*board), celsius(boardK), num(1e3*(air+board)), result),
		Inputs: []Input{
			{Name: "T_air", Value: celsius(st.AirK), Source: theDesign, At: ambientOf(l, c).At},
			{Name: "T_board", Value: celsius(boardK), Source: "computed: mean of the board's surface beneath the lens"},
			{Name: "P_a", Value: num(absorbedW) + " W", Source: "3 % of the light, at most the loss of the lens; rule " +
				"" +
				"of " +
				"thumb (no source)"},
			{
				Name: "gap beneath the lens", Value: quantity.Format(node.GapM, quantity.Length), Source: gap,
				At: lens.ID.At,
			},
		},
		Method: "one node between air and board; derived",
		Valid: fmt.Sprintf("± %.0f K; the plastic over the dome is up to 10 K hotter (rule of thumb, no source)",
			math.Round(LensModelErrorK)),
	}
}

// lensBoard returns the board beneath the lenses, computed once.
func (r *Evaluation) lensBoard() engine.LensBoard {
	if r.beneathLenses == nil {
		r.beneathLenses = r.Sys.BeneathLenses()
	}
	return r.beneathLenses
}
