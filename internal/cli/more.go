package cli

import (
	"slices"
	"strings"

	"lampwright/internal/choose"
	"lampwright/internal/design"
	"lampwright/internal/report"
	"lampwright/internal/quantity"
)

// more computes what a full dossier holds beside the figures: the warm-up, the foldback where there is a sensor, and the
// boards one could take instead. What a part does not state, so that it cannot be followed, is said in its place.
func (r *run) more(result *design.Result, o design.Options) ([]report.Table, error) {
	var out []report.Table
	warm := report.Table{Title: "Warm-up"}
	if w, err := result.WarmUp(r.ctx, "usual", o); err != nil {
		warm.Text = capital(err.Error()) + "."
	} else {
		warm = report.WarmTable(w, looked)
	}
	out = append(out, warm)
	if result.Board.HasSensor {
		t := report.Table{Title: "Foldback"}
		if f, err := result.Foldback(r.ctx, o); err != nil {
			t.Text = capital(err.Error()) + "."
		} else {
			t = report.FoldTable(f)
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

// looked tells whether a person looks at a lamp then.
func looked(timeS float64) bool { return slices.Contains([]float64{60, 300, 600, 1800, 3600}, timeS) }

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func boardTable(list []choose.Option) report.Table {
	t := report.Table{
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
