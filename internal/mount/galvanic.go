package mount

import (
	"fmt"
	"math"
	"sync"

	"lampwright/internal/table"
)

var galvanicTable = sync.OnceValue(func() table.Table {
	return table.Must(data, "data/galvanic.csv", "index")
})

// AnodicIndex returns the anodic index of a metal against gold in volts; the metal of the larger one corrodes.
// Source: MILSTD889, cited from memory. Public tables differ by 0.05 V.
func AnodicIndex(metal string) (float64, error) {
	t := galvanicTable()
	row, ok := t.Find("metal", metal)
	if !ok {
		return 0, fmt.Errorf("metal %q has no anodic index in %s", metal, t.File)
	}
	return t.Number(row, "index"), nil
}

// Couple returns the difference of the anodic indices of two metals in volts, and whether the first is the base one.
// Source: as AnodicIndex.
func Couple(first, second string) (volts float64, firstBase bool, err error) {
	a, err := AnodicIndex(first)
	if err != nil {
		return 0, false, err
	}
	b, err := AnodicIndex(second)
	return math.Abs(a - b), a > b, err
}

// Attack returns by which factor a noble part in contact speeds up the corrosion of a base one [1]:
//
//	f = 1 + A_noble/A_base
//
// Valid where the reduction of oxygen sets the corrosion current and one film of water covers both areas [m²].
// Source: derived (catchment principle).
func Attack(nobleM2, baseM2 float64) float64 { return 1 + nobleM2/baseM2 }
