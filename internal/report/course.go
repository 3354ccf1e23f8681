package report

import (
	"fmt"
	"strings"

	"lampwright/internal/foldback"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// WarmTable returns the temperatures after a cold start at the picked times, or at all of them, and in the steady state.
func WarmTable(w *study.Warmup, pick func(timeS float64) bool) Table {
	t := Table{
		Title: "Warm-up, " + w.Case, Text: fmt.Sprintf("The heat sink reaches 95 %% of its final rise after %s.", Duration(w.To95S)),
		Head: []string{"after", "heat sink", "maximum T_j"}, Notes: w.Notes,
	}
	for _, s := range w.Spots {
		t.Head = append(t.Head, s, "IR reading")
	}
	row := func(when string, m study.WarmupSample) {
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

// FoldTable returns the thermal foldback: curve, steady state and ADC codes.
func FoldTable(f *study.Foldback) Table {
	t := Table{
		Title: "Foldback, " + f.Case,
		Text: fmt.Sprintf("Full light up to %s at the sensor, %.0f %% from %s. Junction limit %s (%s). Sensor intact: %s at %.0f %% light, T_j %s.",
			kelvin(f.Law.StartK), 100*f.Law.MinLevel, kelvin(f.Law.EndK), kelvin(f.LimitK), f.LimitFrom, f.Healthy.Verdict, 100*f.Healthy.Level, kelvin(f.Healthy.JunctionK)),
		Head: []string{"sensor", "resistance", "code", "level"}, Notes: f.Notes,
	}
	for _, row := range f.Table {
		t.Rows = append(t.Rows, foldRow(row))
	}
	return t
}

// foldRow formats a row of a foldback table: sensor, resistance, code, level.
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

// FoldTexts describes a foldback in six lines: limit, curve, loop, and steady state with the sensor intact, open and shorted.
func FoldTexts(f *study.Foldback) []string {
	law := "computed to hold the junction limit at every ambient temperature and fan speed"
	if f.Given {
		law = "from the design file"
	}
	out := []string{
		fmt.Sprintf("%s: at full light T_j settles at %s; limit %s (%s)", f.Case, kelvin(f.Full.JunctionK), kelvin(f.LimitK), f.LimitFrom),
		fmt.Sprintf("foldback curve: full light up to %s at the sensor, %.0f %% from %s; %s", kelvin(f.Law.StartK), 100*f.Law.MinLevel, kelvin(f.Law.EndK), law),
		fmt.Sprintf("T_j − T_sensor: %.2f K/W; maximum sensor error %.1f K; loop gain %.2g", f.OffsetKW, f.Errors.WorstK, f.LoopGain),
	}
	for _, o := range []struct {
		name string
		out  foldback.Simulation
	}{{"sensor intact", f.Healthy}, {"sensor open", f.Open}, {"sensor shorted", f.Short}} {
		out = append(out, fmt.Sprintf("%s: %s at %.0f %% light, T_j %s (peak %s after %s)", o.name, o.out.Verdict, 100*o.out.Level, kelvin(o.out.JunctionK), kelvin(o.out.PeakJunctionK), Duration(o.out.PeakAtS)))
	}
	return out
}

// WarmText states case, dissipation, air temperature and 95 % time of a warm-up.
func WarmText(w *study.Warmup) string {
	return strings.Join([]string{
		fmt.Sprintf("%s: dissipation %s, air %s", w.Case, quantity.Format(w.HeatW, quantity.Power), kelvin(w.AirK)),
		fmt.Sprintf("heat sink reaches 95 %% of its final rise after %s", Duration(w.To95S)),
	}, "; ")
}

func kelvin(k float64) string { return quantity.Format(k, quantity.Temperature) }

// Duration formats seconds up to two minutes, then minutes.
func Duration(s float64) string {
	if s < 120 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.0f min", s/60)
}
