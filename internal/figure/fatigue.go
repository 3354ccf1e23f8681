package figure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// fatigueFigures writes how many days the solder joints withstand.
func (r *Evaluation) fatigueFigures(w *writer) {
	l := r.Lamp
	st, ok := r.Sol.Cases[engine.Typical]
	if !ok || st.Runaway {
		return
	}
	night := l.Design.Installation.Ambient.Typical.SI
	cycles, swingK, stated := l.JointCycles(st.SolderK, night)
	if len(cycles) == 0 || math.IsInf(slices.Min(cycles), 0) {
		return
	}
	mean := 1.0
	for _, c := range cycles {
		mean *= math.Pow(c, 1/float64(len(cycles)))
	}
	n := once(mean)
	n.lo, n.hi = slices.Min(cycles), slices.Max(cycles)
	w.row("lamp.solder-cycles", "Daily cycles until a solder joint fails in 1 % of lamps", quantity.None,
		n.rounded(0), func() Basis {
			var names, values []string
			for i, s := range lamp.FatigueSets(l.Alloy()) {
				names, values = append(names, s.Name), append(values, fmt.Sprintf("%s: %s", s.Name, num(cycles[i])))
			}
			from := "cycle_test of the package"
			if !stated {
				from = "assumed: N63 1500 cycles of −40 °C to 125 °C, 24 a day, by size and core; rule of thumb (no source)"
			}
			return Basis{
				Formula: "N = N63 (−ln 0.99 / n)^(1/β) · (ΔT_t/ΔT_u)^n (f_u/f_t)^m exp(Q (1/T_u − 1/T_t))",
				Numbers: fmt.Sprintf("swing %s K, first of %d joints, β = 4: %s", num(swingK), len(l.Emitters),
					strings.Join(values, "; ")),
				Inputs: []Input{
					w.ref("maximum T_j, typical ambient", "lamp.junction", quantity.Temperature),
					given("T at night", l.Design.Installation.Ambient.Typical, quantity.Temperature, theDesign),
					{Name: "test", Value: "see source", Source: from, At: l.Types[0].Part.ID.At},
					{
						Name: "n, m, Q", Value: strings.Join(names, ", "), Source: "of alloy " + l.Alloy().ID.S,
						At: l.Alloy().ID.At,
					},
				},
				Method: "NorrisLandzberg1969, Pan2005, VasudevanFan2008, cited from memory; Weibull1951",
				Valid: "one swing a day from the room to the solder point; no single set of constants fits SnAgCu: the " +
					"ends are two sets",
			}
		})
}
