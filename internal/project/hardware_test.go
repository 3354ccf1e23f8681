package project

import (
	"math"
	"strings"
	"testing"
)

// orderedLamp is the lamp of the other tests with all that is ordered beside parts.
func orderedLamp(t *testing.T, o Order) map[string]OrderLine {
	t.Helper()
	lamp, parts := goodLamp, goodParts
	for _, c := range [][2]string{
		{"supplies:\n", "cutout: {opens: 80 °C, switches: mains}\nsuspension:\n  method: lines\n  lines:\n" +
			"    - {at: [-20 mm, 0 mm], breaking_load: 300 N}\n    - {at: [20 mm, 0 mm], breaking_load: 300 " +
			"N}\nsupplies:\n"},
		{"    driver: ", "    fuse: {rated_current: 2 A, rated_voltage_dc: 32 V, standard: ISO 8820, price: 0.6 EUR, " +
			"holder_price: 2 EUR}\n    driver: "},
	} {
		if !strings.Contains(lamp, c[0]) {
			t.Fatalf("the lamp has no %q", c[0])
		}
		lamp = strings.Replace(lamp, c[0], c[1], 1)
	}
	p, problems := loadTexts(lamp, parts)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	board := p.Library.Boards.Get(p.Design.Board.Part.S)
	board.SetupPrice.SI, board.SetupPrice.Set = 25, true
	board.StencilPrice.SI, board.StencilPrice.Set = 15, true
	board.MinOrder.N, board.MinOrder.Set = 5, true
	board.PriceByQuantity.X, board.PriceByQuantity.Y = []float64{1, 5, 10}, []float64{1.6, 1, 0.7}
	board.PriceByQuantity.Set = true
	out := map[string]OrderLine{}
	for _, line := range BillOfMaterials(p.Library, &p.Design, o) {
		if _, again := out[line.Kind]; !again {
			out[line.Kind] = line
		}
	}
	return out
}

// TestHardware: fuses with holders, cut-out and suspension of the design, and what an order of boards costs. By hand:
// one lamp takes the smallest order of 5 boards at the price of one; 12 lamps take 12 boards at 70 %.
func TestHardware(t *testing.T) {
	one, twelve := orderedLamp(t, Order{}), orderedLamp(t, Order{Lamps: 12, Spares: 0.1})
	for _, tt := range []struct {
		kind      string
		one, more int
		each      float64
		what      string
	}{
		{LineFuse, 1, 12, 0.6, "Fuse 2 A, 32 V DC, ISO 8820"},
		{LineFuseHolder, 1, 12, 2, "Fuse holder for 2 A, 32 V DC, ISO 8820"},
		{LineCutout, 1, 12, 0, "Thermal cut-out, bimetal, opens at 80 °C"},
		{LineSuspension, 2, 24, 0, "Suspension line with gripper and anchor, breaking load ≥ 300 N"},
		{LineBoardSetUp, 1, 1, 25, ""},
		{LineStencil, 1, 1, 15, ""},
		{"solder", 1, 1, -1, ""},
		{"board", 5, 12, -1, ""},
		{"sink", 1, 12, -1, ""},
	} {
		a, b := one[tt.kind], twelve[tt.kind]
		if a.Count != tt.one || b.Count != tt.more {
			t.Errorf("%s: %d for one lamp, %d for twelve; want %d, %d", tt.kind, a.Count, b.Count, tt.one, tt.more)
		}
		if tt.each >= 0 && (a.Each != tt.each || a.Priced != (tt.each > 0)) {
			t.Errorf("%s: each %g EUR, priced %v", tt.kind, a.Each, a.Priced)
		}
		if tt.what != "" && a.What != tt.what {
			t.Errorf("%s: %q, want %q", tt.kind, a.What, tt.what)
		}
	}
	if a, b := one["board"].Each, twelve["board"].Each; math.Abs(b-0.7*a) > 1e-9 || a == 0 {
		t.Errorf("a board costs %g EUR of 5 and %g EUR of 12, want 70 %%", a, b)
	}
	if a, b := one["emitter"].Count, twelve["emitter"].Count; b != 12*a+int(math.Ceil(1.2*float64(a))) {
		t.Errorf("%d emitters with spares for twelve lamps of %d", b, a)
	}
}
