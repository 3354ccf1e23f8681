package plant

import (
	"bytes"
	_ "embed" // factors of classic lights
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"sync"
)

//go:embed data/lux_per_ppfd.csv
var luxPerPPFDCSV []byte

// Classic is a kind of light with its published factor from PPFD to lux.
type Classic struct {
	Name       string
	LuxPerUmol float64 // lx/(µmol/m²/s)
}

var classics = sync.OnceValue(func() []Classic {
	r := csv.NewReader(bytes.NewReader(luxPerPPFDCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		panic(fmt.Sprintf("plant: embedded factors of %d rows: %v", len(rows), err))
	}
	var out []Classic
	for _, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			panic("plant: embedded factors: " + err.Error())
		}
		out = append(out, Classic{row[0], v})
	}
	return out
})

// Classics returns classic lights with their lux for each µmol/m²/s; lamps of a kind scatter by about 6 %.
// Source: ThimijanHeins1983, Table 3, at second hand.
func Classics() []Classic { return append([]Classic(nil), classics()...) }

// NearestClassic returns the classic light whose factor is nearest to one by ratio.
func NearestClassic(luxPerUmol float64) Classic {
	best, off := Classic{}, math.Inf(1)
	for _, c := range classics() {
		if d := math.Abs(math.Log(luxPerUmol / c.LuxPerUmol)); d < off {
			best, off = c, d
		}
	}
	return best
}
