// Package drive answers whether the electrics of a lamp fit together: string voltages, drivers, supplies, wires, flicker,
// dimming, insulation and what the years do to the light.
//
// In: plain SI values: volts, amperes, ohms, kelvin, hertz; the forward voltages of the emitters at their current, the
// windows of drivers and supplies, lengths and conductors of wire.
// Out: margins, currents, losses and limits, each with the sentence that its reader must see beside it (Notes, Caution).
// Assumes: steady direct current; converters in their steady cycle; conductors of copper.
// Leaves to others: how voltage depends on current and temperature (point), who is warned of what (review), and
// everything that local codes and a qualified person decide: nothing here says that a thing is safe.
package drive

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
)

//go:embed data/*.csv
var data embed.FS

// zeroCelsiusK is 0 °C in kelvin.
const zeroCelsiusK = 273.15

// Caution goes with every figure on insulation and shock.
const Caution = "this is a check of figures, not of safety: local codes and a qualified person decide what may hang over water and near people"

// table reads data/<name>.csv without its comments and its line of column names. The tables are embedded, so one that
// does not read is a mistake of ours.
func table(name string, columns int) [][]string {
	text, err := data.ReadFile("data/" + name + ".csv")
	if err != nil {
		panic("drive: " + err.Error())
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	r.FieldsPerRecord = columns
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("drive: table %s: %v", name, err))
	}
	return rows[1:]
}

// number reads a number of an embedded table; an empty cell is 0.
func number(cell string) float64 {
	if cell == "" {
		return 0
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic("drive: " + err.Error())
	}
	return v
}
