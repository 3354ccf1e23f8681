package project

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// readSpectrum reads the spectrum file that an emitter names, from the folder of its file of parts, in place of a
// spectrum that is written out. What is wrong in the file is told at its own lines.
func (a *adder) readSpectrum(fsys fs.FS, dir string, e *Emitter) {
	if !e.SpectrumFile.Set || e.Spectrum.Set || len(e.Peaks) > 0 {
		return // where there are two, problems tells so
	}
	name := e.SpectrumFile.S
	complain := func(hint, format string, args ...any) {
		a.problems = append(a.problems, problem(a.file, complaint{e.SpectrumFile.At, fmt.Sprintf(format, args...), hint}))
	}
	if name == "" || strings.ContainsAny(name, `/\:`) || strings.HasPrefix(name, ".") {
		complain("put the file beside this one and write its name alone, such as white.csv", "spectrum_file %q is not the name of a file in the folder of parts", name)
		return
	}
	file, err := fsys.Open(path.Join(dir, name))
	if err != nil {
		complain("it is looked for in the folder of this file of parts", "spectrum_file %q: %s", name, reason(err))
		return
	}
	defer file.Close()
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		complain("", "spectrum_file %q is not a file", name)
		return
	}
	data, err := readAtMost(file, spectrum.MaxFileBytes+1)
	if err != nil {
		complain("", "spectrum_file %q: %s", name, reason(err))
		return
	}
	all, err := spectrum.Read(data)
	if problems := spectrum.Problems(nil); errors.As(err, &problems) {
		lines := strings.Split(string(data), "\n")
		for _, q := range problems {
			if q.Line < 1 || q.Line > len(lines) {
				complain("", "spectrum_file %q: %s", name, q.Text)
				continue
			}
			p := source.Problem{At: source.Pos{File: path.Join(dir, name), Line: q.Line, Col: 1}, Msg: q.Text, Hint: fmt.Sprintf("emitter %q takes its spectrum from here", e.ID.S)}
			p.Line = cut(strings.TrimRight(lines[q.Line-1], "\r"))
			a.problems = append(a.problems, p)
		}
		return
	} else if err != nil {
		complain("", "spectrum_file %q: %v", name, err)
		return
	}
	one, ok := a.column(all, e, complain)
	if !ok {
		return
	}
	if !(one.Spectrum.RadiantW() > 0) {
		complain("", "spectrum_file %q is dark", name)
		return
	}
	for _, n := range one.Notes {
		e.SpectrumNotes = append(e.SpectrumNotes, fmt.Sprintf("%s of emitter %s: %s", name, e.ID.S, n))
	}
	if from, to := one.Spectrum.Known(); from > 400 || to < 700 {
		e.SpectrumNotes = append(e.SpectrumNotes, fmt.Sprintf("%s of emitter %s ends at %g nm or %g nm while still bright; what lies beyond is taken as dark", name, e.ID.S, from, to))
	}
	lo, _, step := one.Spectrum.Grid()
	e.Spectrum = source.Curve{Set: true, Y: one.Spectrum.Values(), Source: "file " + name, At: e.SpectrumFile.At}
	for i := range e.Spectrum.Y {
		e.Spectrum.X = append(e.Spectrum.X, float64(lo+i*step))
	}
	e.fromFile = true
}

// column returns the spectrum that an emitter means where its file holds several.
func (a *adder) column(all []spectrum.Named, e *Emitter, complain func(hint, format string, args ...any)) (one spectrum.Named, ok bool) {
	var names []string
	for _, n := range all {
		if e.SpectrumColumn.Set && n.Name == e.SpectrumColumn.S {
			return n, true
		}
		names = append(names, n.Name)
	}
	switch {
	case e.SpectrumColumn.Set:
		a.problems = append(a.problems, problem(a.file, complaint{e.SpectrumColumn.At, fmt.Sprintf("spectrum_file %q has no column %q", e.SpectrumFile.S, e.SpectrumColumn.S), "its columns are " + strings.Join(names, ", ")}))
		return one, false
	case len(all) != 1:
		complain("say which one: spectrum_column: "+names[0], "spectrum_file %q holds %d spectra (%s)", e.SpectrumFile.S, len(all), strings.Join(names, ", "))
		return one, false
	}
	return all[0], true
}

// cut shortens a long line for a message.
func cut(line string) string {
	const most = 80
	if r := []rune(line); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return line
}
