package light

import (
	"testing"
)

func TestSummarise(t *testing.T) {
	f := Summarise([]float64{5, 1, 2, 3, 4, 6, 7, 8, 9, 10, 0})
	if f.Mean != 5 || f.Min != 0 || f.Max != 10 || f.P10 != 1 || f.P50 != 5 || f.P90 != 9 || f.MinOverMean != 0 {
		t.Errorf("%+v", f)
	}
	if (Summarise(nil) != Figures{}) {
		t.Error("no cells give figures")
	}
}
