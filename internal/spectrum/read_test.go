package spectrum

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"lampwright/internal/textpos"
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
		{"quoted decimal commas", comma(sampleRows("\"%.0f\";\"%.6f\"\n")), "decimal commas"},
		{
			"quoted decimal commas between commas",
			"nm,\"a, b\"\n" + strings.NewReplacer(".", ",", ";", ",").Replace(sampleRows("\"%.0f\";\"%.6f\"\n")),
			"decimal commas",
		},
		{"UTF-16", utf16Of(plain, false), ""},
		{"UTF-16, big end first", utf16Of("Wellenlänge;Leistung\n"+comma(sampleRows("%.1f;%.6f\n")), true), "decimal commas"},
		{"a spreadsheet's first line", "sep=;\nnm;value\n" + sampleRows("%.0f;%.6f\n"), ""},
		{"equal duplicates", plain + "550,1.000000\n", "twice"},
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

// utf16Of returns a text in UTF-16 with its byte order mark.
func utf16Of(text string, bigEnd bool) string {
	var out []byte
	for _, u := range utf16.Encode([]rune("\ufeff" + text)) {
		if bigEnd {
			out = append(out, byte(u>>8), byte(u))
		} else {
			out = append(out, byte(u), byte(u>>8))
		}
	}
	return string(out)
}

// TestReadSteps: a smooth light read at other steps gives the sums it has, and says how it was read.
func TestReadSteps(t *testing.T) {
	light := func(nm float64) float64 { return math.Exp(-math.Pow((nm-550)/25, 2)) }
	file := func(from, to, step float64) string {
		var b strings.Builder
		for i := 0; from+float64(i)*step <= to+1e-9; i++ {
			nm := from + float64(i)*step
			fmt.Fprintf(&b, "%g,%.9g\n", nm, light(nm))
		}
		return b.String()
	}
	want, err := Read([]byte(file(380, 780, 1)))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name, text, note string
		tol              float64
	}{
		{"2 nm", file(380, 780, 2), "", 1e-6},
		{"5 nm", file(380, 780, 5), "", 1e-4},
		{"10 nm", file(380, 780, 10), "CIE 167", 2e-4},
		{"half a nanometre", file(380, 780, 0.5), "not a regular grid", 1e-6},
		{"a spectrometer's pixels", file(340.137, 1020, 0.371), "not a regular grid", 1e-5},
		{"from 300 nm to 1100 nm", file(300, 1100, 1), "left aside", 1e-9},
	} {
		got, err := Read([]byte(tt.text))
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		a, b := got[0].Spectrum, want[0].Spectrum
		if d := a.LuminousLm()/b.LuminousLm() - 1; math.Abs(d) > tt.tol {
			t.Errorf("%s: lumens off by %.2g", tt.name, d)
		}
		if d := a.RadiantW()/b.RadiantW() - 1; math.Abs(d) > tt.tol {
			t.Errorf("%s: watts off by %.2g", tt.name, d)
		}
		if notes := strings.Join(got[0].Notes, "; "); !strings.Contains(notes, tt.note) {
			t.Errorf("%s: notes %q, want %q", tt.name, notes, tt.note)
		}
	}
}

