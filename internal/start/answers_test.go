package start

import (
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestRead: a bad answer gives one error, at its field, and none elsewhere.
func TestRead(t *testing.T) {
	for _, tt := range []struct {
		field, says string
		form        Form
	}{
		{"kind", "no kind of place", Form{Kind: "pond"}},
		{"length", "takes a length", Form{Length: "8 kg"}},
		{"length", "outside 100 mm to 3", Form{Length: "0 mm"}},
		{"length", "outside", Form{Length: "40 m"}},
		{"length", "unit", Form{Length: "80"}},
		{"width", "exceeds length", Form{Width: "90 cm"}},
		{"water_depth", "not below the height", Form{WaterDepth: "400 mm"}},
		{"substrate_depth", "not below the water depth", Form{WaterDepth: "40 mm"}},
		{"substrate_depth", "not below the height", Form{Kind: "terrarium", Height: "30 cm", SubstrateDepth: "30 cm"}},
		{"plants", "choose one of shade, common, carpet", Form{Plants: "cuttings"}},
		{"ppfd_max", "not 10 % above", Form{PPFDMin: "80 µmol/m²/s"}},
		{"full_level_time", "outside", Form{FullLevelTime: "30 h"}},
		{"cct", "outside", Form{CCT: "1200 K"}},
		{"ra", "outside", Form{Ra: "150"}},
		{"ambient_max", "below the typical", Form{AmbientMax: "20 °C"}},
		{"budget", "outside", Form{Budget: "0 EUR"}},
		{"cooling", "choose silent or fan", Form{Cooling: "ice"}},
		{"name", "quotation marks", Form{Name: `a "b"`}},
	} {
		_, wrong := Read(tt.form)
		if len(wrong) != 1 || wrong[0].Field != tt.field || !strings.Contains(wrong[0].Error, tt.says) {
			t.Errorf("%+v: %v, want one at %s with %q", tt.form, wrong, tt.field, tt.says)
		}
	}
	if _, wrong := Read(Form{Length: "0 mm", Budget: "x", CCT: "5"}); len(wrong) != 3 {
		t.Errorf("three wrong answers: %v", wrong)
	}
}

// TestFilled: the filled form of answers reads as the same answers, and own values are told from proposals.
func TestFilled(t *testing.T) {
	for _, f := range []Form{
		{},
		{Kind: "terrarium"},
		{Kind: "bench", Plants: "ornamentals"},
		{Budget: "220 EUR", Cooling: "fan", PPFDMin: "45 µmol/m²/s"},
	} {
		a := answers(t, f)
		b := answers(t, Filled(a))
		if Filled(a) != Filled(b) || a.Own != b.Own || a.Own != (f.PPFDMin != "") || a.Fan != (f.Cooling == "fan") {
			t.Errorf("%+v: %+v, then %+v", f, a, b)
		}
	}
}

// TestPPFD: the middle of a wide band, and 1.3 times the lower end of a narrow one, so that the light of an old lamp is
// within it (rule of thumb, no source).
func TestPPFD(t *testing.T) {
	for _, tt := range []struct{ lo, hi, want float64 }{{40, 80, 60}, {100, 150, 130}, {165, 180, 169.2}} {
		a := Answers{PPFDMin: tt.lo, PPFDMax: tt.hi}
		if got := a.PPFD(); got < tt.want-1e-9 || got > tt.want+1e-9 {
			t.Errorf("%g to %g: %g, want %g", tt.lo, tt.hi, got, tt.want)
		}
	}
}

// TestHandbook: the proposals are the rows of the handbook's table of starting points, with their sources, and the
// PPFD of each gives a DLI within its band by formula (1) of that chapter.
func TestHandbook(t *testing.T) {
	data, err := os.ReadFile("../../docs/handbook/04-requirements.md")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	list := Proposals()
	if len(list) != 6 {
		t.Errorf("%d proposals", len(list))
	}
	for _, p := range list {
		want := "| " + strings.Join([]string{
			p.Title, trimmed(p.PPFDMin) + " to " + trimmed(p.PPFDMax) + " µmol/m²/s",
			trimmed(p.DLIMin) + " to " + trimmed(p.DLIMax) + " mol/m²/d", hours(p.FullS), p.Source,
		}, " | ") + " |"
		if !slices.Contains(lines, want) {
			t.Errorf("the handbook has no row %q", want)
		}
		a := answers(t, Form{Kind: string(p.Kinds[0]), Plants: p.Key})
		if d := a.DLI(a.PPFD()); d < p.DLIMin || d > p.DLIMax {
			t.Errorf("%s: PPFD %g gives DLI %g, outside %g to %g", p.Key, a.PPFD(), d, p.DLIMin, p.DLIMax)
		}
	}
}

// trimmed prints a number without trailing zeros.
func trimmed(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
