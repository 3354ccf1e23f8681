package cli

import (
	"fmt"
	"strings"

	"lampwright/internal/choose"
	"lampwright/internal/design"
	"lampwright/internal/dossier"
	"lampwright/internal/foldback"
	"lampwright/internal/quantity"
)

// more computes what a full dossier holds beside the figures: the warm-up, the foldback where there is a sensor, and the
// boards one could take instead. What a part does not state, so that it cannot be followed, is said in its place.
func (r *run) more(result *design.Result, o design.Options) ([]dossier.Table, error) {
	var out []dossier.Table
	warm := dossier.Table{Title: "Warm-up"}
	if w, err := result.WarmUp(r.ctx, "usual", o); err != nil {
		warm.Text = capital(err.Error()) + "."
	} else {
		warm = warmTable(w)
	}
	out = append(out, warm)
	if result.Board.HasSensor {
		t := dossier.Table{Title: "Foldback"}
		if f, err := result.Foldback(r.ctx, o); err != nil {
			t.Text = capital(err.Error()) + "."
		} else {
			t = foldTable(f)
		}
		out = append(out, t)
	}
	list, err := choose.Boards(r.ctx, result.Lamp.Project, o, r.progress("boards"))
	r.clearProgress()
	if err != nil {
		return nil, err
	}
	choose.ByJunction(list)
	return append(out, boardTable(list)), nil
}

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func warmTable(w *design.Warming) dossier.Table {
	t := dossier.Table{
		Title: "Warm-up, " + w.Case, Text: fmt.Sprintf("The sink does 95 %% of its way in %s.", duration(w.To95S)),
		Head: []string{"after", "sink", "hottest junction"}, Notes: w.Notes,
	}
	for _, s := range w.Spots {
		t.Head = append(t.Head, s, "meter shows")
	}
	row := func(when string, m design.WarmMoment) {
		cells := []string{when, temp(m.SinkK), temp(m.JunctionK)}
		for i := range w.Spots {
			cells = append(cells, temp(m.SpotK[i]), temp(m.ReadsK[i]))
		}
		t.Rows = append(t.Rows, cells)
	}
	for _, m := range w.Moments {
		switch m.TimeS {
		case 60, 300, 600, 1800, 3600: // when a person looks
			row(duration(m.TimeS), m)
		}
	}
	row("steady", w.Steady)
	return t
}

func foldTable(f *design.Foldback) dossier.Table {
	t := dossier.Table{
		Title: "Foldback, " + f.Case,
		Text: fmt.Sprintf("Full light up to %s at the sensor, %.0f %% from %s. It keeps the junction at %s, %s. With a healthy sensor: %s at %.0f %% of the light, junction %s.",
			temp(f.Law.StartK), 100*f.Law.Least, temp(f.Law.EndK), temp(f.LimitK), f.LimitFrom, f.Healthy.Verdict, 100*f.Healthy.Level, temp(f.Healthy.JunctionK)),
		Head: []string{"sensor", "resistance", "code", "level"}, Notes: f.Notes,
	}
	for _, row := range f.Table {
		t.Rows = append(t.Rows, foldRow(row))
	}
	return t
}

// foldRow prints a row of a foldback table: sensor, resistance, code, level.
func foldRow(row foldback.Row) []string {
	at, ohm, code := temp(row.SensorK), quantity.Format(row.Ohm, quantity.Resistance), fmt.Sprint(row.Code)
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

func boardTable(list []choose.Option) dossier.Table {
	t := dossier.Table{
		Title: "Other boards", Text: "The same lamp on every board of the shelf, coolest first. Kelvin per euro is what each euro more takes off the hottest junction of the hottest day.",
		Head: []string{"board", "hottest junction", "against now", "all parts", "against now", "kelvin per euro"},
	}
	for _, o := range list {
		if o.Problem != "" {
			continue
		}
		name, per := o.Name, ""
		if o.Now {
			name += " (now)"
		}
		if o.KPerEUR != 0 {
			per = quantity.Signed(o.KPerEUR, 2)
		}
		t.Rows = append(t.Rows, []string{name, temp(o.Values["lamp.junction-hottest"]), quantity.Signed(o.DeltaK, 1) + " K", quantity.Format(o.Values["cost.parts"], quantity.Money), quantity.Signed(o.Delta, 2) + " EUR", per})
	}
	return t
}
