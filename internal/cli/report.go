package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"lampwright/docs"
	"lampwright/internal/atomicfile"
	"lampwright/internal/choose"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type reportCmd struct {
	Path        string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Output      string `short:"o" placeholder:"FILE" help:"File to write; default: report.html in the project folder; - for standard output."`
	Format      string `enum:"html,json,csv" default:"html" help:"html, json or csv."`
	WithTrace   bool   `help:"Add light against depth and the losses of the traced light; takes seconds."`
	AllSections bool   `help:"Add warm-up, foldback and alternative boards; takes seconds."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run writes the design report.
func (c *reportCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	findings, err := r.review(result)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	switch c.Format {
	case "json":
		err = report.JSON(&b, result, findings)
	case "csv":
		err = report.CSV(&b, result)
	default:
		var o report.Options
		if o, err = c.options(r, result); err != nil {
			return err
		}
		err = report.HTML(&b, result, findings, o)
	}
	if err != nil {
		return fmt.Errorf("write report: %w", err)
	}
	if c.Output == "-" {
		_, err := io.Copy(r.out, &b)
		return err
	}
	out := c.Output
	if out == "" {
		out = filepath.Join(folder(c.Path), "report."+c.Format)
	}
	if err := atomicfile.Save(out, b.Bytes()); err != nil {
		return err
	}
	r.println("wrote " + out)
	return nil
}

// options computes the further chapters of a report: day, readings, and what the flags ask for.
func (c *reportCmd) options(r *run, result *figure.Evaluation) (o report.Options, err error) {
	o.Sources = docs.Sources()
	day, given, err := report.DaySection(r.ctx, result)
	if err != nil {
		return o, err
	}
	if given {
		o.More = append(o.More, day)
	}
	if c.AllSections {
		tables, err := r.more(result, engine.Options{Solver: r.solver(c.Path), Calibration: result.Learned()})
		if err != nil {
			return o, err
		}
		o.More = append(o.More, tables...)
	}
	if c.WithTrace {
		tables, err := r.tracedTables(result)
		if err != nil {
			return o, err
		}
		o.More = append(o.More, tables...)
	}
	o.Measured, err = r.measuredChapter(c.Path, result)
	return o, err
}

// more computes the additional sections of a report: warm-up, foldback if there is a sensor, and alternative boards. A section
// that cannot be computed contains the reason.
func (r *run) more(result *figure.Evaluation, o engine.Options) ([]report.Table, error) {
	var out []report.Table
	warm := report.Table{Title: "Warm-up"}
	if w, err := study.SimulateWarmup(r.ctx, result, "typical", o); err != nil {
		warm.Text = capital(err.Error()) + "."
	} else {
		warm = report.WarmTable(w, looked)
	}
	out = append(out, warm)
	if result.Board.HasSensor {
		t := report.Table{Title: "Foldback"}
		if f, err := study.SimulateFoldback(r.ctx, result, o); err != nil {
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

// looked reports whether the report shows the temperatures at this time.
func looked(timeS float64) bool { return slices.Contains([]float64{60, 300, 600, 1800, 3600}, timeS) }

// capital returns s with a capital first letter.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func boardTable(list []choose.Option) report.Table {
	t := report.Table{
		Title: "Other boards", Text: "The same lamp on each board of the parts library, lowest T_j first. K/EUR: reduction of the maximum T_j at maximum ambient per additional euro.",
		Head: []string{"board", "maximum T_j", "change", "parts cost", "change", "K/EUR"},
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
		t.Rows = append(t.Rows, []string{name, temp(o.Values["lamp.junction-max-ambient"]), quantity.Signed(o.DeltaK, 1) + " K", quantity.Format(o.Values["cost.bom"], quantity.Money), quantity.Signed(o.Delta, 2) + " EUR", per})
	}
	return t
}
