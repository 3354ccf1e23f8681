// Package cli runs the command line: it parses arguments, calls the packages that compute, and prints.
//
// In: arguments and two writers. Out: text and an exit status: 0 for success, 1 if a review has a stop or a comparison
// fails, 2 if the input cannot be used.
// Assumes: a terminal or a pipe; colour only on a terminal.
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
	"slices"

	"github.com/alecthomas/kong"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/inputfile"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/source"
	"lampwright/internal/textpos"
	"lampwright/internal/version"
)

// The exit statuses.
const (
	statusOK    = 0
	statusFound = 1 // a stop in a review, a failed row of verify
	statusBad   = 2 // arguments or files that cannot be used
)

// commands is the grammar of the command line.
type commands struct {
	Review     reviewCmd     `cmd:"" help:"Check the design: failures, marginal values, missing data."`
	Explain    explainCmd    `cmd:"" help:"Show the derivation of a result: formula, inputs, sources."`
	Figures    figuresCmd    `cmd:"" help:"List all results with P10-P90."`
	Bom        bomCmd        `cmd:"" help:"Print the bill of materials: counts, prices, spares."`
	Report     reportCmd     `cmd:"" help:"Write a printable design report (HTML, JSON, CSV)."`
	Build      buildCmd      `cmd:"" help:"Write the build sheet: two A4 pages to order, wire and test by."`
	Bench      benchCmd      `cmd:"" help:"Measure the built lamp: plan, import and compare readings; learn."`
	Compare    compareCmd    `cmd:"" help:"Compare two designs: results and findings."`
	Choose     chooseCmd     `cmd:"" help:"Compare boards, heat sinks, lenses or hanging heights."`
	Trace      traceCmd      `cmd:"" help:"Trace the light (Monte Carlo): losses, maps, meter readings."`
	Photometry photometryCmd `cmd:"" help:"Export or inspect a luminous intensity distribution (LM-63)."`
	Day        dayCmd        `cmd:"" help:"Compute the lamp over its day: levels, light, colour, power, temperatures; a year of days."`
	Warmup     warmupCmd     `cmd:"" help:"Simulate warm-up: heat sink, junction, infrared reading."`
	Years      yearsCmd      `cmd:"" help:"Compute the lamp over years: lumen maintenance, lives, constant light."`
	Foldback   foldbackCmd   `cmd:"" help:"Compute the thermal foldback table; check loop stability."`
	Solder     solderCmd     `cmd:"" help:"Check iron power and preheat for a wire pad."`
	Controller controllerCmd `cmd:"" help:"Write the firmware of the controller, or simulate it."`
	Serve      serveCmd      `cmd:"" help:"Open the workspace in the browser."`
	Mix        mixCmd        `cmd:"" help:"Compute dimming levels for a colour or for a sunrise."`
	Spectrum   spectrumCmd   `cmd:"" help:"Analyse spectra: colour, rendering, photons, melanopic, hazard."`
	New        newCmd        `cmd:"" help:"Create a project."`
	Parts      partsCmd      `cmd:"" help:"List the parts library, or show one part."`
	Verify     verifyCmd     `cmd:"" help:"Compare the methods of this program with published values."`
	Format     formatCmd     `cmd:"" help:"Print the reference or the JSON Schema of the files."`
	Completion completionCmd `cmd:"" help:"Print the completion script of a shell: bash, zsh or fish."`
	Help       helpCmd       `cmd:"" help:"Show the arguments and flags of a command."`
	Complete   completeCmd   `cmd:"" name:"__complete" hidden:"" help:"Print the candidates for the last word."`

	Version kong.VersionFlag `help:"Print the version."`
}

// run is the environment of a command.
type run struct {
	ctx    context.Context
	args   []string
	out    *output
	err    io.Writer
	width  int  // columns for tables
	colour bool // the output takes colour
	drawn  bool // progress is drawn on the terminal

	calibrated bool // with the parameters that were learned from readings
}

// errFound ends a command with status 1; it has printed its result.
var errFound = errors.New("found")

// errShown ends a command with status 2; it has printed the problems.
var errShown = errors.New("shown")

// Main runs the command line and returns the exit status.
func Main(args []string, out, errOut io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	context.AfterFunc(ctx, stop) // so that a second Ctrl-C ends the program at once
	kept := &output{w: out}
	r := newRun(kept, errOut)
	r.ctx = ctx
	status := r.main(args)
	if kept.err != nil {
		fmt.Fprintf(r.err, "lampwright: the output is not complete: write: %s\n", inputfile.Reason(kept.err))
		return statusBad
	}
	return status
}

