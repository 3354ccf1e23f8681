package sheetfile

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
	"lampwright/internal/spectrum"
	"lampwright/internal/textpos"
)

// cosine is an LM-63 file of I = 1000 cd · cos θ in absolute photometry, whose flux is π · 1000 cd.
func cosine() string {
	var angles, values []string
	for d := 0; d <= 90; d += 5 {
		angles = append(angles, fmt.Sprint(d))
		values = append(values, fmt.Sprintf("%.4f", 1000*math.Cos(float64(d)*math.Pi/180)))
	}
	return "IESNA:LM-63-2002\n[TEST] made by a test\n[MANUFAC] none\nTILT=NONE\n1 -1 1 19 1 1 2 0 0 0\n1 1 10\n" +
		strings.Join(angles, " ") + "\n0\n" + strings.Join(values, " ") + "\n"
}

// table writes a spectrum in columns.
func table(f func(nm float64) float64) string {
	var b strings.Builder
	b.WriteString("nm,relative\n")
	for nm := 380; nm <= 780; nm++ {
		fmt.Fprintf(&b, "%d,%.6g\n", nm, f(float64(nm)))
	}
	return b.String()
}

// TestDistribution: a cosine has a beam angle of 120°, a field angle of 2·acos(0.1) = 168.5°, and π·I₀ of flux.
func TestDistribution(t *testing.T) {
	c, err := Read(Of([]byte(cosine())), []byte(cosine()))
	if err != nil || c.Kind != Distribution {
		t.Fatal(c, err)
	}
	d := c.Distribution
	for _, tt := range []struct {
		name           string
		got, want, tol float64
	}{
		{"flux", d.FluxLm, math.Pi * 1000, 8},
		{"beam", d.BeamDeg, 120, 0.3},
		{"field", d.FieldDeg, 168.52, 0.3},
		{"peak", d.PeakCd, 1000, 1},
		{"stated", d.StatedLm, 0, 0},
		{"edition", float64(d.Edition), 2002, 0},
		{"at 60°", d.Planes[0].Candela[60], 500, 2},
		{"beyond 90°", d.Planes[0].Candela[120], 0, 0},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s: %g, want %g ± %g", tt.name, tt.got, tt.want, tt.tol)
		}
	}
	if !d.Axial || len(d.Planes) != 1 || len(d.Planes[0].Candela) != maxDrawn {
		t.Errorf("axial %v, %d planes", d.Axial, len(d.Planes))
	}
}

// TestSpectra: a black body has its temperature, one colour has none.
func TestSpectra(t *testing.T) {
	black := spectrum.Planck(3000)
	gauss := func(nm float64) float64 { return math.Exp(-4 * math.Ln2 * math.Pow((nm-592)/16, 2)) }
	for _, tt := range []struct {
		name             string
		f                func(float64) float64
		cct, peak, width float64
	}{
		{"black body", black.At, 3000, 780, 0},
		{"amber", gauss, 0, 592, 16},
	} {
		text := []byte(table(tt.f))
		c, err := Read(Of(text), text)
		if err != nil || len(c.Spectra) != 1 {
			t.Errorf("%s: %v, %v", tt.name, c, err)
			continue
		}
		s := c.Spectra[0]
		if math.Abs(s.CCTK-tt.cct) > 5 || math.Abs(s.PeakNM-tt.peak) > 1 || math.Abs(s.FWHMNM-tt.width) > 0.2 ||
			len(s.NM) < 100 || len(s.NM) != len(s.Relative) ||
			s.NM[0] != 380 {
			t.Errorf("%s: %g K, peak %g nm, width %g nm, from %g nm", tt.name, s.CCTK, s.PeakNM, s.FWHMNM, s.NM[0])
		}
	}
}

// TestOf recognises files by their content.
func TestOf(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		want       Kind
	}{
		{"LM-63", cosine(), Distribution},
		{"LM-63 of 1986", "a lamp\nTILT=NONE\n1 1000 1 2 1 1 1 0 0 0\n", Distribution},
		{"a spectrum", table(func(float64) float64 { return 1 }), Spectra},
		{"a spectrum with wide gaps", "nm,power\n400,0\n450,100\n550,70\n700,0\n", Spectra},
		{"a triangle beside the origin", "250,100\n400,100\n300,200\n", Outline},
		{"TM-27", `<?xml version="1.0"?><IESTM2714>`, Spectra},
		{"corners", "0,0\n100,0\n0,60\n", Outline},
		{"corners below zero", "-50;-30\n50;-30\n0;60\n", Outline},
		{"DXF", "  0\r\nSECTION\r\n", Outline},
		{"a letter", "Dear all,\nplease find enclosed\n", Unknown},
		{"a program", "MZ\x90\x00\x03", Unknown},
		{"nothing", "", Unknown},
		{"one number", "5\n", Unknown},
	} {
		if got := Of([]byte(tt.text)); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestReadRefuses: problems have their line.
func TestReadRefuses(t *testing.T) {
	for _, tt := range []struct {
		name, text, says string
		kind             Kind
		line             int
	}{
		{"a spectrum with a word", "nm,x\n400,1\n410,red\n420,1\n", "", Spectra, 3},
		{"LM-63 cut off", "IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 19\n", "", Distribution, 0},
		{"a crossing outline", "0,0\n10,10\n10,0\n0,10\n", "crosses", Outline, 0},
		{"no kind", "x", "none of the kinds", Unknown, 0},
	} {
		_, err := Read(tt.kind, []byte(tt.text))
		if err == nil {
			t.Errorf("%s: read", tt.name)
			continue
		}
		if p := textpos.Of(err)[0]; !strings.Contains(p.Text, tt.says) || tt.line > 0 && p.Line != tt.line {
			t.Errorf("%s: line %d: %s", tt.name, p.Line, p.Text)
		}
	}
}

// FuzzRead: whatever the bytes, contents or a reason, and never a number that JSON cannot state.
func FuzzRead(f *testing.F) {
	f.Add([]byte(cosine()))
	f.Add([]byte(table(func(nm float64) float64 { return nm })))
	f.Add([]byte("0,0\n100,0\n0,60\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Read(Of(data), data)
		if err != nil {
			return
		}
		var all []float64
		for _, s := range c.Spectra {
			all = append(append(all, s.PeakNM, s.FWHMNM, s.LERLmW, s.CCTK, s.Duv), s.Relative...)
		}
		if d := c.Distribution; d != nil {
			all = append(append(all, d.FluxLm, d.PeakCd, d.BeamDeg, d.FieldDeg, d.StatedLm), d.Planes[0].Candela...)
		}
		if o := c.Outline; o != nil && o.Rim.Kind == geom.KindRect {
			all = append(all, o.Rim.Rect.WidthM)
		}
		for _, v := range all {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%+v", c)
			}
		}
	})
}
