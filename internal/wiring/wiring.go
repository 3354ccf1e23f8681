// Package wiring computes voltage drop and ampacity of wires, ratings of fuses that protect them, and what insulation
// withstands.
//
// In: plain SI values: lengths, cross-sections and resistances of wire, currents, ambient temperatures, voltages.
// Out: drops [V], currents [A], distances [mm] and the figures of standards, each with its Notes and its Caution.
// Assumes: steady current in conductors of copper, in still air.
// Leaves to others: string voltages and converters (drive), the findings (review), and everything that local regulations
// and a qualified person decide: nothing here states that an installation is safe.
package wiring

import (
	"embed"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// zeroCelsiusK is 0 °C in kelvin.
const zeroCelsiusK = 273.15

// Caution accompanies every figure on insulation and electric shock.
const Caution = "this is a check of figures, not of safety: local regulations and a qualified person decide what may be mounted over water and near people"

// load returns a function that reads data/<name>.csv once.
func load(name string, numeric ...string) func() table.Table {
	return sync.OnceValue(func() table.Table { return table.Must(data, "data/"+name+".csv", numeric...) })
}

var (
	gauges        = load("awg", "diameter_mm", "area_mm2", "ohm_per_km", "chassis_a")
	metricWires   = load("metric_wire", table.AllNumbers)
	grouping      = load("grouping", table.AllNumbers)
	fuseRatings   = load("fuse", table.AllNumbers)
	fusing        = load("fusing", "melts")
	breakers      = load("breaker", "holds", "trips")
	creepages     = load("creepage", table.AllNumbers)
	touchVoltages = load("touch_voltage", "ac_v", "dc_v")
	eSeries       = load("e_series")
)
