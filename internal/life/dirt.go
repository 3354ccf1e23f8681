package life

import (
	"embed"
	"math"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/maintenance.csv
var data embed.FS

// Surface is a surface on which dirt settles.
type Surface string

// The surfaces of the table of maintenance factors.
const (
	Lens          Surface = "lens"            // 200 mm over water or more, or in a dry room
	LensNearWater Surface = "lens near water" // within splashes, 100 mm over water or less
	DryCover      Surface = "dry cover glass"
	WetCover      Surface = "wet cover glass" // with condensation and lime; the water itself not included
)

// maintenance is the table of luminaire maintenance factors.
var maintenance = sync.OnceValue(func() table.Table {
	return table.Must(data, "data/maintenance.csv", "years", "factor")
})

// LuminaireMaintenance returns the light that dirt on a surface leaves some years after cleaning [1]: linear between
// the rows of the table from 1 when clean, and constant beyond the last row.
//
// Source: CIE97, cited from memory, and rules of thumb (no source); data/maintenance.csv.
func LuminaireMaintenance(s Surface, years float64) float64 {
	rows := maintenance()
	x, y := 0.0, 1.0
	for i := range rows.Rows() {
		if rows.Text(i, "surface") != string(s) {
			continue
		}
		x1, y1 := rows.Number(i, "years"), rows.Number(i, "factor")
		if years < x1 {
			return y + (y1-y)*(years-x)/(x1-x)
		}
		x, y = x1, y1
	}
	return y
}

// LensMaintenance is LuminaireMaintenance of a lens at a height over water [m]; without water the height is +Inf.
// Between 100 and 200 mm the two surfaces are blended linearly.
func LensMaintenance(heightM, years float64) float64 {
	const splash, dry = 0.1, 0.2
	share := math.Max(0, math.Min(1, (heightM-splash)/(dry-splash)))
	return share*LuminaireMaintenance(Lens, years) + (1-share)*LuminaireMaintenance(LensNearWater, years)
}

// TypicalL70H is the time on until 70 % of the light of LED packages is left, where no LM-80 test is known [h]. Rule of
// thumb, no source.
const TypicalL70H = 50_000
