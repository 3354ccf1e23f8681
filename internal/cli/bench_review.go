package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"lampwright/internal/atomicfile"
	"lampwright/internal/bench"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/source"
	"lampwright/internal/version"
)

type benchReviewCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Figure string `placeholder:"KEY" default:"lamp.junction" help:"Result that the next reading shall determine."`
	Keep   bool   `help:"Write what was learned of the lamp to calibration.yaml, for --calibrated of other commands."`
	Draws  int    `name:"sampled" placeholder:"N" help:"Check what was learned by N importance samples, such as 2000."`
	JSON   bool   `name:"json" help:"Print as JSON."`
}

// benchJSON is what --json prints of a review.
type benchJSON struct {
	Version string             `json:"lampwright"`
	Review  *bench.Review      `json:"review"`
	NextFor string             `json:"next_for"`
	Next    []bench.Next       `json:"next,omitempty"`
	Doubts  []doubtJSON        `json:"doubts,omitempty"`
	Sampled *bench.SampleCheck `json:"sampled,omitempty"`
}

// doubtJSON is a doubt about the readings file.
type doubtJSON struct {
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

// Run compares the readings with the predictions. Its status is 1 where a reading differs, or a fault is likelier than
// the lamp as designed.
func (c *benchReviewCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	readings, err := r.loadReadings(c.Path, result)
	if err != nil {
		return err
	}
	if readings == nil {
		file := filepath.Join(folder(c.Path), project.ReadingsFile)
		return fmt.Errorf("%s not found; write one with `%s`", file, command("bench", "plan", "--readings", file,
			c.Path))
	}
	if !anyRead(readings) {
		file := filepath.Join(folder(c.Path), project.ReadingsFile)
		return fmt.Errorf("%s has no value yet; enter what you read, with its unit, and run this again", file)
	}
	if r.calibrated {
		return errors.New("the readings are compared with the lamp as designed; omit --calibrated")
	}
	m, err := r.measured(result, readings, c.Figure)
	if err != nil {
		return err
	}
	check, err := c.sampled(r, m)
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(r, benchJSON{version.String(), m.Review, c.Figure, m.Next, doubtsOf(readings.Doubts), check})
	} else {
		c.print(r, m.Measured, check)
	}
	if err == nil && c.Keep {
		err = c.keep(r, m, readings)
	}
	if err == nil && wrong(m.Review) {
		return errFound
	}
	return err
}

// sampled checks what was learned by importance samples; nil where none are asked for.
func (c *benchReviewCmd) sampled(r *run, m *measured) (*bench.SampleCheck, error) {
	if c.Draws == 0 {
		return nil, nil
	}
	if c.Draws < minDraws || c.Draws > maxDraws {
		return nil, fmt.Errorf("--sampled %d: use %d to %d samples", c.Draws, minDraws, maxDraws)
	}
	return m.model.Sampled(r.ctx, m.learned, c.Draws, 1)
}

// The number of importance samples of a check.
const (
	minDraws = 100
	maxDraws = 100_000
)

// keep writes what was learned beside the readings. A fault is not learned: it is to be fixed.
func (c *benchReviewCmd) keep(r *run, m *measured, readings *project.Readings) error {
	if f := m.Review.Faults; len(f) > 0 && f[0].Code != bench.Healthy {
		return fmt.Errorf("%s not written: the readings show a fault (%s); fix it, and read again",
			project.CalibrationFile, f[0].Title)
	}
	sum := sha256.Sum256(readings.File.Text())
	made := readings.Campaigns[len(readings.Campaigns)-1].Date.S
	file := filepath.Join(folder(c.Path), project.CalibrationFile)
	text := m.model.Calibration(m.learned, made, hex.EncodeToString(sum[:4])).Text()
	if err := atomicfile.Save(file, text); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	fmt.Fprintf(r.err, "wrote %s; compute the lamp with it by `%s`\n", file, command("review", "--calibrated", c.Path))
	return nil
}

// measured is the readings compared with their predictions, and what they tell.
type measured struct {
	*report.Measured
	model   *bench.Model
	learned *bench.Learned
}

