package draw

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func aCircuit() Circuit {
	return Circuit{
		ID: "circuit", Mains: []string{"B 16 A"}, Switch: []string{"Switch", "relay"},
		Controller: []string{"Controller"},
		Sensor:     []string{"Sensor"}, Supplies: []CircuitSupply{
			{
				Text: []string{"supply-24v-100w", "24 V"}, Earth: true, Fuse: "2 A",
				Wire: []string{"awg18", "0.82 mm²", "1 m"},
			},
			{Text: []string{"second"}, Unswitched: true},
		},
		Outputs: []CircuitOutput{
			{Supply: 0, Text: []string{"buck"}, Dimmed: true, Fuse: "1 A", Title: "A white", Strings: 2, Series: 3},
			{Supply: 0, Text: []string{"buck"}, Title: "B red", Strings: 1, Series: 9},
			{Supply: 1, Text: []string{"Fan"}},
			{Supply: -1, Text: []string{"mains driver"}, Title: "C blue", Strings: 1, Series: 1},
		},
	}
}

// TestCircuit: two fuses, the protective earth only where a box needs it, at most four LEDs of a string, and the text
// alternative names every path.
func TestCircuit(t *testing.T) {
	in := aCircuit()
	p := CircuitPicture(in)
	checkPicture(t, "circuit", p)
	body := p.Inline()
	for what, want := range map[string]int{
		`width="18" height="8"`: 2,         // fuses
		`l10 5l-10 5z`:          3 + 3 + 1, // LEDs: 3 in series; 9, of which three and an ellipsis; one
		">…<":                   1, ">2 strings of 3<": 1, ">9 in series<": 1, ">1 LED<": 1, ">PE<": 1,
		">dimming<": 1, ">0.82 mm², 1 m<": 1, earthStripe.line.hex: 2,
	} {
		if got := strings.Count(body, what); got != want {
			t.Errorf("%d of %s, want %d", got, what, want)
		}
	}
	const says = "supply-24v-100w, 24 V, fuse 2 A to fuse 1 A to buck to A white, 2 × 3 LEDs; "
	if !strings.HasPrefix(p.Desc, says) || !strings.Contains(p.Desc, "mains to mains driver to C blue, 1 × 1 LEDs.") {
		t.Errorf("text alternative %q", p.Desc)
	}
	in.Supplies[0].Earth, in.Switch = false, nil
	if body := CircuitPicture(in).Inline(); strings.Contains(body, ">PE<") || strings.Contains(body, ">relay<") {
		t.Error("it draws an earth or a switch that is not there")
	}
	if !CircuitPicture(Circuit{ID: "none"}).Empty() {
		t.Error("a circuit without outputs is drawn")
	}
}

// TestCircuitOfAny draws any circuit as XML, with hostile texts.
func TestCircuitOfAny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Circuit{ID: "c", Mains: []string{hostile}, RowPx: rapid.Float64Range(48, 90).Draw(t, "row")}
		supplies := rapid.IntRange(0, 3).Draw(t, "supplies")
		for range supplies {
			in.Supplies = append(in.Supplies, CircuitSupply{
				Text: []string{hostile}, Earth: rapid.Bool().Draw(t, "earth"),
				Unswitched: rapid.Bool().Draw(t, "early"),
			})
		}
		if rapid.Bool().Draw(t, "switch") {
			in.Switch = []string{hostile}
		}
		for range rapid.IntRange(1, 12).Draw(t, "outputs") {
			in.Outputs = append(in.Outputs, CircuitOutput{
				Supply: rapid.IntRange(-1, supplies-1).Draw(t, "supply"), Text: []string{hostile, hostile},
				Title: hostile, Strings: rapid.IntRange(0, 3).Draw(t, "strings"),
				Series: rapid.IntRange(1, 200).Draw(t, "n"),
			})
		}
		p := CircuitPicture(in)
		if p.Empty() || p.Height < 48*float64(len(in.Outputs)) {
			t.Fatalf("height %g", p.Height)
		}
	})
}

// TestPlacement: the picture has the scale that was asked for, each end of a string one ring with a sign, and each
// emitter its code. One that is alone is entered from the left.
func TestPlacement(t *testing.T) {
	in := Placement{
		Board: Board{ID: "placement", LengthM: 0.1, WidthM: 0.05, Emitters: []BoardEmitter{
			{Label: "A1", XM: -0.04, LengthM: 0.003, WidthM: 0.003},
			{Label: "A2", XM: 0, LengthM: 0.003, WidthM: 0.003},
			{Label: "B1", XM: 0.03, YM: 0.01, LengthM: 0.003, WidthM: 0.003},
		}},
		PxPerM: 96 / 0.0254, Strings: [][]int{{0, 1}, {2}}, XLeft: true,
	}
	p := PlacementPicture(in)
	checkPicture(t, "placement", p)
	body := p.Inline()
	for what, want := range map[string]int{`r="5.5"`: 4, ">A1<": 1, ">A2<": 1, ">B1<": 1, ">20 mm<": 0, ">50 mm<": 1} {
		if got := strings.Count(body, what); got != want {
			t.Errorf("%d of %s, want %d", got, what, want)
		}
	}
	if want := 0.1*96/0.0254 + 48; p.Width < want-0.01 || p.Width > want+0.01 {
		t.Errorf("width %g px, want %g px: 100 mm at 1 : 1 and the margins", p.Width, want)
	}
	if !strings.Contains(body, `width="377.95"`) {
		t.Errorf("the board is not 100 mm, 377.95 px, wide")
	}
	c := placementChart{boardChart{canvas: &canvas{}, Board: in.Board, px: 1000}, in.Strings, true, true}
	if enter, leave := c.sides([]int{2}, 0); enter != [2]float64{-1, 0} || leave != [2]float64{1, 0} {
		t.Errorf("one LED: %v, %v", enter, leave)
	}
	if enter, leave := c.sides([]int{0, 1}, 0); enter != [2]float64{-1, 0} || leave != [2]float64{1, 0} {
		t.Errorf("the first of two: %v, %v", enter, leave)
	}
	if enter, _ := c.sides([]int{0, 1}, 1); enter != [2]float64{-1, 0} {
		t.Errorf("the last of two is entered from %v", enter)
	}
	in.PxPerM = 0
	if !PlacementPicture(in).Empty() {
		t.Error("a board without a scale is drawn")
	}
}
