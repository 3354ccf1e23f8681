package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/inputfile"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/readingcsv"
)

type benchImportCmd struct {
	Path       string            `arg:"" help:"Project folder or design file."`
	File       string            `arg:"" help:"CSV file: a table of readings, or a log with a column of time."`
	Campaign   string            `placeholder:"NAME" help:"Campaign of the readings; default: the only one."`
	Date       string            `placeholder:"DATE" help:"Date of a new campaign, such as 2031-09-12."`
	Room       string            `placeholder:"T" help:"Air temperature of a new campaign, such as 22 °C."`
	Instrument string            `placeholder:"NAME" help:"Instrument of all readings; default: the only one that displays the quantity."`
	Kind       string            `placeholder:"KIND" help:"Kind of a new instrument, such as lux meter."`
	What       []string          `placeholder:"QUANTITY" help:"Quantity of a column whose header does not state it, such as string voltage; repeat for more."`
	Set        map[string]string `placeholder:"KEY=VALUE" help:"Further key of all readings, as in the readings file, such as place=target; repeat for more."`
	Skip       []string          `sep:"none" placeholder:"HEADER" help:"Column to leave out; repeat for more."`
	SwitchOn   string            `placeholder:"TIME" help:"Time in a log at which the lamp was switched; default: 0 s, or its first line."`
	DryRun     bool              `help:"Check and report; write nothing."`
	JSON       bool              `name:"json" help:"Print as JSON."`
}

// Run appends the readings of a CSV file to the readings file of a project.
func (c *benchImportCmd) Run(r *run) error {
	o, err := c.options()
	if err != nil {
		return err
	}
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	was, problems := project.LoadReadings(inputfile.Folder(folder(c.Path)), p)
	if len(problems) > 0 {
		return r.problems(problems, c.Path)
	}
	data, err := inputfile.ReadPath(c.File, readingcsv.MaxBytes)
	if err != nil {
		return fmt.Errorf("read %s: %s", c.File, inputfile.Reason(err))
	}
	result, problems := readingcsv.Import(data, o, p, was)
	if len(problems) > 0 {
		return r.printProblems(problems)
	}
	path := filepath.Join(folder(c.Path), project.ReadingsFile)
	if !c.DryRun {
		var before []byte
		if was != nil {
			before = was.File.Text()
		}
		if err := atomicfile.Replace(path, before, result.Text); errors.Is(err, atomicfile.ErrChanged) {
			return fmt.Errorf("another program has changed %s; nothing was written, import again", path)
		} else if err != nil {
			return err
		}
	}
	return c.print(r, path, result)
}

// options returns what the flags state.
func (c *benchImportCmd) options() (readingcsv.Options, error) {
	o := readingcsv.Options{
		Name: c.File, Campaign: c.Campaign, Date: c.Date, Room: c.Room, Instrument: c.Instrument, Kind: c.Kind,
		Set: c.Set, Skip: c.Skip, SwitchOn: c.SwitchOn,
	}
	for _, word := range c.What {
		if err := oneOf("--what", word, project.ReadingQuantity("").Values()); err != nil {
			return o, err
		}
		o.What = append(o.What, project.ReadingQuantity(word))
	}
	if c.Kind != "" {
		if err := oneOf("--kind", c.Kind, project.InstrumentKind("").Values()); err != nil {
			return o, err
		}
	}
	for key := range c.Set {
		if err := oneOf("--set", key, readingcsv.Keys()); err != nil {
			return o, err
		}
	}
	return o, nil
}

// oneOf returns an error for a word that is none of a list.
func oneOf(flag, word string, words []string) error {
	if slices.Contains(words, word) {
		return nil
	}
	if near, ok := quantity.Near(word, words); ok {
		return fmt.Errorf("%s %q is not known; did you mean %q?", flag, word, near)
	}
	return fmt.Errorf("%s %q is not known; use %s", flag, word, strings.Join(words, ", "))
}

// print reports how the file was read, and what was written.
func (c *benchImportCmd) print(r *run, path string, result *readingcsv.Result) error {
	doubts := make([]string, len(result.Doubts))
	for i, d := range result.Doubts {
		doubts[i] = d.Error()
	}
	if c.JSON {
		return writeJSON(r, struct {
			File     string   `json:"file"`
			Campaign string   `json:"campaign"`
			Readings int      `json:"readings"`
			Written  bool     `json:"written"`
			Notes    []string `json:"notes"`
			Doubts   []string `json:"doubts"`
		}{path, result.Campaign, result.Added, !c.DryRun, result.Notes, doubts})
	}
	for _, note := range result.Notes {
		r.println(note)
	}
	for _, d := range doubts {
		r.println("doubt: " + d)
	}
	done := "appended to " + path
	if c.DryRun {
		done = "can be appended to " + path + "; nothing was written"
	}
	r.println(fmt.Sprintf("campaign %q, readings: %d, %s", result.Campaign, result.Added, done))
	return nil
}
