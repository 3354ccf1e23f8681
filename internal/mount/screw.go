package mount

import (
	"embed"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

var screwTable = sync.OnceValue(func() table.Table {
	return table.Must(data, "data/screws.csv", "diameter", "washer", "hole", "torque", "torque_max")
})

// Screw is a metric screw with its plain washer.
type Screw struct {
	ID                               string  // "M3"
	DiameterM, WasherM, HoleM        float64 // HoleM is the medium clearance hole
	TypicalTorqueNm, LargestTorqueNm float64 // into an aluminium thread of 2 d
}

// ScrewOf returns a screw by its id. Source: ISO7089 and ISO273, cited from memory; torques common practice, no source.
func ScrewOf(id string) (s Screw, ok bool) {
	t := screwTable()
	for r := range t.Rows() {
		if t.Text(r, "id") == id {
			const mm = 1e-3
			return Screw{
				id, mm * t.Number(r, "diameter"), mm * t.Number(r, "washer"), mm * t.Number(r, "hole"),
				t.Number(r, "torque"), t.Number(r, "torque_max"),
			}, true
		}
	}
	return Screw{}, false
}
