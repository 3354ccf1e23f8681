package draw

import (
	"math"
	"strings"
	"testing"
)

// TestChroma: the diagram is drawn for a phone and for a page, whatever the names are, and says in words where points lie.
func TestChroma(t *testing.T) {
	locus := []ChromaPoint{{"450", 0.21, 0.06, ""}, {"480", 0.09, 0.27, ""}, {"", 0.003, 0.5, ""}, {"520", 0.023, 0.58, ""}, {"580", 0.26, 0.56, ""}, {"620", 0.52, 0.52, ""}}
	white := []ChromaPoint{{"2700 K", 0.2625, 0.5274, ""}, {"4000 K", 0.2251, 0.5016, ""}, {"6500 K", 0.2001, 0.4654, ""}}
	wish := &ChromaPoint{hostile, 0.1978, 0.4683, ""}
	for _, width := range []float64{0, 370, 900} {
		p := ChromaPicture(Chroma{ID: "c", Locus: locus, White: white, Required: wish, Width: width, Points: []ChromaPoint{
			{"lamp", 0.2, 0.46, "#fff4e0"}, {hostile, 0.21, 0.45, "red"}, {"spoilt", math.NaN(), 0.4, ""}, {"far away", 3, -4, ""},
		}})
		checkPicture(t, "chromaticity", p)
		if !strings.Contains(p.Desc, "lamp at u′ 0.2000, v′ 0.4600") || strings.Contains(p.Desc, "spoilt") {
			t.Errorf("description: %s", p.Desc)
		}
	}
	// What is wanted is drawn near the lamp and far from it, in both looks, with its tolerance; and what the channels can mix.
	corner := func(u, v float64) ChromaPoint { return ChromaPoint{U: u, V: v} }
	for _, lampV := range []float64{0.46, 0.39} {
		p := ChromaPicture(Chroma{
			ID: "c", Locus: locus, White: white, Required: &ChromaPoint{Name: "5500 K to 7500 K", U: 0.1978, V: 0.4683}, Points: []ChromaPoint{{"lamp", 0.22, lampV, ""}},
			Range: []ChromaPoint{corner(0.2, 0.48), corner(0.21, 0.475), corner(0.195, 0.455), corner(0.185, 0.46)}, Gamut: []ChromaPoint{corner(0.2, 0.47), corner(0.21, 0.06), corner(0.45, 0.52)},
		})
		checkPicture(t, "required", p)
		svg := p.Inline()
		if n := strings.Count(svg, `class="s-within"`); n != 6 {
			t.Errorf("lamp at v′ %g: %d strokes for what is wanted, want an outline and a cross in each of two looks", lampV, n)
		}
		if !strings.Contains(svg, ">required 5500 K to 7500 K<") || !strings.Contains(svg, ">required<") {
			t.Errorf("lamp at v′ %g: what is wanted is not named in both looks", lampV)
		}
		if n := strings.Count(svg, `stroke-dasharray="1.5 3.5"`); n < 4 {
			t.Errorf("lamp at v′ %g: %d sides of what the channels mix, want three in the first look and one at the least in the second", lampV, n)
		}
	}
	if p := ChromaPicture(Chroma{Locus: locus}); !p.Empty() {
		t.Error("a diagram without a lamp")
	}
}

// TestRendering: bars go below zero and are cut at −100; what is not finite is left out.
func TestRendering(t *testing.T) {
	for _, width := range []float64{0, 370} {
		p := RenderingPicture(Rendering{ID: "r", Width: width, General: 84, Bars: []RenderingBar{
			{"R1", "light greyish red", 87, "#b98b80", "#b98a83"}, {"R9", hostile, -240, "#a92a33", "url(x)"}, {"R10", "strong yellow", math.NaN(), "", ""}, {"R14", "leaf", 100, "", ""},
		}})
		checkPicture(t, "rendering", p)
		if !strings.Contains(p.Inline(), ">−240<") || strings.Contains(p.Desc, "R10") {
			t.Errorf("rendering: %s", p.Inline())
		}
	}
	if p := RenderingPicture(Rendering{}); !p.Empty() {
		t.Error("rendering without samples")
	}
}

// TestHues: arrows and bars are drawn for a phone and for a page; a range without samples, or one that is spoilt, is passed
// over, and the words carry every number.
func TestHues(t *testing.T) {
	var bins []HueArrow
	for i := range 16 {
		sin, cos := math.Sincos((float64(i) + 0.5) * math.Pi / 8)
		bins = append(bins, HueArrow{Samples: 6, RefA: 25 * cos, RefB: 25 * sin, TestA: 20 * cos, TestB: 30 * sin, Chroma: -0.2 * cos, HueRad: 0.1 * sin, Rf: 80})
	}
	bins[3].Samples = 0
	bins[5].TestA = math.NaN()
	for _, width := range []float64{0, 370} {
		p := HuesPicture(Hues{ID: "h", Bins: bins, Rf: 81.2, Rg: 97, Width: width})
		checkPicture(t, "hues", p)
		if !strings.Contains(p.Desc, "1 red: chroma −20 %, hue +1°, Rf 80") || strings.Contains(p.Desc, "6 yellow green") || strings.Contains(p.Desc, "; 4 ") {
			t.Errorf("description: %s", p.Desc)
		}
		if !strings.Contains(p.Inline(), ">Rf 81, Rg 97<") {
			t.Error("the whole is not said")
		}
	}
	if p := HuesPicture(Hues{Bins: bins[:2]}); !p.Empty() {
		t.Error("hues of two ranges")
	}
}
