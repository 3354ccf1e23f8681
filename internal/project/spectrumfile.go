package project

import (
	"fmt"
	"strings"

	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// readSpectrum reads the spectrum file that an emitter names, in place of a spectrum that is written out. A problem
// inside the file is reported at its line.
func (a *adder) readSpectrum(e *Emitter) {
	if !e.SpectrumFile.Set || e.Spectrum.Set || len(e.Peaks) > 0 {
		return // problems reports two spectra
	}
	ref := FileRef{Key: "spectrum_file", Name: e.SpectrumFile, MaxBytes: spectrum.MaxFileBytes, Example: "white.csv"}
	data, ok := ref.read(a)
	if !ok {
		return
	}
	all, err := readOnce(a.beside.spectra, ref.path(a), data, spectrum.Read)
	if err != nil {
		ref.inside(a, err, fmt.Sprintf("the spectrum of emitter %q", e.ID.S))
		return
	}
	one, ok := a.column(ref, all, e)
	if !ok {
		return
	}
	if !(one.Spectrum.RadiantW() > 0) {
		ref.report(a, "", " is dark")
		return
	}
	for _, n := range one.Notes {
		e.SpectrumNotes = append(e.SpectrumNotes, fmt.Sprintf("%s of emitter %s: %s", ref.Name.S, e.ID.S, n))
	}
	if from, to := one.Spectrum.Known(); from > 400 || to < 700 {
		e.SpectrumNotes = append(e.SpectrumNotes, fmt.Sprintf("%s of emitter %s ends at %g nm or %g nm while still "+
			"bright; what lies beyond is taken as dark", ref.Name.S, e.ID.S, from, to))
	}
	lo, _, step := one.Spectrum.Grid()
	e.Spectrum = source.Curve{Set: true, Y: one.Spectrum.Values(), Source: "file " + ref.Name.S, At: e.SpectrumFile.At}
	for i := range e.Spectrum.Y {
		e.Spectrum.X = append(e.Spectrum.X, float64(lo+i*step))
	}
	e.fromFile = true
}

// column returns the spectrum that an emitter means where its file contains several.
func (a *adder) column(ref FileRef, all []spectrum.Named, e *Emitter) (one spectrum.Named, ok bool) {
	var names []string
	for _, n := range all {
		if e.SpectrumColumn.Set && n.Name == e.SpectrumColumn.S {
			return n, true
		}
		names = append(names, n.Name)
	}
	switch {
	case e.SpectrumColumn.Set:
		a.problems = append(a.problems, problem(a.file, complaint{
			e.SpectrumColumn.At,
			fmt.Sprintf("spectrum_file %q has no column %q", e.SpectrumFile.S, e.SpectrumColumn.S),
			"its columns are " + strings.Join(names, ", "),
		}))
		return one, false
	case len(all) != 1:
		ref.report(
			a, "add spectrum_column: "+names[0], " contains %d spectra (%s)", len(all), strings.Join(names, ", "),
		)
		return one, false
	}
	return all[0], true
}
