package spectrum

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

// sampleRows writes a hump at 550 nm, 380 nm to 780 nm every 5 nm, with a format for each row.
func sampleRows(format string) string {
	var b strings.Builder
	for nm := 380; nm <= 780; nm += 5 {
		fmt.Fprintf(&b, format, float64(nm), math.Exp(-math.Pow(float64(nm-550)/40, 2)))
	}
	return b.String()
}

func TestReadStyles(t *testing.T) {
	plain := sampleRows("%.0f,%.6f\n")
	want, err := Read([]byte(plain))
	if err != nil {
		t.Fatal(err)
	}
	comma := func(s string) string { return strings.ReplaceAll(s, ".", ",") }
	reversed := func() string {
		l := strings.Split(strings.TrimSpace(plain), "\n")
		for i, j := 0, len(l)-1; i < j; i, j = i+1, j-1 {
			l[i], l[j] = l[j], l[i]
		}
		return strings.Join(l, "\n")
	}()
	for _, tt := range []struct {
		name, text, note string
	}{
		{"header", "wavelength_nm,a lamp\n" + plain, ""},
		{"comments", "# made by hand\n\n" + plain, ""},
		{"German", "Wellenlänge;Leistung\n" + comma(sampleRows("%.1f;%.6f\n")), "decimal commas"},
		{"German, tabs", comma(sampleRows("%.1f\t%.6f\n")), "decimal commas"},
		{"German, blanks", comma(sampleRows("%.1f  %.6f\n")), "decimal commas"},
		{"German, old encoding", "Wellenl\xe4nge;Leistung\n" + comma(sampleRows("%.1f;%.6f\n")), "decimal commas"},
		{"tabs", sampleRows("%.0f\t%.6f\n"), ""},
		{"blanks", sampleRows("  %.0f   %.6f\n"), ""},
		{"comma and blank", sampleRows("%.0f, %.6f\n"), ""},
		{"quotes", sampleRows("\"%.0f\",\"%.6f\"\n"), ""},
		{"Windows", strings.ReplaceAll(plain, "\n", "\r\n"), ""},
		{"byte order mark", "\xef\xbb\xbf" + plain, ""},
		{"trailing separator", sampleRows("%.0f;%.6f;\n"), ""},
		{"exponents", sampleRows("%.0f,%.6e\n"), ""},
		{"falling", reversed, "turned round"},
		{"preamble", "Instrument: none\nDate: none\nnm,value\n" + plain, "passed over"},
		{"equal twins", plain + "550,1.000000\n", "twice"},
	} {
		got, err := Read([]byte(tt.text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if a, b := got[0].Spectrum.LuminousLm(), want[0].Spectrum.LuminousLm(); math.Abs(a/b-1) > 1e-4 {
			t.Errorf("%s: %g lm, want %g", tt.name, a, b)
		}
		if notes := strings.Join(got[0].Notes, "; "); !strings.Contains(notes, tt.note) {
			t.Errorf("%s: notes %q, want %q", tt.name, notes, tt.note)
		}
	}
}

func TestReadUnits(t *testing.T) {
	for _, tt := range []struct {
		name string
		unit float64
		note string
	}{{"micrometres", 1e-3, "micrometres"}, {"ångströms", 10, "ångströms"}, {"metres", 1e-9, "metres"}} {
		var b strings.Builder
		for nm := 380; nm <= 780; nm += 5 {
			fmt.Fprintf(&b, "%.6g,%.6f\n", float64(nm)*tt.unit, math.Exp(-math.Pow(float64(nm-550)/40, 2)))
		}
		got, err := Read([]byte(b.String()))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if p := got[0].Spectrum.PeakNM(); math.Abs(p-550) > 0.1 || !strings.Contains(strings.Join(got[0].Notes, ";"), tt.note) {
			t.Errorf("%s: peak at %g nm, notes %q", tt.name, p, got[0].Notes)
		}
		if lo, hi, step := got[0].Spectrum.Grid(); lo != 380 || hi != 780 || step != 5 {
			t.Errorf("%s: grid %d to %d by %d", tt.name, lo, hi, step)
		}
	}
}

func TestReadMends(t *testing.T) {
	for _, tt := range []struct {
		name, from, to, note string
	}{
		{"a gap", "550,1.000000", "550,", "missing"},
		{"a gap, spelt", "550,1.000000", "550,NaN", "missing"},
		{"noise", "380,0.000000", "380,-0.004", "dark noise"},
		{"order", "550,1.000000\n555,0.984496", "555,0.984496\n550,1.000000", "out of order from line 36"},
		{"uneven", "555,0.984496\n", "555.5,0.98\n", "not a regular grid"},
	} {
		plain := sampleRows("%.0f,%.6f\n")
		text := strings.Replace(plain, tt.from, tt.to, 1)
		if text == plain {
			t.Fatalf("%s: nothing was replaced", tt.name)
		}
		got, err := Read([]byte(text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if notes := strings.Join(got[0].Notes, "; "); !strings.Contains(notes, tt.note) {
			t.Errorf("%s: notes %q, want %q", tt.name, notes, tt.note)
		}
		if p := got[0].Spectrum.PeakNM(); math.Abs(p-550) > 5 { // the monotone curve across a missing peak does not rise above its neighbours
			t.Errorf("%s: peak at %g nm", tt.name, p)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	plain := sampleRows("%.0f,%.6f\n")
	without := func(lo, hi int) string {
		var b strings.Builder
		for _, l := range strings.Split(plain, "\n") {
			var nm int
			if _, err := fmt.Sscanf(l, "%d,", &nm); err == nil && nm > lo && nm < hi {
				continue
			}
			b.WriteString(l + "\n")
		}
		return b.String()
	}
	for _, tt := range []struct {
		name, text string
		line       int
		want       string
	}{
		{"empty", "", 0, "empty"},
		{"blank", " \n\t\n", 0, "empty"},
		{"binary", "\x00\x01\x02", 0, "not text"},
		{"UTF-16", "\xff\xfe3\x008\x00", 0, "UTF-8"},
		{"prose", "dear reader\nthis is no spectrum\n", 0, "no line with a wavelength"},
		{"one column", "400\n500\n600\n", 0, "no line with a wavelength"},
		{"word", strings.Replace(plain, "400,", "400,x", 1), 5, `"x`},
		{"hexadecimal", strings.Replace(plain, "400,0", "400,0x1p3", 1), 5, "not a number"},
		{"infinite", strings.Replace(plain, "400,0.000001", "400,Inf", 1), 5, "not a number"},
		{"huge", strings.Replace(plain, "400,0.000001", "400,1e300", 1), 5, "not a number"},
		{"negative", strings.Replace(plain, "400,0.000001", "400,-0.5", 1), 5, "negative"},
		{"twins that differ", plain + "550,0.5\n", 82, "550 nm stands twice"},
		{"wide gap", without(520, 580), 30, "between 520 nm and 580 nm"},
		{"all dark", sampleRows("%.0f,%.0f\n")[:0] + "400,0\n500,0\n600,0\n", 0, "no value is above zero"},
		{"two rows", "400,1\n500,1\n", 0, "three at least"},
		{"too long", strings.Replace(plain, "400,0", "400,1,0", 1), 5, "3 values, the first one 2"},
		{"photon energies", "1.6,1\n1.9,2\n3.2,1\n", 0, "fits neither"},
		{"infrared", "900,1\n910,2\n920,1\n", 0, "outside"},
		{"comma for both", "nm,W\n380,0,0,001\n385,0,0,002\n390,0,0,003\n", 2, "semicolons"},
		{"points and commas", "380;0,5\n385;1.5\n390;1,5\n", 0, "write all alike"},
		{"no wavelength", plain + ",0.5\n", 82, "wavelength is missing"},
		{"large", strings.Repeat("#", MaxFileBytes+1), 0, "at most"},
		{"rows", strings.Repeat("400,1\n", maxRows+1), maxRows + 1, "more than"},
		{"spectra", "400" + strings.Repeat(",1", maxColumns+1), 1, "at most 64"},
		{"broken XML", "<IESTM2714><SpectralData wavelength='400'>", 1, "well-formed"},
		{"other XML", "<svg></svg>", 0, "no SpectralData"},
	} {
		_, err := Read([]byte(tt.text))
		var p Problems
		if !errors.As(err, &p) {
			t.Errorf("%s: error %v, want Problems", tt.name, err)
			continue
		}
		if p[0].Line != tt.line || !strings.Contains(p.Error(), tt.want) {
			t.Errorf("%s: %q at line %d, want %q at line %d", tt.name, p.Error(), p[0].Line, tt.want, tt.line)
		}
	}
}

func TestReadReportsAllProblems(t *testing.T) {
	text := strings.Replace(sampleRows("%.0f,%.6f\n"), "400,", "400,x", 1)
	text = strings.Replace(text, "500,", "500,y", 1)
	_, err := Read([]byte(text))
	if err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("error %v, want two problems", err)
	}
	_, err = Read([]byte("400,1\n" + strings.Repeat("x,1\n", 100)))
	if err == nil || strings.Count(err.Error(), "\n") > maxProblems {
		t.Errorf("error %v, want at most %d problems and a last line", err, maxProblems)
	}
}

func TestReadSeveralSpectra(t *testing.T) {
	got, err := Read([]byte("nm;red;blue\n" + strings.ReplaceAll(sampleRows("%.0f;%.6f;1\n"), ".", ",")))
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || got[0].Name != "red" || got[1].Name != "blue" || got[1].Spectrum.At(400) != 1 {
		t.Errorf("%d spectra, names %q, %q", len(got), got[0].Name, got[1].Name)
	}
	if lo, hi := got[1].Spectrum.Known(); lo != 380 || hi != 780 {
		t.Errorf("a flat spectrum is known over %g to %g nm, want 380 to 780", lo, hi)
	}
}

func TestReadTM27(t *testing.T) {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<IESTM2714 xmlns=\"iestm2714\" version=\"1.0\"><Header><Description>an invented lamp</Description></Header>\n" +
		"<SpectralDistribution><SpectralQuantity>relative</SpectralQuantity><BandwidthFWHM>10</BandwidthFWHM>\n")
	b.WriteString(sampleRows("<SpectralData wavelength=\"%.1f\">%.6e</SpectralData>\n"))
	b.WriteString("</SpectralDistribution></IESTM2714>\n")
	got, err := Read([]byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	want, err := Read([]byte(sampleRows("%.0f,%.9f\n")))
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Name != "an invented lamp" || got[0].Quantity != "relative" || math.Abs(got[0].Spectrum.LERlmW()/want[0].Spectrum.LERlmW()-1) > 1e-5 {
		t.Errorf("%q, %q, %g lm/W", got[0].Name, got[0].Quantity, got[0].Spectrum.LERlmW())
	}
	if len(got[0].Notes) != 1 || !strings.Contains(got[0].Notes[0], "bandwidth") {
		t.Errorf("notes %q, want one on bandwidth", got[0].Notes)
	}
	for from, want := range map[string]string{
		">relative<":           "not the light of a source",
		"wavelength=\"400.0\"": "wavelength \"\" is not a number",
		"</Header>":            "well-formed",
	} {
		to := map[string]string{">relative<": ">reflectance<", "</Header>": ""}[from]
		_, err := Read([]byte(strings.Replace(b.String(), from, to, 1)))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("without %s: error %v, want %q", from, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"", "400,1\n500,2\n600,1\n", "nm;W\n400,5;1,5\n500;2\n600;1\n", "0.4 1\n0.5 2\n0.6 1\n", "400,1\n400,1\n500,NaN\n600,1\n",
		"<a><SpectralData wavelength='400'>1</SpectralData><SpectralData wavelength='500'>1</SpectralData><SpectralData wavelength='600'>1</SpectralData></a>",
		"400,-1\n500,1e-300\n600,1e99\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		got, err := Read(text)
		if err != nil {
			var p Problems
			if !errors.As(err, &p) || len(p) == 0 || len(p) > maxProblems+1 {
				t.Errorf("error %v, want 1 to %d Problems", err, maxProblems+1)
			}
			return
		}
		for _, n := range got {
			s := n.Spectrum
			for _, v := range []float64{s.RadiantW(), s.LuminousLm(), s.PhotonUmolS(400, 700), s.OnLampGrid().RadiantW()} {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Errorf("%q gives a sum of %g", text, v)
				}
			}
		}
	})
}
