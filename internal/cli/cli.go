// Package cli is the command line: it reads what a person typed, runs the rooms, and prints.
//
// In: arguments and two writers. Out: text, and an exit status: 0 where all is well, 1 where a review has a stop or a
// check fails, 2 where the input cannot be used.
// Assumes: a terminal or a pipe; colours only where the terminal has them.
// Leaves to others: every figure and every judgement.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"

	"github.com/alecthomas/kong"

	"lampwright/internal/design"
	"lampwright/internal/project"
	"lampwright/internal/partslib"
)

// The exit statuses.
const (
	statusOK    = 0
	statusFound = 1 // a stop in a review, a miss in a check table
	statusBad   = 2 // arguments or files that cannot be used
)

// commands is the grammar of the command line.
type commands struct {
	Review   reviewCmd   `cmd:"" help:"Say what breaks, what is marginal and what no datasheet states, before anything is ordered."`
	Explain  explainCmd  `cmd:"" help:"Show how a figure came about: formula, numbers, inputs with their sources, validity."`
	Figures  figuresCmd  `cmd:"" help:"List every figure with its range."`
	Dossier  dossierCmd  `cmd:"" help:"Write the record of a lamp as one HTML file that prints well."`
	Compare  compareCmd  `cmd:"" help:"Put two lamps side by side, by figure and by finding."`
	Choose   chooseCmd   `cmd:"" help:"Put alternatives of one choice side by side: boards, sinks, lenses or hanging heights."`
	Trace    traceCmd    `cmd:"" help:"Follow the light through water, panes, room and shade by Monte Carlo: where each watt ends, and what every place gets."`
	Farfield farfieldCmd `cmd:"" help:"Write the lamp's own far field as an LM-63 file, or show flux, angles and zones of any such file."`
	Warmup   warmupCmd   `cmd:"" help:"Follow the lamp from a cold start: sink, junction, and what an infrared thermometer shows."`
	Foldback foldbackCmd `cmd:"" help:"Work out how the sensor cuts the light: table of codes, and whether the loop settles or hunts."`
	Solder   solderCmd   `cmd:"" help:"Say whether an iron can solder a wire to the board, and with which preheat."`
	Serve    serveCmd    `cmd:"" help:"Open the workspace: the whole lamp live in the browser, on this machine only."`
	Mix      mixCmd      `cmd:"" help:"Find the dimming levels that give a colour and an amount of light, or the way from dawn to noon."`
	Spectrum spectrumCmd `cmd:"" help:"Print all figures of each spectrum in a file: colour, rendering, photons, and what eyes get."`
	New      newCmd      `cmd:"" help:"Write a commented project to start from."`
	Shelf    shelfCmd    `cmd:"" help:"List the parts that a design may name, or show one."`
	Verify   verifyCmd   `cmd:"" help:"Compute the built-in table of published values, and show each beside what print says."`
	Format   formatCmd   `cmd:"" help:"Print the file format: a JSON Schema for editors, or a reference in Markdown."`
}

// run is what every command gets.
type run struct {
	ctx      context.Context
	out, err io.Writer
	drawn    bool // a line of progress stands on the terminal
}

// found ends a command with status 1 after it has said what it found.
var errFound = errors.New("found")

// shown ends a command with status 2 after it has said what is wrong.
var errShown = errors.New("shown")

// Main runs the command line and returns the exit status.
func Main(args []string, out, errOut io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	var c commands
	exited := -1
	parser, err := kong.New(&c,
		kong.Name("lampwright"),
		kong.Description("Predicts, reviews and compares high-power LED lamps, from datasheet numbers. It says what it checked; it never says that a lamp is safe."),
		kong.Writers(out, errOut),
		kong.Exit(func(code int) { exited = code }),
		kong.UsageOnError(),
	)
	if err != nil {
		panic("cli: " + err.Error())
	}
	if len(args) == 0 {
		args = []string{"--help"} // a newcomer who types the name alone is told what there is
	}
	k, err := parser.Parse(joinNegative(args))
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(errOut, "lampwright: %v\n", err)
		if wrong := (*kong.ParseError)(nil); errors.As(err, &wrong) && wrong.Context.Selected() != nil {
			fmt.Fprintf(errOut, "`lampwright %s --help` shows what it takes\n", wrong.Context.Selected().Name)
		} else {
			fmt.Fprintln(errOut, "`lampwright --help` lists the commands")
		}
		return statusBad
	}
	err = k.Run(&run{ctx: ctx, out: out, err: errOut})
	switch {
	case err == nil:
		return statusOK
	case errors.Is(err, errFound):
		return statusFound
	case errors.Is(err, errShown):
		return statusBad
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errOut, "lampwright: stopped")
		return statusBad
	}
	fmt.Fprintf(errOut, "lampwright: %v\n", err)
	return statusBad
}

var (
	flagAlone = regexp.MustCompile(`^--[a-z-]+$`)
	negative  = regexp.MustCompile(`^-\.?[0-9]`)
)

// joinNegative writes --duv -0.01 as --duv=-0.01: the parser takes whatever begins with a hyphen for a flag, and no flag begins
// with a digit.
func joinNegative(args []string) (out []string) {
	for _, a := range args {
		if n := len(out) - 1; n >= 0 && negative.MatchString(a) && flagAlone.MatchString(out[n]) {
			out[n] += "=" + a
			continue
		}
		out = append(out, a)
	}
	return out
}

// load reads the project that a path means: a folder with lamp.yaml, or a design file with its folder about it.
func (r *run) load(path string) (*project.Project, error) {
	info, err := os.Stat(path)
	if err != nil {
		if errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("there is no %s; give a project folder or its %s, or begin one with `lampwright new %s`", path, project.DesignFile, path)
		}
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	dir, name := path, project.DesignFile
	if !info.IsDir() {
		dir, name = filepath.Dir(path), filepath.Base(path)
	} else if _, err := os.Stat(filepath.Join(path, name)); errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no %s; give a project folder, or begin one with `lampwright new DIR`", filepath.Join(path, name))
	}
	p, problems := project.Load(os.DirFS(dir), name, partslib.Files())
	if p == nil {
		problems.Sort()
		for _, one := range problems {
			fmt.Fprintln(r.err, one.Error())
		}
		if n := len(problems); n > 1 {
			fmt.Fprintf(r.err, "%d problems\n", n)
		}
		return nil, errShown
	}
	return p, nil
}

// evaluate loads and computes a project.
func (r *run) evaluate(path string) (*design.Result, error) {
	p, err := r.load(path)
	if err != nil {
		return nil, err
	}
	return design.Evaluate(r.ctx, p, design.Options{Store: r.store(path)})
}
