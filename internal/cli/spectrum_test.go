package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/spectrum"
)

// TestSpectrumReference holds docs/spectrum.md to the code.
func TestSpectrumReference(t *testing.T) {
	t.Chdir("../..")
	text, err := os.ReadFile("docs/spectrum.md")
	if err != nil && !*update {
		t.Fatal(err)
	}
	hold(t, "docs/spectrum.md", string(text), SpectrumReference())
}

// TestSpectrumKeys: every key that --json prints is documented, and every documented key is printed.
func TestSpectrumKeys(t *testing.T) {
	file := filepath.Join(t.TempDir(), "hump.csv")
	if err := os.WriteFile(file, []byte("nm,W/nm\n440,0\n450,1\n460,0\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	one := spectraOf(t, file)[0]
	want := map[string]bool{"name": true, "quantity": true, "notes": true, "not_given": true}
	for _, k := range spectrumKeys() {
		want[k.Name] = true
		if k.Doc == "" {
			t.Errorf("key %s is not explained", k.Name)
		}
	}
	for k, v := range one {
		if !want[k] {
			t.Errorf("key %s is printed and not documented", k)
		}
		why, _ := one["not_given"].(map[string]any)
		if _, told := why[k]; (v == nil) != told {
			t.Errorf("key %s is %v, and not_given tells: %v", k, v, told)
		}
	}
	for k := range want {
		if _, ok := one[k]; !ok {
			t.Errorf("key %s is documented and not printed", k)
		}
	}
}

// spectraOf runs the command on a file and returns its objects.
func spectraOf(t *testing.T, file string) []map[string]any {
	t.Helper()
	var out, errOut bytes.Buffer
	if status := Main([]string{"spectrum", "--json", file}, &out, &errOut); status != statusOK {
		t.Fatalf("status %d: %s", status, errOut.String())
	}
	var got struct{ Spectra []map[string]any }
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	return got.Spectra
}

// TestSpectrumFile holds what the command makes of files against published values.
func TestSpectrumFile(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("wavelength nm,E,FL2,D65\n")
	fl2, d65 := illuminant(t, "FL2"), illuminant(t, "D65")
	for nm := 380; nm <= 780; nm += 5 {
		fmt.Fprintf(&rows, "%d,1,%.6g,%.6g\n", nm, fl2.At(float64(nm)), d65.At(float64(nm)))
	}
	file := filepath.Join(t.TempDir(), "cie.csv")
	if err := os.WriteFile(file, []byte(rows.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	got := spectraOf(t, file)
	for _, tt := range []struct {
		of             int
		key            string
		want, tol      float64
		source, reason string
	}{
		{0, "x", 1. / 3, 5e-5, "CIE15-2018, §7: the colour matching functions have equal sums", "over 380 nm to 780 nm"},
		{0, "y", 1. / 3, 5e-5, "the same", ""},
		{1, "x", 0.3721, 5e-5, "CIE15-2018, Table 10.1", "four decimals in print"},
		{1, "y", 0.3751, 5e-5, "CIE15-2018, Table 10.1", ""},
		{1, "ra", 64, 0.5, "CIE15-2018, Table 10.1", "whole numbers in print"},
		{2, "x", 0.31272, 5e-5, "CIE15-2018, Table 11.1, at 5 nm", ""},
		{2, "y", 0.32903, 5e-5, "CIE15-2018, Table 11.1, at 5 nm", ""},
		{2, "cct_k", 6504, 2, "CIE15-2018, §4.1.2: 6500·1.4388/1.4380", "the loci by 5 nm and by 1 nm functions differ by 1 K there, and the daylight formula rounds x to four digits"},
		{2, "ra", 100, 0.05, "CIE13.3-1995: daylight is its own reference", "references differ by the rounding of the table"},
		{2, "melanopic_der", 1, 1e-3, "CIES026-2018: D65 is the unit", "5 nm data against 1 nm"},
	} {
		v, ok := got[tt.of][tt.key].(float64)
		if !ok || math.Abs(v-tt.want) > tt.tol {
			t.Errorf("%s of %v: %v, want %g ± %g (%s; %s)", tt.key, got[tt.of]["name"], got[tt.of][tt.key], tt.want, tt.tol, tt.source, tt.reason)
		}
	}
}

func illuminant(t *testing.T, name string) spectrum.Spectrum {
	t.Helper()
	s, ok := spectrum.Illuminant(name)
	if !ok {
		t.Fatalf("no illuminant %s", name)
	}
	return s
}
