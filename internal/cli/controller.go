package cli

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"lampwright/internal/atomicfile"
	"lampwright/internal/casefile"
	"lampwright/internal/controller"
	"lampwright/internal/day"
	"lampwright/internal/inputfile"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type controllerCmd struct {
	Path     string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Output   string `short:"o" placeholder:"FOLDER" help:"Folder to write the firmware to."`
	Year     int    `placeholder:"YEAR" help:"First year of the time zone table; default: this year."`
	Simulate string `placeholder:"WHAT" help:"Simulate the core: day, year, or a trace (FILE.json)."`
	Date     string `placeholder:"DATE" help:"Date of --simulate day; default: 21 June of the first year."`
	SVG      string `name:"svg" placeholder:"FILE" help:"Write a diagram of the simulation."`
	JSON     bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`

	date int // of --simulate day
}

// Run writes the firmware of the controller, or simulates it; with neither, it prints what would be written.
func (c *controllerCmd) Run(r *run) error {
	if c.SVG != "" && c.Simulate == "" {
		return errors.New("--svg needs --simulate day, year or a trace")
	}
	if c.Simulate != "" && c.Output == "" {
		return c.simulate(r)
	}
	plan, name, err := c.plan(r)
	if err != nil {
		return err
	}
	if c.Output != "" {
		if err := writeFirmware(c.Output, name, plan); err != nil {
			return err
		}
	}
	if c.Simulate != "" {
		return c.simulate(r)
	}
	if c.JSON {
		return writeJSON(r, plan)
	}
	t := r.table("output", "channel", "driver", "notes")
	for _, w := range plan.Wiring {
		t.row(w.Output, w.Channel, w.Driver, w.Notes)
	}
	t.print()
	for _, n := range plan.Notes {
		r.prose("- ", n)
	}
	if c.Output != "" {
		r.println("wrote " + c.Output + "; read README.md in it first")
	}
	return nil
}

// plan returns the configuration of the core for the design, and the name of the design.
func (c *controllerCmd) plan(r *run) (*study.ControllerPlan, string, error) {
	if err := c.dates(); err != nil {
		return nil, "", err
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return nil, "", err
	}
	plan, err := study.PlanController(result, study.ControllerOptions{FirstYear: c.Year})
	return plan, result.Lamp.Design.Name.S, err
}

// ours are the beginnings of files that this command writes: others are not written over.
var ours = []string{"/* SPDX-License-Identifier: 0BSD\n", "# Controller of ", "BSD Zero Clause License"}

// writeFirmware writes the files of the firmware into a folder. A file of the same name that is not of this command is
// an error, and nothing is written.
func writeFirmware(dir, name string, plan *study.ControllerPlan) error {
	files, err := controller.Sources(controller.Firmware{
		Title: name, Config: plan.Config, Wiring: plan.Wiring, Notes: plan.Notes,
	})
	if err != nil {
		return err
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name)
		text, err := inputfile.ReadPath(path, casefile.MaxBytes)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("read %s: %s", path, inputfile.Reason(err))
		}
		if !isOurs(text) {
			return fmt.Errorf("%s exists and is not of `lampwright controller`; nothing was written: name another "+
				"folder", path)
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, f := range files {
		if err := atomicfile.Save(filepath.Join(dir, f.Name), f.Data); err != nil {
			return err
		}
	}
	return nil
}

func isOurs(text []byte) bool {
	for _, head := range ours {
		if bytes.HasPrefix(text, []byte(head)) {
			return true
		}
	}
	return false
}

// simulate runs the core and prints its course.
func (c *controllerCmd) simulate(r *run) error {
	out, err := c.course(r)
	if casefile.Placed(err) {
		fmt.Fprintln(r.err, err)
		return errShown
	}
	if err != nil {
		return err
	}
	if c.SVG != "" {
		picture := report.ControllerPicture(out)
		if picture.Empty() {
			return errors.New("the simulation is too short for a diagram: it has one row")
		}
		if err := atomicfile.Save(c.SVG, picture.File()); err != nil {
			return err
		}
	}
	if c.JSON {
		return writeJSON(r, out)
	}
	printCourse(r, out)
	if c.SVG != "" {
		r.println("wrote " + c.SVG)
	}
	return nil
}

// course runs the core over a day, a year or a trace.
func (c *controllerCmd) course(r *run) (*study.ControllerRun, error) {
	if c.Simulate != "day" && c.Simulate != "year" {
		return c.trace(r)
	}
	plan, _, err := c.plan(r)
	if err != nil {
		return nil, err
	}
	if c.Simulate == "year" {
		return plan.SimulateYear(r.ctx, c.Year)
	}
	return plan.SimulateDay(r.ctx, c.date)
}

// dates sets the date of a simulated day and the first year of the zone table.
func (c *controllerCmd) dates() (err error) {
	if c.Date != "" {
		if c.date, err = day.ParseDate(c.Date); err != nil {
			return fmt.Errorf("--date: %w", err)
		}
		if c.Year == 0 {
			c.Year, _, _ = day.Civil(c.date)
		}
	}
	if c.Year == 0 {
		c.Year = time.Now().Year()
	}
	if c.Date == "" {
		c.date = day.Date(c.Year, 6, 21)
	}
	return nil
}

// trace runs the core over a trace; the design is computed only if the trace has no configuration.
func (c *controllerCmd) trace(r *run) (*study.ControllerRun, error) {
	data, err := inputfile.ReadPath(c.Simulate, casefile.MaxBytes)
	if err != nil {
		return nil, fmt.Errorf("--simulate takes day, year or a trace: read %s: %s", c.Simulate, inputfile.Reason(err))
	}
	t, err := casefile.ControllerTrace(c.Simulate, data, func() (controller.Config, error) {
		plan, _, err := c.plan(r)
		if err != nil {
			return controller.Config{}, err
		}
		return plan.Config, nil
	})
	if err != nil {
		return nil, err
	}
	return study.RunTrace(r.ctx, "Trace "+filepath.Base(c.Simulate), t)
}

// printCourse prints some rows of a simulated course; --json has all of them.
func printCourse(r *run, out *study.ControllerRun) {
	percent := func(v float64) string { return strconv.FormatFloat(100*v, 'f', 1, 64) + " %" }
	head := append([]string{out.Along}, out.Channels...)
	t := r.table(append(head, "fan", "state")...)
	for k := out.Every - 1; k < len(out.At); k += out.Every {
		row := []string{strconv.FormatFloat(out.At[k], 'g', 6, 64)}
		for i := range out.Channels {
			row = append(row, percent(out.Duty[i][k]))
		}
		t.row(append(row, percent(out.Fan[k]), controller.State(out.State[k]).String())...)
	}
	r.println(out.Title)
	t.print()
	changes := r.table("time", "state", "faults")
	for _, c := range out.Changes {
		at := time.Duration(c.Tick) * controller.TickMS * time.Millisecond
		changes.row(at.String(), c.State.String(), strings.Join(c.Fault.Words(), ", "))
	}
	r.println("")
	changes.print()
	if more := out.Changed - len(out.Changes); more > 0 {
		r.println(fmt.Sprintf("%d more changes", more))
	}
	if out.CRC32 != "" {
		r.println("CRC-32 " + out.CRC32)
	}
}
