package assembly

import "fmt"

// HeatJ returns the heat that brings a board to a temperature in joules: Q = m·c·ΔT. Source: definition of heat capacity.
//
// massKg in kilograms, heatJkgK the specific heat [J/(kg·K)], about 900 for aluminium and 385 for copper.
func HeatJ(massKg, heatJkgK, dTK float64) float64 { return massKg * heatJkgK * dTK }

// LayerResistance returns the thermal resistance of a layer under a pad, without spreading, in K/W: R = t/(k·A).
//
// Spreading in the core beneath adds to it, up to several times as much. Source: IncroperaDeWitt2007, §3.1.
func LayerResistance(thicknessM, kWmK, areaM2 float64) float64 { return thicknessM / (kWmK * areaM2) }

// PadDraw returns the heat that a metal-core board draws from a pad in watts: P = (T_pad − T_board)/R.
//
// padToBoardKW is R from the pad to the mean of the board [K/W], spreading included. Source: definition of R.
func PadDraw(padK, boardK, padToBoardKW float64) float64 { return (padK - boardK) / padToBoardKW }

// Iron is a soldering iron on a pad.
type Iron struct {
	PadK   float64 // that the pad settles at while the board stays as it is
	PowerW float64 // that the iron must deliver for it
}

// OnPad returns what a soldering iron does to a pad of a metal-core board:
//
//	T_pad = T_board + (T_tip − T_board)·R/(R + 1/G)    P = (T_tip − T_board)/(R + 1/G)
//
// tipK is the tip as it is held, tipWK its conductance G into the pad, 0.3 to 0.5 W/K (rule of thumb), boardK the board,
// padToBoardKW as in PadDraw. Source: two resistances in series.
func OnPad(tipK, tipWK, boardK, padToBoardKW float64) Iron {
	power := (tipK - boardK) / (padToBoardKW + 1/tipWK)
	return Iron{PadK: boardK + power*padToBoardKW, PowerW: power}
}

// Preheat is at what temperature a metal-core board is held while wires are soldered to it.
type Preheat struct {
	LowK, HighK float64
	Notes       []string
}

// PlateFor returns the temperature of a hot plate under a metal-core board while an alloy is worked on it: 30 to 20 K below
// the minimum solidus of the alloys on it, and about 100 °C where wires are soldered with tin-bismuth.
//
// Source: common practice.
func PlateFor(onBoard ...Alloy) (Preheat, error) {
	if len(onBoard) == 0 {
		return Preheat{}, fmt.Errorf("name the alloys on the board to find how hot its plate may be")
	}
	least := onBoard[0]
	for _, a := range onBoard[1:] {
		if a.SolidusK < least.SolidusK {
			least = a
		}
	}
	p := Preheat{
		LowK: least.SolidusK - 30, HighK: least.SolidusK - 20,
		Notes: []string{
			"an iron alone does not heat a pad on a metal core; preheat the board from below (rule of thumb)",
			"the plate and the board burn skin; flux fumes want moving air",
			"the datasheets of emitters and lenses rule how hot and how long they may get; fit plastic lenses after the last soldering",
		},
	}
	if least.BismuthShare > 0.3 {
		p.LowK = 100 + zeroCelsiusK
	}
	return p, nil
}
