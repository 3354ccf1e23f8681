// Package assembly answers whether a board can be put together: solder paste, stencil, reflow, heat to solder a wire
// onto a metal core, and whether the joints stand the heat of service.
//
// In: plain SI values: openings and foils in metres, temperatures in kelvin, profiles as points of time and
// temperature.
// Out: volumes and masses, ratios, margins, checks, each with the sentences its reader must see.
// Assumes: printed deposits fill their openings by the transfer efficiency; a metal-core board is of one temperature.
// Leaves to others: the temperature of joints in service (figure), and what the datasheet of each part demands, which
// rules over every figure here.
package assembly

import (
	"embed"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

const zeroCelsiusK = 273.15

// load returns a function that reads data/<name>.csv once.
func load(name string, numeric ...string) func() table.Table {
	return sync.OnceValue(func() table.Table { return table.Must(data, "data/"+name+".csv", numeric...) })
}

// celsius returns a cell of a column in °C as kelvin; 0, for not stated, where the cell is blank.
func celsius(t table.Table, row int, column string) float64 {
	if t.Text(row, column) == "" {
		return 0
	}
	return t.Number(row, column) + zeroCelsiusK
}
