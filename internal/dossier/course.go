package dossier

import (
	"fmt"
	"strings"

	"lampwright/internal/design"
	"lampwright/internal/foldback"
	"lampwright/internal/quantity"
)

// WarmTable is a lamp's way from a cold start: at the times that are picked, or at all of them, and where it ends.
func WarmTable(w *design.Warming, pick func(timeS float64) bool) Table {
	t := Table{
		Title: "Warm-up, " + w.Case, Text: fmt.Sprintf("The sink does 95 %% of its way in %s.", Duration(w.To95S)),
		Head: []string{"after", "sink", "hottest junction"}, Notes: w.Notes,
	}
	for _, s := range w.Spots {
		t.Head = append(t.Head, s, "meter shows")
	}
	row := func(when string, m design.WarmMoment) {
		cells := []string{when, kelvin(m.SinkK), kelvin(m.JunctionK)}
		for i := range w.Spots {
			cells = append(cells, kelvin(m.SpotK[i]), kelvin(m.ReadsK[i]))
		}
		t.Rows = append(t.Rows, cells)
	}
	for _, m := range w.Moments {
		if pick == nil || pick(m.TimeS) {
			row(Duration(m.TimeS), m)
		}
	}
	row("steady", w.Steady)
	return t
}

// FoldTable is how the sensor cuts the light: the law, how the loop ends, and the codes.
func FoldTable(f *design.Foldback) Table {
	t := Table{
		Title: "Foldback, " + f.Case,
		Text: fmt.Sprintf("Full light up to %s at the sensor, %.0f %% from %s. It keeps the junction at %s, %s. With a healthy sensor: %s at %.0f %% of the light, junction %s.",
			kelvin(f.Law.StartK), 100*f.Law.Least, kelvin(f.Law.EndK), kelvin(f.LimitK), f.LimitFrom, f.Healthy.Verdict, 100*f.Healthy.Level, kelvin(f.Healthy.JunctionK)),
		Head: []string{"sensor", "resistance", "code", "level"}, Notes: f.Notes,
	}
	for _, row := range f.Table {
		t.Rows = append(t.Rows, foldRow(row))
	}
	return t
}

// foldRow prints a row of a foldback table: sensor, resistance, code, level.
func foldRow(row foldback.Row) []string {
	at, ohm, code := kelvin(row.SensorK), quantity.Format(row.Ohm, quantity.Resistance), fmt.Sprint(row.Code)
	switch row.Fault {
	case foldback.Open:
		at, ohm = "open, or below "+at, ""
	case foldback.Short:
		at, ohm = "shorted, or above "+at, ""
	}
	if row.CodeTo != row.Code {
		code = fmt.Sprintf("%d to %d", row.Code, row.CodeTo)
	}
	return []string{at, ohm, code, fmt.Sprintf("%.0f %%", 100*row.Level)}
}

// FoldTexts says what a foldback does, in a few lines: the limit, the law, the loop, and how it ends with a healthy sensor and
// with a broken one.
func FoldTexts(f *design.Foldback) []string {
	law := "worked out, so that it just keeps the junction there whatever room and fan do"
	if f.Given {
		law = "as the design gives it"
	}
	out := []string{
		fmt.Sprintf("%s: full light would end at a junction of %s; the limit is %s, %s", f.Case, kelvin(f.Full.JunctionK), kelvin(f.LimitK), f.LimitFrom),
		fmt.Sprintf("law: full light up to %s at the sensor, %.0f %% from %s; %s", kelvin(f.Law.StartK), 100*f.Law.Least, kelvin(f.Law.EndK), law),
		fmt.Sprintf("the junction stands %.2f K over the sensor for each watt; the sensor errs by %.1f K at the worst; loop gain %.2g", f.OffsetKW, f.Errors.WorstK, f.LoopGain),
	}
	for _, o := range []struct {
		name string
		out  foldback.Simulation
	}{{"healthy sensor", f.Healthy}, {"sensor open", f.Open}, {"sensor shorted", f.Short}} {
		out = append(out, fmt.Sprintf("%s: %s at %.0f %% of the light, junction %s (peak %s after %s)", o.name, o.out.Verdict, 100*o.out.Level, kelvin(o.out.JunctionK), kelvin(o.out.PeakJunctionK), Duration(o.out.PeakAtS)))
	}
	return out
}

// WarmText says what is warmed up, and how fast.
func WarmText(w *design.Warming) string {
	return strings.Join([]string{
		fmt.Sprintf("%s: %s of heat, air at %s", w.Case, quantity.Format(w.HeatW, quantity.Power), kelvin(w.AirK)),
		fmt.Sprintf("the sink does 95 %% of its way in %s", Duration(w.To95S)),
	}, "; ")
}

func kelvin(k float64) string { return quantity.Format(k, quantity.Temperature) }

// Duration prints seconds up to two minutes, then minutes.
func Duration(s float64) string {
	if s < 120 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.0f min", s/60)
}