// main parses the arguments, runs the command and returns the exit status.
func (r *run) main(args []string) int {
	r.args = args
	var c commands
	exited := -1
	parser, err := kong.New(&c,
		kong.Name("lampwright"),
		kong.Description("Predicts, reviews and compares high-power LED lamps from datasheet values. "+
			"It reports what it checked; it does not certify safety."),
		kong.Writers(r.out, r.err),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Exit(func(code int) { exited = code }),
		kong.Vars{"version": "lampwright " + version.String()},
	)
	if err != nil {
		panic("cli: " + err.Error())
	}
	if len(args) == 0 {
		args = []string{"--help"} // the name alone lists the commands
	}
	if args[0] == "help" {
		args = append(slices.Clone(args[1:]), "--help")
	}
	if err := renamed(args); err != nil {
		fmt.Fprintf(r.err, "lampwright: %v\n", err)
		return statusBad
	}
	k, err := parser.Parse(joinNegative(verbatim(args)))
	if exited >= 0 {
		return exited
	}
	if r.out.err != nil {
		return statusBad // Main reports it
	}
	if err != nil {
		fmt.Fprintf(r.err, "lampwright: %v\n", err)
		if wrong := (*kong.ParseError)(nil); errors.As(err, &wrong) && wrong.Context.Selected() != nil {
			fmt.Fprintf(r.err, "`lampwright %s --help` shows its arguments\n", fullName(wrong.Context.Selected()))
		} else {
			fmt.Fprintln(r.err, "`lampwright --help` lists the commands")
		}
		return statusBad
	}
	r.calibrated = isCalibrated(k)
	return r.status(k.Run(r))
}

// fullName returns the name of a command with that of its group: bench import.
func fullName(n *kong.Node) string {
	if n.Parent != nil && n.Parent.Type == kong.CommandNode {
		return n.Parent.Name + " " + n.Name
	}
	return n.Name
}

// status returns the exit status of a command that ended with an error, and prints the error.
func (r *run) status(err error) int {
	switch {
	case err == nil:
		return statusOK
	case errors.Is(err, errFound):
		return statusFound
	case errors.Is(err, errShown):
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(r.err, "lampwright: stopped before it was complete")
	case r.out.err != nil: // Main reports it
	default:
		fmt.Fprintf(r.err, "lampwright: %s\n", errorText(err, r.args))
	}
	return statusBad
}

var (
	flagAlone = regexp.MustCompile(`^--[a-z-]+$`)
	negative  = regexp.MustCompile(`^-\.?[0-9]`)
)

// joinNegative changes --duv -0.01 to --duv=-0.01: the parser treats every argument with a leading hyphen as a flag, and no flag
// begins with a digit.
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

// load reads the project at a path: a folder with lamp.yaml, or a design file and its folder.
func (r *run) load(path string) (*project.Project, error) {
	info, err := os.Stat(path)
	if err != nil {
		if errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("%s not found; give a project folder or its %s, or create one with `%s`", path, project.DesignFile, command("new", path))
		}
		return nil, fmt.Errorf("open %s: %s", path, inputfile.Reason(err))
	}
	dir, name := path, project.DesignFile
	if !info.IsDir() {
		dir, name = filepath.Dir(path), filepath.Base(path)
	} else if _, err := os.Stat(filepath.Join(path, name)); errors.Is(err, os.ErrNotExist) {
		if above := filepath.Join(path, ".."); exists(filepath.Join(above, name)) {
			return nil, fmt.Errorf("%s not found; give the project folder, %s", filepath.Join(path, name), above)
		}
		return nil, fmt.Errorf("%s not found; give a project folder, or create one with `lampwright new DIR`", filepath.Join(path, name))
	}
	p, problems := project.Load(inputfile.Folder(dir), name, partslib.Files())
	if p == nil {
		return nil, r.problems(problems, path)
	}
	return p, nil
}

// maxShown is the number of problems that are printed; the others are counted.
const maxShown = 20

// problems prints the first problems of a project with their places and counts the others, and returns errShown.
func (r *run) problems(list source.Problems, path string) error {
	list.Sort()
	for i := range list {
		list[i].At.File = inFolder(path, list[i].At.File)
	}
	return r.printProblems(list)
}

// unreadable prints what the reader of a file found in it, and returns errShown.
func (r *run) unreadable(file string, err error) error {
	var list source.Problems
	for _, p := range textpos.Of(err) {
		list = append(list, source.InFile(file, p, ""))
	}
	return r.printProblems(list)
}

func (r *run) printProblems(list source.Problems) error {
	for _, one := range list[:min(len(list), maxShown)] {
		fmt.Fprintln(r.err, one.Error())
	}
	switch n := len(list); {
	case n > maxShown:
		fmt.Fprintf(r.err, "%d problems; the first %d are shown\n", n, maxShown)
	case n > 1:
		fmt.Fprintf(r.err, "%d problems\n", n)
	}
	return errShown
}

// folder returns the folder of a project path.
func folder(path string) string {
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		return filepath.Dir(path)
	}
	return path
}

// evaluate loads and computes a project.
func (r *run) evaluate(path string) (*figure.Evaluation, error) {
	p, err := r.load(path)
	if err != nil {
		return nil, err
	}
	o, err := r.options(path, p)
	if err != nil {
		return nil, err
	}
	o.Progress = r.progress("unit responses of the board")
	e, err := figure.Evaluate(r.ctx, p, o)
	r.clearProgress()
	return e, err
}

// review returns the findings of a lamp, or the error of a review that was interrupted.
func (r *run) review(result *figure.Evaluation) ([]finding.Finding, error) {
	findings := review.Review(r.ctx, result)
	return findings, r.ctx.Err()
}