// TestReadNarrowLine: a line of a quarter of a nanometre between two whole ones keeps its watts and its lumens.
func TestReadNarrowLine(t *testing.T) {
	const at, sigma = 594.5, 0.1
	var b strings.Builder
	for i := range 8001 {
		nm := 380 + 0.05*float64(i)
		fmt.Fprintf(&b, "%.2f,%.9g\n", nm, math.Exp(-0.5*math.Pow((nm-at)/sigma, 2)))
	}
	got, err := Read([]byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	s := got[0].Spectrum
	if w, want := s.RadiantW(), sigma*math.Sqrt(2*math.Pi); math.Abs(w/want-1) > 1e-3 {
		t.Errorf("%g W, want %g (area of a bell curve)", w, want)
	}
	// CIE018-2019, Table 1, straight between its nanometres.
	v := (Observer2Deg().Y[594-LoNM] + Observer2Deg().Y[595-LoNM]) / 2
	if k := s.LERlmW(); math.Abs(k/(MaxEfficacyLmW*v)-1) > 1e-3 {
		t.Errorf("%g lm/W, want %g (a single wavelength)", k, MaxEfficacyLmW*v)
	}
	if !strings.Contains(strings.Join(got[0].Notes, " "), "averaged") {
		t.Errorf("notes %q", got[0].Notes)
	}
}

// TestReadScale: figures do not hang on the size of the numbers.
func TestReadScale(t *testing.T) {
	want, _ := Read([]byte(sampleRows("%.0f,%.6e\n")))
	for _, k := range []string{"e-12", "e-60", "e+60"} {
		text := sampleRows("%.0f,%.6f" + k + "\n")
		got, err := Read([]byte(text))
		if err != nil {
			t.Errorf("%s: %v", k, err)
			continue
		}
		if a, b := got[0].Spectrum.LERlmW(), want[0].Spectrum.LERlmW(); math.Abs(a/b-1) > 1e-5 {
			t.Errorf("%s: %g lm/W, want %g", k, a, b)
		}
	}
}

// TestCarriedOn: a light that breaks off is carried on at its ends, one that ends dark is not.
func TestCarriedOn(t *testing.T) {
	s, err := OnGrid(400, 5, []float64{1, 2, 3, 2})
	if err != nil {
		t.Fatal(err)
	}
	c := s.CarriedOn(380, 430)
	if lo, hi, step := c.Grid(); lo != 380 || hi != 430 || step != 5 || c.At(380) != 1 || c.At(430) != 2 ||
		c.At(410) != 3 {
		t.Errorf("%d to %d by %d: %v", lo, hi, step, c.Values())
	}
	if from, to := c.Known(); from > 380 || to < 430 {
		t.Errorf("known from %g to %g", from, to)
	}
	dark, _ := OnGrid(400, 5, []float64{0, 2, 3, 0})
	if c := dark.CarriedOn(380, 430); c.At(380) != 0 || c.At(430) != 0 || c.RadiantW() != dark.RadiantW() {
		t.Errorf("dark ends: %v", c.Values())
	}
	table, _ := FromTable([]float64{400, 500, 700}, []float64{1, 2, 1})
	if c := table.CarriedOn(380, 780); c.At(380) != 1 || c.At(379) != 0 || c.At(780) != 1 || c.At(781) != 0 {
		t.Errorf("on the lamp grid: %g, %g, %g, %g", c.At(379), c.At(380), c.At(780), c.At(781))
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
		if p := got[0].Spectrum.PeakNM(); math.Abs(p-550) > 0.1 ||
			!strings.Contains(strings.Join(got[0].Notes, ";"), tt.note) {
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
		// the monotone curve across a missing peak does not rise above its neighbours
		if p := got[0].Spectrum.PeakNM(); math.Abs(p-550) > 5 {
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
		{"prose", "dear reader\nthis is no spectrum\n", 0, "no line with a wavelength"},
		{"one column", "400\n500\n600\n", 0, "no line with a wavelength"},
		{"word", strings.Replace(plain, "400,", "400,x", 1), 5, `"x`},
		{"hexadecimal", strings.Replace(plain, "400,0", "400,0x1p3", 1), 5, "not a number"},
		{"infinite", strings.Replace(plain, "400,0.000001", "400,Inf", 1), 5, "not a number"},
		{"huge", strings.Replace(plain, "400,0.000001", "400,1e300", 1), 5, "not a number"},
		{"negative", strings.Replace(plain, "400,0.000001", "400,-0.5", 1), 5, "negative"},
		{"duplicates that differ", plain + "550,0.5\n", 82, "550 nm appears twice"},
		{"wide gap", without(520, 580), 30, "between 520 nm and 580 nm"},
		{"all dark", sampleRows("%.0f,%.0f\n")[:0] + "400,0\n500,0\n600,0\n", 0, "no value is above zero"},
		{"two rows", "400,1\n500,1\n", 0, "three at least"},
		{"too long", strings.Replace(plain, "400,0", "400,1,0", 1), 5, "3 values, the first one 2"},
		{"photon energies", "1.6,1\n1.9,2\n3.2,1\n", 0, "fits neither"},
		{"infrared", "900,1\n910,2\n920,1\n", 0, "outside"},
		{"comma for both", "nm,W\n380,0,0,001\n385,0,0,002\n390,0,0,003\n", 2, "semicolons"},
		{"comma for both, without a header", "380,0,0123\n385,0,0456\n390,0,0789\n", 1, "decimal comma"},
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
	b.WriteString("<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<IESTM2714 xmlns=\"iestm2714\" " +
		"version=\"1.0\"><Header><Description>an invented lamp</Description></Header>\n" +
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
	if got[0].Name != "an invented lamp" || got[0].Quantity != "relative" ||
		math.Abs(got[0].Spectrum.LERlmW()/want[0].Spectrum.LERlmW()-1) > 1e-5 {
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
		"<a><SpectralData wavelength='400'>1</SpectralData><SpectralData " +
			"wavelength='500'>1</SpectralData><SpectralData wavelength='600'>1</SpectralData></a>",
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
			for _, q := range p {
				if q.Line > 0 && (q.Col < 1 || q.Col > utf8.RuneCountInString(q.Excerpt)+1) {
					t.Errorf("%q: column %d of %q", text, q.Col, q.Excerpt)
				}
			}
			return
		}
		for _, n := range got {
			s := n.Spectrum
			for _, v := range []float64{
				s.RadiantW(), s.LuminousLm(), s.PhotonUmolS(400, 700), s.OnLampGrid().RadiantW(),
			} {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Errorf("%q gives a sum of %g", text, v)
				}
			}
		}
	})
}

// TestReadPlaces: a problem names line and column of what is wrong, with the line itself, without words of a library.
func TestReadPlaces(t *testing.T) {
	for _, tt := range []struct {
		text, excerpt string
		line, col     int
		want          string
	}{
		{"nm;W\r\n400;1\r\n  410; x1\r\n420;1", "  410; x1", 3, 8, `"x1" is not a number`},
		{"nm,a,b\n400,1,2\n410,1,-3\n420,1,2", "410,1,-3", 3, 7, "b: -3 at 410 nm is negative"},
		{"400\t1\n410\t\u00fcx\n", "410\t\u00fcx", 2, 5, "is not a number"},
		{"400  1\n410   1x\n", "410   1x", 2, 7, "is not a number"},
		{"420,1\n410,1\n400,-1\n", "400,-1", 3, 5, "negative"}, // rows are sorted before they are judged
		{
			"<a>\n <SpectralData wavelength=\"x\">1</SpectralData></a>",
			" <SpectralData wavelength=\"x\">1</SpectralData></a>", 2, 2, `wavelength "x" is not a number`,
		},
		{"<a>\n <b></a>", " <b></a>", 2, 5, `the element "b" ends as "a"`},
		{"<a>\n <b", " <b", 2, 4, "ends within an element"},
		{"<a>&x;</a>", "<a>&x;</a>", 1, 7, "this is not well-formed XML"},
		{
			"<?xml version=\"1.0\" encoding=\"latin1\"?><a/>", "<?xml version=\"1.0\" encoding=\"latin1\"?><a/>", 1, 1,
			`the encoding is "latin1"; save the file as UTF-8`,
		},
	} {
		_, err := Read([]byte(tt.text))
		p := textpos.Of(err)[0]
		if p.Line != tt.line || p.Col != tt.col || p.Excerpt != tt.excerpt || !strings.Contains(p.Text, tt.want) {
			t.Errorf("%q: %+v, want %d:%d %q", tt.text, p, tt.line, tt.col, tt.want)
		}
		for _, theirs := range []string{"XML syntax", "xml:", "strconv", "closed by", "charset"} {
			if strings.Contains(p.Text, theirs) {
				t.Errorf("%q: %q is of the library: %s", tt.text, theirs, p.Text)
			}
		}
	}
}
