package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/engine"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/start"
	"lampwright/internal/store"
)

// newAnswers are the answers that a starting design is written from, as flags.
type newAnswers struct {
	Kind           string `placeholder:"KIND" help:"Place: tank, terrarium or bench; computes a starting design."`
	Length         string `placeholder:"LENGTH" help:"Inside length, such as 700mm."`
	Width          string `placeholder:"LENGTH" help:"Inside width."`
	Height         string `placeholder:"LENGTH" help:"Inside height of a tank or terrarium."`
	WaterDepth     string `placeholder:"LENGTH" help:"Water depth of a tank."`
	SubstrateDepth string `placeholder:"LENGTH" help:"Substrate depth."`
	Plants         string `placeholder:"CLASS" help:"shade, common, carpet; terrarium; cuttings, ornamentals."`
	PPFDMin        string `name:"ppfd-min" placeholder:"PPFD" help:"Minimum PPFD, such as \"40 µmol/m²/s\"."`
	PPFDMax        string `name:"ppfd-max" placeholder:"PPFD" help:"Maximum PPFD."`
	FullLevelTime  string `placeholder:"TIME" help:"Time at full level, such as 8h."`
	CCT            string `name:"cct" placeholder:"CCT" help:"Colour temperature, such as 4500K."`
	Ra             string `placeholder:"RA" help:"Minimum colour rendering index."`
	AmbientTypical string `placeholder:"TEMPERATURE" help:"Typical ambient temperature."`
	AmbientMax     string `placeholder:"TEMPERATURE" help:"Maximum ambient temperature."`
	Budget         string `placeholder:"MONEY" help:"Budget for all parts."`
	Cooling        string `placeholder:"COOLING" help:"silent, or fan where a fan is acceptable."`
	Name           string `placeholder:"NAME" help:"Name of the lamp."`
}

// form returns the answers as a form; given is whether there is one.
func (n *newAnswers) form() (f start.Form, given bool) {
	f = start.Form(*n)
	return f, f != start.Form{}
}

// design writes a starting design into a new or empty folder, and prints how it was chosen.
func (c *newCmd) design(r *run, f start.Form) error {
	a, wrong := start.Read(f)
	for _, w := range wrong {
		_, _ = fmt.Fprintf(r.err, "--%s: %s\n", strings.ReplaceAll(w.Field, "_", "-"), w.Error)
	}
	if len(wrong) > 0 {
		return errShown
	}
	if list, err := os.ReadDir(c.Dir); err == nil && len(list) > 0 {
		return fmt.Errorf("%s is not empty; nothing was written", c.Dir)
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	lib, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		return problems
	}
	progress := r.progress("designs")
	l, err := start.Design(r.ctx, a, lib, engine.Options{Solver: &store.Memory{}}, progress)
	r.clearProgress()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return err
	}
	path := filepath.Join(c.Dir, project.DesignFile)
	if err := atomicfile.Save(path, l.Text); err != nil {
		return err
	}
	for _, n := range l.Notes {
		r.prose(n.What+": ", n.Why)
	}
	r.println("")
	r.println(fmt.Sprintf("wrote %s: %d stops, %d warnings at its review; run `lampwright review %s`", path, l.Stops,
		l.Warnings, c.Dir))
	return nil
}
