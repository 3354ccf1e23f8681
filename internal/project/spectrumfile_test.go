package project

import (
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/spectrum"
)

const ownPeaks = "    peaks:\n      - {at: 450 nm, width: 20 nm, share: 40 %}\n      - {at: 560 nm, width: 90 nm, " +
	"share: 60 %}\n"

// withSpectrum loads the good lamp with a spectrum file in place of peaks.
func withSpectrum(t *testing.T, file, more string) (*Project, string) {
	t.Helper()
	lamp, parts := apply(t, goodLamp, goodParts, []change{{ownPeaks, "    spectrum_file: white.csv\n" + more}})
	p, problems := Load(
		fstest.MapFS{
			DesignFile: {Data: []byte(lamp)}, partsName: {Data: []byte(parts)}, "parts/white.csv": {Data: []byte(file)},
		},
		DesignFile, partslib.Files(),
	)
	if p == nil {
		return nil, problems.Error()
	}
	return p, ""
}

// TestSpectrumFile: a file gives the part the spectrum that package spectrum reads in it, and what was mended is kept.
func TestSpectrumFile(t *testing.T) {
	p, problems := withSpectrum(t, "nm;W/nm\n400;0\n450;1,5\n500;0,5\n550;2\n600;1\n700;0\n", "")
	if p != nil {
		t.Error("gaps of 50 nm are read")
	}
	if !strings.HasPrefix(problems, "parts/white.csv:") {
		t.Errorf("the problem is not reported at the file's own line: %s", problems)
	}
	var rows strings.Builder
	rows.WriteString("nm;white;blue\n")
	for nm := 380; nm <= 780; nm += 10 {
		rows.WriteString(strings.Join([]string{strconv.Itoa(nm), "1,5", "0,5"}, ";") + "\n")
	}
	if _, problems = withSpectrum(
		t, rows.String(), "",
	); !strings.Contains(problems, "contains 2 spectra (white, blue); add spectrum_column: white") {
		t.Errorf("two columns: %s", problems)
	}
	if _, problems = withSpectrum(t, rows.String(), "    spectrum_column: red\n"); !strings.Contains(
		problems, `has no column "red"; its columns are white, blue`,
	) || !strings.HasPrefix(problems, partsName+":") {
		t.Errorf("no such column: %s", problems)
	}
	p, problems = withSpectrum(t, rows.String(), "    spectrum_column: blue\n")
	if p == nil {
		t.Fatal(problems)
	}
	e := p.Library.Emitters.Get("e1")
	if !e.Spectrum.Set || e.Spectrum.Source != "file white.csv" || e.Spectrum.Y[len(e.Spectrum.Y)/2] != 0.5 ||
		len(e.SpectrumNotes) == 0 || !strings.Contains(e.SpectrumNotes[0], "decimal commas") {
		t.Errorf("spectrum: %+v, notes %q", e.Spectrum.Source, e.SpectrumNotes)
	}
}

// TestSpectrumFileHostile: what is no spectrum is refused in time, and nothing is read beyond the bound.
func TestSpectrumFileHostile(t *testing.T) {
	for _, tt := range []struct{ name, file, want string }{
		{"empty", "", "white.csv"},
		{"words", "this is not a spectrum\n", "white.csv"},
		{"binary", "\x00\xff\x00", "white.csv"},
		{"negative", "nm,W\n400,1\n410,-1\n420,1\n430,1\n", "parts/white.csv:3:5: "},
		{"dark", "nm,W\n400,0\n410,0\n420,0\n430,0\n", "white.csv"},
		{"too large", strings.Repeat("400,1\n", spectrum.MaxFileBytes/6+10), "white.csv"},
		{"a long line", "nm,W\n400," + strings.Repeat("9", 5000) + "\n410,1\n", "white.csv"},
	} {
		p, problems := withSpectrum(t, tt.file, "")
		if p != nil || !strings.Contains(problems, tt.want) {
			t.Errorf("%s: %.300s", tt.name, problems)
		}
		if len(problems) > 20000 {
			t.Errorf("%s: %d bytes of problems", tt.name, len(problems))
		}
	}
}
