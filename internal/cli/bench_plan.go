package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lampwright/internal/atomicfile"
	"lampwright/internal/bench"
	"lampwright/internal/figure"
	"lampwright/internal/inputfile"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/version"
)

type benchPlanCmd struct {
	Path     string   `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	HTML     string   `name:"html" placeholder:"FILE" help:"Write the plan as two A4 pages to print."`
	CSV      string   `name:"csv" placeholder:"FILE" help:"Write the readings as a table."`
	Readings string   `placeholder:"FILE" help:"Write a readings file, ready for values."`
	Figure   []string `placeholder:"KEY" help:"Result that the readings shall determine; repeat for more."`
	Force    bool     `help:"Replace files that exist."`
	JSON     bool     `name:"json" help:"Print as JSON."`
}

// Run plans the readings, and prints or writes the plan.
func (c *benchPlanCmd) Run(r *run) error {
	for _, file := range []string{c.HTML, c.CSV, c.Readings} {
		if err := notThere(file, c.Force); err != nil {
			return err
		}
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	readings, err := r.loadReadings(c.Path, result)
	if err != nil {
		return err
	}
	figures, err := determined(result, c.Figure)
	if err != nil {
		return err
	}
	tell := r.progress("steps of the plan")
	step(tell, 1, 2)
	roomK := bench.RoomOf(result.Sys, readings)
	sheet, err := bench.Plan(r.ctx, result.Sys, readings, figures,
		result.Sys.BenchAt(&result.Sol, roomK, bench.FirstFractions()))
	r.clearProgress()
	if err != nil {
		return err
	}
	if err := c.write(r, result.Name, sheet); err != nil {
		return err
	}
	switch {
	case c.JSON:
		return writeJSON(r, sheet)
	case c.HTML == "" && c.CSV == "" && c.Readings == "":
		printBenchPlan(r, sheet)
	}
	return nil
}

// step reports progress where it is drawn.
func step(tell func(done, total int), done, total int) {
	if tell != nil {
		tell(done, total)
	}
}

// write writes the files that were asked for.
func (c *benchPlanCmd) write(r *run, name string, s *bench.PlanSheet) error {
	for _, f := range []struct {
		path  string
		write func(w io.Writer) error
	}{
		{c.HTML, func(w io.Writer) error {
			return report.BenchPlan(w, name, s, report.Options{Program: "lampwright " + version.String()})
		}},
		{c.CSV, func(w io.Writer) error { return report.BenchPlanCSV(w, s) }},
		{c.Readings, func(w io.Writer) error {
			return report.BenchPlanReadings(w, name, time.Now().Format(time.DateOnly), s)
		}},
	} {
		if f.path == "" {
			continue
		}
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return err
		}
		if err := c.save(r, f.path, b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

// save writes a file, or prints it where the path is -.
func (c *benchPlanCmd) save(r *run, path string, data []byte) error {
	if path == "-" {
		_, err := r.out.Write(data)
		return err
	}
	err := atomicfile.Replace(path, nil, data)
	if c.Force {
		err = atomicfile.Save(path, data)
	}
	if errors.Is(err, atomicfile.ErrChanged) {
		return existsError(path)
	}
	if err == nil && !c.JSON {
		r.println("wrote " + path)
	}
	return err
}

// notThere is an error where a file exists that is not to be replaced.
func notThere(path string, force bool) error {
	if path == "" || path == "-" || force {
		return nil
	}
	if _, err := os.Lstat(path); err == nil {
		return existsError(path)
	}
	return nil
}

func existsError(path string) error {
	return fmt.Errorf("%s exists; nothing was written: name another file, or replace it with --force", path)
}

// loadReadings reads the readings file of a project; nil where it has none.
func (r *run) loadReadings(path string, result *figure.Evaluation) (*project.Readings, error) {
	readings, problems := project.LoadReadings(inputfile.Folder(folder(path)), result.Lamp.Project)
	if len(problems) > 0 {
		return nil, r.problems(problems, path)
	}
	return readings, nil
}

// determined returns results as functions of what varies; the usual ones where no key is given.
func determined(result *figure.Evaluation, keys []string) (out []bench.Figure, err error) {
	if len(keys) == 0 {
		return report.BenchFigures(result), nil
	}
	for _, key := range keys {
		f, ok := result.Figure(key)
		if !ok {
			return nil, fmt.Errorf("--figure: no result has the key %q; `lampwright figures` lists them%s", key,
				nearKey(result, key))
		}
		out = append(out, bench.Figure{
			Key: key, Title: f.Title, Dim: f.Dim, Value: result.ValueOf(key),
		})
	}
	return out, nil
}

// nearKey suggests the key that was probably meant.
func nearKey(result *figure.Evaluation, key string) string {
	var keys []string
	for _, f := range result.Figures {
		keys = append(keys, f.Key)
	}
	if near, ok := quantity.Near(key, keys); ok {
		return "; did you mean " + near + "?"
	}
	return ""
}

// printBenchPlan prints a plan as tables.
func printBenchPlan(r *run, s *bench.PlanSheet) {
	r.prose("", fmt.Sprintf("Bench plan for air at %s; about %s of work, waiting included.",
		quantity.Format(s.RoomK, quantity.Temperature), report.Duration(60*s.Minutes)))
	r.prose("", report.PlanCautions)
	for _, t := range report.BenchPlanTables(s) {
		r.println("")
		r.println(t.Title)
		if t.Text != "" {
			r.prose("", t.Text)
		}
		r.printTable(t)
	}
	r.println("")
	path := filepath.Join(".", project.ReadingsFile)
	r.prose("", strings.Join([]string{
		"`lampwright bench plan --html plan.html` writes two A4 pages to print;",
		"`--readings " + path + "` a file to enter the values.",
	}, " "))
}