// measured compares the readings of a lamp with the predictions, and learns.
func (r *run) measured(result *figure.Evaluation, readings *project.Readings, key string) (*measured, error) {
	figures, err := determined(result, nil)
	if err != nil {
		return nil, err
	}
	wanted, err := determined(result, []string{key})
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(figures, func(f bench.Figure) bool { return f.Key == key }) {
		figures = append(figures, wanted...)
	}
	defer r.clearProgress()
	tell := r.progress("steps of the review")
	step(tell, 1, 4)
	model, err := bench.New(result.Sys, readings)
	if err != nil {
		return nil, err
	}
	step(tell, 2, 4)
	review, fit, err := model.Review(r.ctx, figures)
	if err != nil {
		return nil, err
	}
	step(tell, 3, 4)
	if review.Faults, err = model.FindFaults(r.ctx, fit.Gaussian, fit.Used); err != nil {
		return nil, err
	}
	step(tell, 4, 4)
	next, err := model.Best(r.ctx, fit.Fit, wanted[0])
	shown := &report.Measured{Review: review, Readings: readings, Next: next, NextFor: wanted[0].Title}
	return &measured{shown, model, fit}, err
}

// measuredChapter returns the chapter of readings of a report; nil where the project has none, or no value yet.
func (r *run) measuredChapter(path string, result *figure.Evaluation) ([]report.Table, error) {
	readings, err := r.loadReadings(path, result)
	if err != nil || readings == nil || !anyRead(readings) {
		return nil, err
	}
	if r.calibrated { // the readings are compared with what was known before them
		plain := *r
		plain.calibrated = false
		if result, err = plain.evaluate(path); err != nil {
			return nil, err
		}
	}
	m, err := r.measured(result, readings, reviewFigure)
	if err != nil {
		return nil, fmt.Errorf("compare the readings: %w", err)
	}
	return m.Tables(), nil
}

// anyRead reports whether a reading has a value that is used.
func anyRead(readings *project.Readings) bool {
	for c := range readings.Campaigns {
		for i := range readings.Campaigns[c].Readings {
			if one := &readings.Campaigns[c].Readings[i]; !one.Pending() && !one.Doubted.On {
				return true
			}
		}
	}
	return false
}

// reviewFigure is the result that the next reading shall determine where none is named.
const reviewFigure = "lamp.junction"

// wrong reports whether the readings show that something is wrong.
func wrong(review *bench.Review) bool {
	for i := range review.Rows {
		if row := &review.Rows[i]; row.Verdict == bench.Differs && !row.Doubted {
			return true
		}
	}
	return len(review.Faults) > 0 && review.Faults[0].Code != bench.Healthy
}

// print prints a review as tables.
func (c *benchReviewCmd) print(r *run, m *report.Measured, check *bench.SampleCheck) {
	for i, g := range m.Readings.Campaigns {
		if i > 0 {
			r.println("")
		}
		r.println(fmt.Sprintf("Campaign %s, %s, room %s", g.Name.S, g.Date.S, temp(g.Room.SI)))
	}
	for _, t := range m.Tables() {
		r.println("")
		r.println(t.Title)
		if t.Text != "" {
			r.prose("", t.Text)
		}
		r.printTable(t)
	}
	if check != nil {
		r.println("")
		r.prose("", fmt.Sprintf("Check by %d importance samples, which count as %.0f: means differ by at most "+
			"%.2f standard "+
			"deviations (%s), standard deviations by at most %.0f %% (%s).", check.Draws, check.ESS, check.Mean,
			check.MeanOf,
			100*check.SD, check.SDOf))
	}
	if list := m.Readings.Doubts; len(list) > 0 {
		r.println("")
		r.println("Doubts about the readings file")
		for _, d := range list {
			d.At.File = inFolder(c.Path, d.At.File)
			r.println(d.Error())
		}
	}
}

// doubtsOf returns the doubts about a file as data.
func doubtsOf(list source.Problems) (out []doubtJSON) {
	for _, d := range list {
		out = append(out, doubtJSON{d.At.Line, d.At.Col, d.Msg, d.Hint})
	}
	return out
}
