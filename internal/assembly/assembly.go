// Package assembly answers whether a board can be put together: solder paste, stencil, reflow, heat to solder a wire onto
// a metal core, and whether the joints stand the heat of service.
//
// In: plain SI values: openings and foils in metres, temperatures in kelvin, profiles as points of time and temperature.
// Out: volumes and masses, ratios, margins, checks, each with the sentences its reader must see.
// Assumes: printed deposits fill their openings by the transfer efficiency; a metal-core board is of one temperature.
// Leaves to others: the temperature of joints in service (design), and what the datasheet of each part demands, which
// rules over every figure here.
package assembly

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
)

//go:embed data/*.csv
var data embed.FS

const zeroCelsiusK = 273.15

// table reads data/<name>.csv without its line of column names; that it does not read is a mistake of ours.
func table(name string) [][]string {
	text, err := data.ReadFile("data/" + name + ".csv")
	if err != nil {
		panic("assembly: " + err.Error())
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("assembly: table %s: %v", name, err))
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
		panic("assembly: " + err.Error())
	}
	return v
}

// celsius reads a temperature in °C as kelvin; an empty cell is 0, which stands for not stated.
func celsius(cell string) float64 {
	if cell == "" {
		return 0
	}
	return number(cell) + zeroCelsiusK
}
