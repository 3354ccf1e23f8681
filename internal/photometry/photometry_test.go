package photometry

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lampwright/internal/intensity"
	"lampwright/internal/textpos"
)

// file builds an LM-63 text from parts.
func file(edition, header string, v, h []float64, candela func(h, v float64) float64) string {
	var b strings.Builder
	fmt.Fprintf(
		&b, "%s\n[TEST] 1\n[TESTLAB] invented\n[ISSUEDATE] 2026-11-25\n[MANUFAC] invented\nTILT=NONE\n%s\n", edition,
		fmt.Sprintf(header, len(v), len(h)),
	)
	for _, list := range [][]float64{v, h} {
		for _, x := range list {
			fmt.Fprintf(&b, "%g ", x)
		}
		b.WriteByte('\n')
	}
	for _, hh := range h {
		for _, vv := range v {
			fmt.Fprintf(&b, "%g ", candela(hh, vv))
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func steps(from, to, by float64) []float64 {
	var out []float64
	for x := from; x <= to+1e-9; x += by {
		out = append(out, x)
	}
	return out
}

const absoluteC = "1 -1 1 %d %d 1 2 0 0 0\n1 1 10"

func TestFlux(t *testing.T) {
	rad := func(d float64) float64 { return d * math.Pi / 180 }
	// a smooth pattern that depends on the azimuth, with the symmetry of a quadrant
	oval := func(h, v float64) float64 {
		return 1000 * math.Pow(math.Cos(rad(v)), 2) * (1 + 0.5*math.Cos(2*rad(h)))
	}
	ovalFlux := 1000 * 2 * math.Pi / 3 // the second term integrates to nothing
	lopsided := func(h, v float64) float64 { return 1000 * math.Cos(rad(v)) * (1 + 0.5*math.Sin(rad(h))) }
	for _, tt := range []struct {
		name, text string
		want, tol  float64
		source     string
	}{
		{
			"uniform 100 cd",
			file(
				"IESNA:LM-63-2002", absoluteC, steps(0, 180, 10), []float64{0},
				func(_, _ float64) float64 { return 100 },
			),
			1256.637, 1e-3, "checks.md 46: 4 pi I",
		},
		{
			"1000 cos V",
			file(
				"IESNA:LM-63-2002", absoluteC, steps(0, 90, 5), []float64{0},
				func(_, v float64) float64 { return 1000 * math.Cos(rad(v)) },
			),
			3139.597, 0.05, "checks.md 47, linear",
		},
		{
			"step at 30 deg",
			file("IESNA:LM-63-2002", absoluteC, []float64{0, 29.99, 30.01, 90}, []float64{0},
				func(_, v float64) float64 {
					if v < 30 {
						return 1000
					}
					return 0
				}), 841.787, 0.1, "checks.md 48",
		},
		{"quadrant", file("IESNA91", absoluteC, steps(0, 90, 1), steps(0, 90, 5), oval), ovalFlux, 0.3, "formula"},
		{
			"half, 0 to 180", file("IESNA91", absoluteC, steps(0, 90, 1), steps(0, 180, 5), oval), ovalFlux, 0.3,
			"formula",
		},
		{
			"half, 90 to 270", file("IESNA91", absoluteC, steps(0, 90, 1), steps(90, 270, 5), oval), ovalFlux, 0.3,
			"formula",
		},
		{
			"whole", file("IESNA91", absoluteC, steps(0, 90, 1), steps(0, 360, 5), lopsided), 1000 * math.Pi, 0.3,
			"formula",
		},
		{
			"whole, not closed", file("IESNA91", absoluteC, steps(0, 90, 1), steps(0, 355, 5), lopsided),
			1000 * math.Pi, 0.3, "formula",
		},
		{
			"B, front half sphere",
			file(
				"IESNA91", "1 -1 1 %d %d 2 2 0 0 0\n1 1 10", steps(-90, 90, 5), steps(-90, 90, 5),
				func(_, _ float64) float64 { return 100 },
			),
			200 * math.Pi, 0.1, "formula: 2 pi I",
		},
		{
			"B, mirrored",
			file(
				"IESNA91", "1 -1 1 %d %d 2 2 0 0 0\n1 1 10", steps(-90, 90, 5), steps(0, 90, 5),
				func(_, _ float64) float64 { return 100 },
			),
			200 * math.Pi, 0.1, "formula: 2 pi I",
		},
		{
			"A, front half sphere",
			file(
				"IESNA91", "1 -1 1 %d %d 3 2 0 0 0\n1 1 10", steps(-90, 90, 5), steps(-90, 90, 5),
				func(_, _ float64) float64 { return 100 },
			),
			200 * math.Pi, 0.1, "formula: 2 pi I",
		},
		{
			"factors of 1991 multiply",
			file(
				"IESNA91", "1 1000 2 %d %d 1 2 0 0 0\n0.9 0.8 10", steps(0, 180, 10), []float64{0},
				func(_, _ float64) float64 { return 10 },
			),
			4 * math.Pi * 10 * 2 * 0.9 * 0.8, 1e-6, "LM-63-1991",
		},
		{
			"the code of 2019 does not",
			file(
				"IES:LM-63-2019", "1 1000 2 %d %d 1 2 0 0 0\n0.9 1.00010 10", steps(0, 180, 10), []float64{0},
				func(_, _ float64) float64 { return 10 },
			),
			4 * math.Pi * 10 * 2 * 0.9, 1e-6, "LM-63-2019",
		},
	} {
		f, err := Read([]byte(tt.text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if got := f.FluxLm(); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s: %.6g lm, want %.6g ± %g (%s)", tt.name, got, tt.want, tt.tol, tt.source)
		}
	}
}

// The planes of a half description unfold so that a lopsided pattern keeps its sides.
func TestSymmetryKeepsSides(t *testing.T) {
	// Bright towards 90°, mirrored about the 90°–270° plane.
	text := file(
		"IESNA91", absoluteC, steps(0, 90, 10), steps(90, 270, 45), func(h, _ float64) float64 { return 270 - h },
	)
	f, err := Read([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	_, phi, cd := f.Polar()
	at := map[float64]float64{}
	for j, p := range phi {
		at[math.Round(p*180/math.Pi)] = cd[j][3]
	}
	for deg, want := range map[float64]float64{
		0: 90, 45: 135, 90: 180, 135: 135, 180: 90, 225: 45, 270: 0, 315: 45, 360: 90,
	} {
		if got, ok := at[deg]; !ok || got != want {
			t.Errorf("plane %g°: %g cd, want %g", deg, got, want)
		}
	}
}

// Types A and B turned to point down keep their flux and their peak.
func TestPlanarTurnsDown(t *testing.T) {
	for _, kind := range []int{2, 3} {
		text := file("IESNA91", fmt.Sprintf(
			"1 -1 1 %%d %%d %d 2 0 0 0\n1 1 10", kind,
		), steps(-90, 90, 2), steps(-90, 90, 2),
			func(h, v float64) float64 {
				c := math.Cos(h*math.Pi/180) * math.Cos(v*math.Pi/180)
				return 1000 * c * c * c * c
			})
		f, err := Read([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		d, err := f.Distribution()
		if err != nil {
			t.Fatal(err)
		}
		// cos H cos V is the cosine from the aim in both types: flux of cos⁴ is 2π/5 of the peak.
		want := 1000 * 2 * math.Pi / 5
		if flux := f.FluxLm(); math.Abs(flux/want-1) > 0.003 || math.Abs(d.PerFlux(1, 0)*flux-1000) > 1e-6 {
			t.Errorf("type %d: %.5g lm, peak %g; want %.5g lm, 1000", kind, flux, d.PerFlux(1, 0)*flux, want)
		}
		for _, deg := range []float64{20, 50} {
			c := math.Cos(deg * math.Pi / 180)
			for _, phi := range []float64{0, 1, 2.5, 4} {
				if got := d.PerFlux(c, phi) * f.FluxLm(); math.Abs(got-1000*c*c*c*c) > 1 {
					t.Errorf("type %d: %g cd at %g° and %g rad, want %g", kind, got, deg, phi, 1000*c*c*c*c)
				}
			}
		}
	}
}

// TestNarrowPlanarBeam: a beam of 2° by 4° measured each 0.25° in type B keeps its axes: 2° to the right of the aim and
// 4° above it, and none is lost between the nodes of a coarser grid.
func TestNarrowPlanarBeam(t *testing.T) {
	text := file("IESNA91", "1 -1 1 %d %d 2 2 0 0 0\n1 1 10", steps(-6, 6, 0.25), steps(-5, 5, 0.25),
		func(h, v float64) float64 { return 1000 * math.Exp(-math.Ln2*(h*h+v*v/4)) })
	f, err := Read([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	d, err := f.Distribution()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ deg, phi, want float64 }{
		{0, 0, 1000}, {1, 0, 500}, {1, math.Pi, 500}, {2, math.Pi / 2, 500}, {2, -math.Pi / 2, 500}, {7, 0, 0},
	} {
		if got := d.PerFlux(math.Cos(tt.deg*math.Pi/180), tt.phi) * f.FluxLm(); math.Abs(got-tt.want) > 1 {
			t.Errorf("%g cd at %g° and %g rad, want %g", got, tt.deg, tt.phi, tt.want)
		}
	}
	// An ellipse with half axes a and b has a mean radius over the azimuth of 2 b K(k)/π, k² = 1 − (b/a)²: with 1° and
	// 2° the complete elliptic integral K(√0.75) = 2.156516 gives 1.372881°. Source: AbramowitzStegun1964, 17.3.
	if got := intensity.BeamOf(d).BeamRad * 180 / math.Pi; math.Abs(got-2*1.372881) > 0.01 {
		t.Errorf("beam angle %.4f°, want 2 · 1.3729°", got)
	}
}

// TestPoleMean: planes count straight down by the angle about the axis that they represent. Planes at 0°, 180° and 270°
// represent 135°, 135° and 90°.
func TestPoleMean(t *testing.T) {
	f := &File{
		Type: TypeC, VerticalDeg: []float64{0, 90}, HorizontalDeg: []float64{0, 180, 270, 360},
		Candela: [][]float64{{100, 0}, {100, 0}, {900, 0}, {100, 0}},
	}
	_, _, cd := f.Polar()
	want := (100*135 + 100*135 + 900*90) / 360.0
	for j := range cd {
		if math.Abs(cd[j][0]-want) > 1e-9 {
			t.Errorf("plane %d: %g cd straight down, want %g", j, cd[j][0], want)
		}
	}
}

// TestFieldTwelveOfZero: files of 1986 and 1991 with 0 for the ballast-lamp factor mean 1.
func TestFieldTwelveOfZero(t *testing.T) {
	body := "TILT=NONE\n1 -1 1 2 1 1 2 0 0 0\n1 0 10\n0 90\n0\n100 50\n"
	f, err := Read([]byte("IESNA91\n" + body))
	if err != nil || f.Candela[0][0] != 100 || !strings.Contains(strings.Join(f.Warnings, " "), "factor is 0") {
		t.Fatalf("%+v, %v", f, err)
	}
}

// TestASCII: written files hold ASCII alone.
func TestASCII(t *testing.T) {
	data, err := Write(Report{
		Keywords:    []Keyword{{"LUMINAIRE", "Größe Ø 60° × 5 µm – “Ärmel” 光"}},
		VerticalDeg: []float64{0, 90}, HorizontalDeg: []float64{0}, Candela: [][]float64{{1, 0}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := "[LUMINAIRE] Grosse O 60 deg x 5 um - \"Armel\" ?\r\n"; !strings.Contains(string(data), want) {
		t.Errorf("%q, want %q in it", data, want)
	}
	for _, c := range data {
		if c > 0x7e {
			t.Fatalf("byte %#x in %q", c, data)
		}
	}
}

func TestSloppyFilesAreRead(t *testing.T) {
	body := "1 -1 1 3 1 1 1 0.5 0.5 0 1 1 10\n0 45 90 0\n100 70 0\n"
	for _, tt := range []struct{ name, text, warning string }{
		{"1986 label first", "my old lamp\nTILT=NONE\n" + body, ""},
		{
			"Windows line ends and mark",
			"\xef\xbb\xbfIESNA91\r\n[TEST] 1\r\nTILT=NONE\r\n" + strings.ReplaceAll(body, "\n", "\r\n"), "",
		},
		{"old Mac line ends", "IESNA91\rTILT=NONE\r" + strings.ReplaceAll(body, "\n", "\r"), ""},
		{"blanks round the equals sign", "IESNA91\ntilt = none\n" + body, ""},
		{"one number a line", "IESNA91\nTILT=NONE\n" + strings.Join(strings.Fields(body), "\n"), ""},
		{"commas and exponents", "IESNA91\nTILT=NONE\n1,-1,1e0,+3,1,1,1,.5,5.e-1,0,1,1,10,0,45,90,0,1.0E2,70.,0", ""},
		{"control-Z and junk after it", "IESNA91\nTILT=NONE\n" + body + "\x1a\x00junk", ""},
		{"extra words at the end", "IESNA91\nTILT=NONE\n" + body + "END", "passed over"},
		{"Latin-1", "IESNA91\n[OTHER] caf\xe9\nTILT=NONE\n" + body, ""},
		{"tilt file", "IESNA91\nTILT=lamp.tlt\n" + body, "not read"},
		{"tilt included", "IESNA91\nTILT=INCLUDE\n1\n3\n0 45 90\n1 .9 .8\n" + body, "tilt factors"},
		{"keywords missing", "IESNA:LM-63-2002\nTILT=NONE\n" + body, "[TESTLAB]"},
		{"scaled twice", "IESNA91\nTILT=NONE\n1 -1 2 3 1 1 1 0 0 0 2 1 10\n0 45 90 0\n100 70 0\n", "applied twice"},
		{
			"more light than lamps", "IESNA91\nTILT=NONE\n1 10 1 3 1 1 1 0 0 0 1 1 10\n0 45 90 0\n100 70 0\n",
			"cannot be",
		},
		{"MORE lines", "IESNA91\n[OTHER] a\n[MORE] b\nTILT=NONE\n" + body, ""},
		{"text TILT in a label", "TILTED lamp\nTILT=NONE\n" + body, ""},
	} {
		f, err := Read([]byte(tt.text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if f.Candela[0][0] < 99 || len(f.VerticalDeg) != 3 {
			t.Errorf("%s: read %+v", tt.name, f)
		}
		all := strings.Join(f.Warnings, "\n")
		if tt.warning == "" && all != "" || !strings.Contains(all, tt.warning) {
			t.Errorf("%s: warnings %q, want %q", tt.name, all, tt.warning)
		}
	}
	f, err := Read([]byte("IESNA91\n[other] a\n[MORE] b\nTILT=NONE\n" + body))
	if err != nil || f.Value("OTHER") != "a\nb" || math.Abs(f.WidthM-0.1524) > 1e-9 {
		t.Errorf("keyword %q, width %g m, error %v", f.Value("OTHER"), f.WidthM, err)
	}
}

func TestBadFiles(t *testing.T) {
	head := "IESNA91\nTILT=NONE\n"
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", "line 1: the file is empty"},
		{"blank", "\n\n  \n", "is empty"},
		{"no tilt", "IESNA91\n[TEST] 1\n", "without a line TILT="},
		{"binary", "IESNA91\n\x00\x01", "line 2: a zero byte"},
		{"ends after tilt", head, "it is cut off"},
		{"ends in the header", head + "1 -1 1 3 1", "it is cut off"},
		{
			"truncated table", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 45 90 0\n100 70",
			"line 3: 6 numbers follow, 7 are due",
		},
		{"counts that lie", head + "1 -1 1 19999 181 1 2 0 0 0 1 1 10\n0 45 90", "numbers follow"},
		{"huge counts", head + "1 -1 1 2000000000 1 1 2 0 0 0 1 1 10\n", "a whole number from"},
		{"huge product", head + "1 -1 1 20000 20000 1 2 0 0 0 1 1 10\n", "are more than"},
		{"negative count", head + "1 -1 1 -3 1 1 2 0 0 0 1 1 10\n", "number of vertical angles is -3"},
		{"half a count", head + "1 -1 1 2.5 1 1 2 0 0 0 1 1 10\n", "a whole number"},
		{"not a number", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 NaN 90 0 100 70 0", `line 4: "NaN" is not a number`},
		{"infinity", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 45 90 0 100 Inf 0", "is not a number"},
		{"hexadecimal", head + "1 -1 0x1p4 3 1 1 2 0 0 0 1 1 10\n0 45 90 0 100 7 0", "is not a number"},
		{"overflow", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 45 90 0 100 1e999 0", "is not a number"},
		{
			"angles fall", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 90 45 0 100 70 0",
			"line 4: vertical angle 45 follows 90",
		},
		{"angle out of range", head + "1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 90 200 0 100 70 0", "0 to 180 is expected"},
		{"multiplier", head + "1 -1 0 3 1 1 2 0 0 0 1 1 10\n0 45 90 0 100 70 0", "must be above 0"},
		{"type", head + "1 -1 1 3 1 4 2 0 0 0 1 1 10\n0 45 90 0 100 70 0", "photometric type is 4"},
		{"units", head + "1 -1 1 3 1 1 3 0 0 0 1 1 10\n0 45 90 0 100 70 0", "kind of units is 3"},
		{"beyond reason", head + "1 -1 1e300 3 1 1 2 0 0 0 1 1 10\n0 45 90 0 100 70 0", "beyond reason"},
	} {
		f, err := Read([]byte(tt.text))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "line ") {
			t.Errorf("%s: %v, error %v; want one with %q", tt.name, f, err, tt.want)
		}
	}
}

// TestPlaces: an error names line and column of the number that is wrong, and the line itself.
func TestPlaces(t *testing.T) {
	const head = "IESNA91\r\n[TEST] \u00fc\r\nTILT=NONE\r\n"
	for _, tt := range []struct {
		text, excerpt string
		line, col     int
	}{
		{head + "1 -1 1 3 1 1 2 0 0 0\r\n  1 1 10\r\n0 45\tx90 0 100 70 0", "0 45\tx90 0 100 70 0", 6, 6},
		{head + "1 -1 1 3 1 4 2 0 0 0 1 1 10", "1 -1 1 3 1 4 2 0 0 0 1 1 10", 4, 12},
		{head + "1 -1 1 3", "1 -1 1 3", 4, 9},
		{"IESNA91\n[TEST] \u00fc\x00", "[TEST] \u00fc\x00", 2, 9},
	} {
		_, err := Read([]byte(tt.text))
		p := textpos.Of(err)[0]
		if p.Line != tt.line || p.Col != tt.col || p.Excerpt != tt.excerpt {
			t.Errorf("%q: %d:%d %q (%v), want %d:%d", tt.text, p.Line, p.Col, p.Excerpt, err, tt.line, tt.col)
		}
	}
}

func TestWrittenFilesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.SampledFrom([]float64{1, 2.5, 5}).Draw(t, "step")
		top := rapid.SampledFrom([]float64{90, 180}).Draw(t, "top")
		h := rapid.SampledFrom(
			[][]float64{{0}, steps(0, 90, 15), steps(0, 180, 30), steps(0, 360, 30)},
		).Draw(t, "planes")
		p := Report{
			Keywords: []Keyword{
				{"TEST", "invented"},
				{"TESTLAB", "invented"},
				{"ISSUEDATE", "2026-11-25"},
				{"MANUFAC", "invented\nsecond line"},
			},
			VerticalDeg: steps(0, top, by), HorizontalDeg: h, InputW: 29, WidthM: 0.02, LengthM: -0.02,
		}
		for range h {
			row := make([]float64, len(p.VerticalDeg))
			for i := range row {
				row[i] = rapid.Float64Range(0, 1e5).Draw(t, "cd")
			}
			p.Candela = append(p.Candela, row)
		}
		text, err := Write(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(string(text), "\r\n") {
			if len(line) > 132 || strings.ContainsAny(line, "\r\n") {
				t.Fatalf("line %q", line)
			}
		}
		f, err := Read(text)
		if err != nil || len(f.Warnings) > 0 || !f.Absolute() {
			t.Fatalf("%v %v", err, f)
		}
		for j := range h {
			for i, v := range p.Candela[j] {
				if math.Abs(f.Candela[j][i]-v) > 1e-6*v+1e-9 {
					t.Fatalf("candela %g came back as %g", v, f.Candela[j][i])
				}
			}
		}
		if f.Value("MANUFAC") != "invented\nsecond line" || f.InputW != 29 || f.LengthM != -0.02 {
			t.Fatalf("read back %+v", f)
		}
	})
}

func TestScaleTo(t *testing.T) {
	f, err := Read([]byte("IESNA91\nTILT=NONE\n2 500 1 3 1 1 2 0 0 0 1 1 10\n0 45 90 0\n100 70 0\n"))
	if err != nil {
		t.Fatal(err)
	}
	if err := f.ScaleTo(2000); err != nil || f.Candela[0][0] != 200 || f.LumensPerLamp != 1000 {
		t.Errorf("scaled to %v, %g lm per lamp, %v", f.Candela, f.LumensPerLamp, err)
	}
	f.LumensPerLamp = -1
	if err := f.ScaleTo(2000); err == nil {
		t.Error("absolute photometry was scaled")
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("IESNA91\nTILT=NONE\n1 -1 1 3 1 1 2 0 0 0 1 1 10\n0 45 90 0\n100 70 0\n"))
	f.Add([]byte("IESNA:LM-63-2002\n[TEST] a\nTILT=INCLUDE\n1 2 0 90 1 1\n1 100 1 2 3 2 1 0 0 0 1 1 10\n-90 90 -90 0 " +
		"90 1 2 3 4 5 6"))
	f.Add([]byte("IES:LM-63-2019\nTILT = x\n1 1000 1 2 5 1 1 -.1 -.1 0 1 1.1 10 0 90 90 135 180 225 270 1 2 3 4 5 6 " +
		"7 8 9 10"))
	f.Add([]byte("TILT=NONE\n1 1 1 20000 20000"))
	f.Fuzz(func(t *testing.T, data []byte) {
		start := time.Now()
		file, err := Read(data)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "line ") && len(data) <= MaxBytes {
				t.Errorf("error without a line: %v", err)
			}
			if p := textpos.Of(err)[0]; p.Line > 0 && (p.Col < 1 || p.Col > utf8.RuneCountInString(p.Excerpt)+1) {
				t.Errorf("column %d of %q", p.Col, p.Excerpt)
			}
			return
		}
		if flux := file.FluxLm(); math.IsNaN(flux) || math.IsInf(flux, 0) {
			t.Errorf("flux %g", flux)
		}
		if d, err := file.Distribution(); err == nil && !(d.PerFlux(1, 0) >= 0) {
			t.Errorf("intensity %g on the axis", d.PerFlux(1, 0))
		}
		if file.Type != TypeC {
			return
		}
		theta, phi, cd := file.Polar()
		if len(cd) != len(phi) || len(cd[0]) != len(theta) {
			t.Errorf("far field of %d planes and %d angles has %d rows", len(phi), len(theta), len(cd))
		}
		for j := 1; j < len(phi); j++ {
			if phi[j] <= phi[j-1] {
				t.Errorf("planes %v", phi)
			}
		}
		if d := time.Since(start); d > 5*time.Second {
			t.Errorf("%d bytes took %v", len(data), d)
		}
	})
}
