package project

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/source"
)

// keyOf returns a key of a kind of part.
func keyOf(t *testing.T, kind, key string) source.Key {
	t.Helper()
	for _, k := range source.Keys(PartsFile{}) {
		i := slices.IndexFunc(k.Keys, func(s source.Key) bool { return s.Key == key })
		if k.Key == kind && i >= 0 {
			return k.Keys[i]
		}
	}
	t.Fatalf("no key %s of %s", key, kind)
	return source.Key{}
}

// TestReadTable: each table has one fault. Values are invented; the tolerance and the usual ranges are rules of thumb
// (no source).
func TestReadTable(t *testing.T) {
	nan := math.NaN()
	amps, volts := []float64{0.1, 0.35, 0.7}, []float64{2.7, 2.9, 3.05}
	for _, tt := range []struct {
		name, kind, key string
		x, y            []float64
		testX, testY    float64
		rows            []int
		says            string
	}{
		{"good", "emitters", "forward_voltage", amps, volts, 0.35, 2.9, nil, ""},
		{"no test point known", "emitters", "forward_voltage", amps, volts, nan, nan, nil, ""},
		{"1.9 % off at the test point", "emitters", "forward_voltage", amps, volts, 0.35, 2.9 / 1.019, nil, ""},
		{
			"2.1 % off at the test point", "emitters", "forward_voltage", amps, volts, 0.35, 2.9 / 1.021, nil,
			"at test_current, 350 mA, the curve gives 2.90 V; stated: 2.84 V. Difference 2.1 %",
		},
		{
			"2.1 % low", "emitters", "forward_voltage", amps, volts, 0.35, 2.9 / 0.979, nil,
			"Difference 2.1 %",
		},
		{
			"falls", "emitters", "forward_voltage",
			[]float64{0.1, 0.35, 0.7},
			[]float64{2.7, 2.9, 2.89},
			0.35, nan,
			[]int{1, 2},
			"falls from 2.90 V at 350 mA to 2.89 V at 700 mA; it rises with current",
		},
		{
			"twice", "emitters", "forward_voltage",
			[]float64{0.1, 0.35, 0.35},
			volts, nan, nan,
			[]int{1, 2},
			"points 2 and 3 have the same current, 350 mA",
		},
		{
			"a ratio is 1 at the test point", "emitters", "flux_vs_current", amps,
			[]float64{0.3, 0.96, 1.8},
			0.35, nan, nil,
			"stated: 100 %. Difference 4.0 %",
		},
		{
			"out of reach", "emitters", "flux_vs_current", amps,
			[]float64{0.3, 1, 1.8},
			0.8, nan, nil,
			"does not reach test_current, 800 mA",
		},
		{
			"rises with temperature", "emitters", "flux_vs_junction",
			[]float64{300, 358.15},
			[]float64{0.99, 1},
			358.15, nan,
			[]int{0, 1},
			"rises from 99.0 %",
		},
		{
			"millivolts", "emitters", "forward_voltage", amps,
			[]float64{2700, 2900, 3050},
			nan, nan,
			[]int{0},
			"did you mean 2.70 V?",
		},
		{
			"a flat derating", "emitters", "derating",
			[]float64{273.15, 368.15, 400},
			[]float64{1, 1, 0.2},
			nan, nan,
			nil, "",
		},
		{
			"a price may rise and fall", "boards", "price_by_thickness",
			[]float64{1e-3, 1.5e-3, 2e-3},
			[]float64{3, 2, 4},
			nan, nan, nil, "",
		},
	} {
		table := ReadTable{tt.kind, keyOf(t, tt.kind, tt.key), tt.x, tt.y, tt.testX, tt.testY}
		got := table.Doubts()
		switch {
		case tt.says == "" && len(got) > 0:
			t.Errorf("%s: %+v", tt.name, got)
		case tt.says == "":
		case len(got) != 1 || !slices.Equal(got[0].Rows, tt.rows) || !strings.Contains(got[0].Text, tt.says):
			t.Errorf("%s: %+v, want %q in rows %v", tt.name, got, tt.says, tt.rows)
		}
	}
}
