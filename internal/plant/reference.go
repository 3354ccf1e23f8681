package plant

import (
	"math"
	"sync"

	"lampwright/internal/table"
)

// ReferenceSource is a kind of light with its published factor from PPFD to lux.
type ReferenceSource struct {
	Name       string
	LuxPerUmol float64 // lx/(µmol/m²/s)
}

var classics = sync.OnceValue(func() []ReferenceSource {
	t := table.Must(data, "data/lux_per_ppfd.csv", "lux_per_umol_m2_s")
	var out []ReferenceSource
	for row := range t.Rows() {
		out = append(out, ReferenceSource{t.Text(row, "light"), t.Number(row, "lux_per_umol_m2_s")})
	}
	return out
})

// ReferenceSources returns classic lights with their lux for each µmol/m²/s; lamps of a kind scatter by about 6 %.
// Source: ThimijanHeins1983, Table 3, at second hand.
func ReferenceSources() []ReferenceSource { return append([]ReferenceSource(nil), classics()...) }

// NearestReference returns the classic light whose factor is nearest to one by ratio.
func NearestReference(luxPerUmol float64) ReferenceSource {
	best, off := ReferenceSource{}, math.Inf(1)
	for _, c := range classics() {
		if d := math.Abs(math.Log(luxPerUmol / c.LuxPerUmol)); d < off {
			best, off = c, d
		}
	}
	return best
}
