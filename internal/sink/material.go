package sink

import (
	"embed"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/lens_materials.csv
var data embed.FS

var lensMaterials = sync.OnceValue(func() table.Table {
	return table.Must(data, "data/lens_materials.csv", "service", "expansion", "min_peak")
})

// LensMaterial is a plastic or glass of lenses.
type LensMaterial struct {
	Name          string
	ServiceK      float64 // maximum in service, assumed where a datasheet is silent [K]
	ExpansionPerK float64 // linear [1/K]
	MinPeakNM     float64 // shortest peak that it withstands for years [nm]; 0 is no limit
	Attack        string  // what attacks it, as a clause
}

// MaterialOf returns a material by its name. Source: Harper2000, cited from memory.
func MaterialOf(name string) (m LensMaterial, ok bool) {
	t := lensMaterials()
	for r := range t.Rows() {
		if t.Text(r, "material") == name {
			return LensMaterial{
				name, 273.15 + t.Number(r, "service"), 1e-6 * t.Number(r, "expansion"), t.Number(r, "min_peak"),
				t.Text(r, "attack"),
			}, true
		}
	}
	return LensMaterial{}, false
}
