package colour

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/spectrum"
)

// TestAgainstColourManagementTools compares with the program specplot of Debian's package argyll, a general-purpose
// colour-management library written by others: chromaticity, colour temperature, Ra and R9 of LED spectra at 1 nm.
//
// It is skipped where specplot is not installed, except in CI (environment variable CI set), where that is a failure.
func TestAgainstColourManagementTools(t *testing.T) {
	tool, err := exec.LookPath("specplot")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("specplot is not installed; install Debian's package argyll")
		}
		t.Skip("specplot (Debian's package argyll) is not installed")
	}
	spectra := map[string]spectrum.Spectrum{}
	order := []string{"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"}
	for _, name := range order {
		s, ok := spectrum.Illuminant(name)
		if !ok {
			t.Fatal(name)
		}
		spectra[name] = s
	}
	for _, k := range []float64{2700, 4000, 6500} {
		w, err := PhosphorWhite(k, 80)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("modelled white of %g K", k)
		if spectra[name], err = w.Spectrum.Pick(380, 780, 1); err != nil {
			t.Fatal(err)
		}
		order = append(order, name)
	}
	for _, name := range order {
		s := spectra[name]
		theirs := runSpecplot(t, tool, s)
		xy, _ := Chromaticity(s)
		cct := CCT(xy)
		r, err := RenderingIndices(s)
		if err != nil {
			t.Fatal(err)
		}
		// Indices are printed to 0.1. From 5000 K up the tool's reference daylight is a little off: it gives illuminant
		// D65 itself Ra 99.9 and R9 99.8.
		byRa, byR9 := 0.1, 0.1
		if cct.K >= 5000 {
			byRa, byR9 = 0.2, 0.3
		}
		t.Logf("%-24s x %.6f %.6f  y %.6f %.6f  CCT %.2f %.2f  Ra %.2f %.1f  R9 %.2f %.1f", name,
			xy.X, theirs.x, xy.Y, theirs.y, cct.K, theirs.cct, r.Ra, theirs.ra, r.R[8], theirs.r9)
		for _, c := range []struct {
			what          string
			ours, his, by float64
		}{
			{"x", xy.X, theirs.x, 2e-6},
			{"y", xy.Y, theirs.y, 2e-6},
			{"CCT", cct.K, theirs.cct, 0.2},
			{"Ra", r.Ra, theirs.ra, byRa},
			{"R9", r.R[8], theirs.r9, byR9},
		} {
			if math.Abs(c.ours-c.his) > c.by {
				t.Errorf("%s: %s = %g, specplot says %g, want within %g", name, c.what, c.ours, c.his, c.by)
			}
		}
	}
}

type specplotFigures struct{ x, y, cct, ra, r9 float64 }

// runSpecplot writes a spectrum in the tool's text form and reads what it prints. The tool takes no numbers with
// exponents.
func runSpecplot(t *testing.T, tool string, s spectrum.Spectrum) specplotFigures {
	t.Helper()
	lo, hi, step := s.Grid()
	if step != 1 {
		t.Fatalf("step of %d nm", step)
	}
	v := s.ScaleToLm(100).Values()
	top := 0.0
	for _, p := range v {
		top = math.Max(top, p)
	}
	var b strings.Builder
	fmt.Fprintf(&b,
		"SPECT\n\nDESCRIPTOR \"test\"\nORIGINATOR \"test\"\nCREATED \"test\"\nKEYWORD \"MEAS_TYPE\"\nMEAS_TYPE "+
			"\"EMISSION\"\n"+
			"KEYWORD \"SPECTRAL_BANDS\"\nSPECTRAL_BANDS \"%d\"\nKEYWORD \"SPECTRAL_START_NM\"\nSPECTRAL_START_NM "+
			"\"%d.0\"\n"+
			"KEYWORD \"SPECTRAL_END_NM\"\nSPECTRAL_END_NM \"%d.0\"\nKEYWORD \"SPECTRAL_NORM\"\nSPECTRAL_NORM \"1.0\"\n"+
			"NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n", len(v), lo, hi, len(v))
	for i := range v {
		fmt.Fprintf(&b, "SPEC_%d ", lo+i)
	}
	b.WriteString("\nEND_DATA_FORMAT\n\nNUMBER_OF_SETS 1\nBEGIN_DATA\n")
	for _, p := range v {
		fmt.Fprintf(&b, "%.9f ", p/top)
	}
	b.WriteString("\nEND_DATA\n")
	file := filepath.Join(t.TempDir(), "spectrum.sp")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-s", file).CombinedOutput()
	if err != nil {
		t.Fatalf("specplot: %v\n%s", err, out)
	}
	read := func(pattern string) float64 {
		m := regexp.MustCompile(pattern).FindSubmatch(out)
		if m == nil {
			t.Fatalf("specplot prints no %s:\n%s", pattern, out)
		}
		f, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	return specplotFigures{
		x: read(`x,y = ([\d.]+) `), y: read(`x,y = [\d.]+ ([\d.]+)`),
		cct: read(`CCT = ([\d.]+)`), ra: read(`CRI = (-?[\d.]+)`), r9: read(`R9 = (-?[\d.]+)`),
	}
}
