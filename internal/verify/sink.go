package verify

import (
	"math"

	"lampwright/internal/sink"
)

const seaLevelPa = sink.StandardPressurePa

// uprightSink hangs without a fan.
func uprightSink() sink.PlateFin {
	return sink.PlateFin{WidthM: 0.1, LengthM: 0.1, FinHeightM: 0.03, FinThicknessM: 1.5e-3, Fins: 11, KWmK: 200}
}

// blownSink is in a duct.
func blownSink() sink.PlateFin {
	return sink.PlateFin{WidthM: 0.08, LengthM: 0.08, FinHeightM: 0.025, FinThicknessM: 1.2e-3, Fins: 15, KWmK: 200}
}

// sinkChecks computes the rows of data/sink.csv.
func sinkChecks() map[string]check {
	out := map[string]check{}
	one := func(id string, f func() float64) { out[id] = func() (float64, error) { return f(), nil } }
	list := func(id string, f ...func() float64) {
		for i, g := range f {
			one(id+letter(i), g)
		}
	}
	finRows(one, list)
	channelRows(one, list)
	out["B24e"] = func() (float64, error) {
		c, err := uprightSink().Natural(sink.Vertical, 333.15, 298.15, 298.15, seaLevelPa)
		return c.ConvectionW, err
	}
	plateRows(one, list)
	blownRows(out, list)
	radiationRows(one, list)
	foldbackRows(out, list)
	for i, what := range []func(sink.Draught) float64{
		func(d sink.Draught) float64 { return d.RiseK },
		func(d sink.Draught) float64 { return d.SpeedMS },
	} {
		out["C41"+letter(i)] = func() (float64, error) {
			d, err := sink.Chimney(0.06*0.06, 0.15, 2.5, 25, 298.15, seaLevelPa)
			return what(d), err
		}
	}
	return out
}

type (
	addOne  func(id string, f func() float64)
	addList func(id string, f ...func() float64)
)

// finRows are fins alone: pins, straight and annular ones.
func finRows(one addOne, list addList) {
	for i, k := range []float64{398, 180, 14} {
		// a pin of 2 m is as good as endless
		one("B18"+letter(i), func() float64 {
			return sink.PinFinEfficiency(100, k, 5e-3, 2) * 100 * math.Pi * 5e-3 * 2 * 75
		})
	}
	list(
		"B19",
		func() float64 { return sink.StraightFinEfficiency(50, 200, 1.5e-3, 30e-3) },
		func() float64 { return sink.StraightFinEfficiency(50, 200, 1.5e-3, 30.75e-3) },
	)
	efficiency := func() float64 { return sink.AnnularFinEfficiency(50, 186, 6e-3, 25e-3, 45e-3) }
	heatW := func() float64 {
		fins := 5 * 2 * math.Pi * (0.048*0.048 - 0.025*0.025)
		tube := 2 * math.Pi * 0.025 * (0.15 - 5*6e-3)
		return 50 * 200 * (efficiency()*fins + tube)
	}
	list("B20", efficiency, heatW, heatW, func() float64 { return 50 * 200 * 2 * math.Pi * 0.025 * 0.15 })
}

// channelRows are gaps between fins without a fan.
func channelRows(one addOne, list addList) {
	both := func() float64 { return bestElenbaas(sink.ChannelNusselt) }
	list(
		"B21",
		func() float64 { return math.Pow(both(), 0.25) },
		func() float64 { return sink.ChannelNusselt(both()) },
		both,
		func() float64 { return math.Pow(bestElenbaas(sink.ChannelNusseltOneSided), 0.25) },
		func() float64 {
			air := sink.AirAt(315.65, seaLevelPa)
			gap := uprightSink().OptimumGap(333.15, 298.15, seaLevelPa)
			return math.Pow(air.Elenbaas(35, gap, uprightSink().LengthM)/both(), 0.25)
		},
	)
	for i, el := range []float64{1, 10, 54.3, 100, 1000} {
		one("B22"+letter(i), func() float64 { return sink.ChannelNusselt(el) })
		one("B22"+letter(i+5), func() float64 { return sink.ElenbaasNusselt(el) })
	}
	list(
		"B23",
		func() float64 { return sink.ChannelNusselt(1e-3) / 1e-3 },
		func() float64 { return sink.ChannelNusselt(1e8) / 100 },
	)
	air := sink.AirAt(315.65, seaLevelPa)
	el := func() float64 { return air.Elenbaas(35, uprightSink().GapM(), uprightSink().LengthM) }
	film := func() float64 { return sink.ChannelNusselt(el()) * air.KWmK / uprightSink().GapM() }
	one("B24a", func() float64 { return 1e3 * uprightSink().GapM() })
	one("B24b", el)
	one("B24c", film)
	one("B24d", func() float64 { return sink.StraightFinEfficiency(film(), 200, 1.5e-3, 0.03) })
	one("B24f", func() float64 { return 1e3 * uprightSink().OptimumGap(333.15, 298.15, seaLevelPa) })
	u := sink.UChannelAt(air, 35, uprightSink().GapM(), uprightSink().FinHeightM, uprightSink().LengthM)
	for i, v := range []float64{1e3 * u.RadiusM, u.Psi, u.Rayleigh, u.Nusselt, u.FilmWm2K} {
		one("B25"+letter(i), func() float64 { return v })
	}
}

// bestElenbaas searches the Elenbaas number at which fins of no thickness on a base of given width dissipate most heat: the
// heat goes with Nu/s², and s² with the root of El.
func bestElenbaas(nusselt func(float64) float64) float64 {
	heat := func(logEl float64) float64 { el := math.Exp(logEl); return nusselt(el) / math.Sqrt(el) }
	lo, hi := 0.0, 10.0
	for range 100 { // shrinks by a third a step; the heat has one maximum
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if heat(a) < heat(b) {
			lo = a
		} else {
			hi = b
		}
	}
	return math.Exp((lo + hi) / 2)
}

// plateRows are bare flat faces.
func plateRows(one addOne, list addList) {
	const alpha, nu = 38.3e-6, 26.4e-6
	screen := func() float64 {
		return sink.VerticalPlateNusselt(9.8/400*(232-23)*0.71*0.71*0.71/(alpha*nu), 0.690)
	}
	film := func() float64 { return screen() * 33.8e-3 / 0.71 }
	list("B26", screen, film, func() float64 { return film() * 1.02 * 0.71 * (232 - 23) })

	air := sink.AirAt(315.65, seaLevelPa)
	ra := air.Elenbaas(35, 0.1, 0.1) // a gap as wide as the plate is high makes it the plate's Rayleigh number
	laminar := func() float64 { return sink.VerticalPlateNusseltLaminar(ra, air.Pr) }
	list(
		"B27", laminar,
		func() float64 { return sink.VerticalPlateNusselt(ra, air.Pr) },
		func() float64 { return laminar() * air.KWmK / 0.1 },
	)
	list(
		"B28",
		func() float64 { return sink.PlateCoefficient(sink.FaceUp, 0, 0.01, 0.4, 333.15, 298.15, seaLevelPa) },
		func() float64 { return sink.PlateCoefficient(sink.FaceDown, 0, 0.01, 0.4, 333.15, 298.15, seaLevelPa) },
	)
	stream := func() float64 { return sink.ForcedPlateNusselt(10*0.5/(30.84e-6*101.325/6), 0.687) }
	list("B29", stream, func() float64 { return stream() * 36.4e-3 * 273 })
	one("B31a", func() float64 { return sink.DevelopingNusselt(1e-3, 0.7) / (1e-3 * 0.7 / 2) })
	one("B31b", func() float64 {
		root := 1e3
		return sink.DevelopingNusselt(root*root, 0.7) / (0.664 * root * math.Cbrt(0.7) * math.Sqrt(1+3.65/root))
	})
	for i, e := range []float64{0, 1, 0.5, 0.1} {
		one("B32"+letter(i), func() float64 { return sink.FrictionRectangle(e) })
	}
}

// blownRows are sinks and pins in a stream, and the fan that makes it.
func blownRows(out map[string]check, list addList) {
	air := sink.AirAt(313.15, seaLevelPa)
	for i, what := range []func(sink.Cooling) float64{
		func(c sink.Cooling) float64 { return c.FilmWm2K * blownSink().GapM() / air.KWmK },
		func(c sink.Cooling) float64 { return c.FilmWm2K },
		func(c sink.Cooling) float64 { return c.FinEfficiency },
		func(c sink.Cooling) float64 { return 1 / c.ConductanceWK },
	} {
		out["B30"+letter(i)] = func() (float64, error) {
			c, err := blownSink().Forced(sink.Flow{ApproachMS: 2}, 328.15, 298.15, seaLevelPa)
			return what(c), err
		}
	}
	l := blownSink().PressureDrop(2*0.08*0.025, air)
	for i, v := range []float64{1e3 * l.HydraulicM, l.Reynolds, l.FApparent, l.Contraction, l.Expansion, l.PressurePa} {
		out["B33"+letter(i)] = value(v)
	}
	operate := func(what func(sink.Point) (float64, error)) check {
		return func() (float64, error) {
			fan := sink.FanCurve{FlowM3S: []float64{0, 4e-3, 8e-3, 12e-3, 16e-3}, PressurePa: []float64{40, 30, 22, 14, 0}}
			p, err := sink.Operate(fan, 1, func(v float64) float64 { return blownSink().PressureDrop(v, air).PressurePa }, 1)
			if err != nil {
				return 0, err
			}
			return what(p)
		}
	}
	out["B34a"] = operate(func(p sink.Point) (float64, error) { return 1e3 * p.FlowM3S, nil })
	out["B34b"] = operate(func(p sink.Point) (float64, error) { return p.PressurePa, nil })
	out["B34c"] = operate(func(p sink.Point) (float64, error) {
		c, err := blownSink().Forced(sink.Flow{VolumeM3S: p.FlowM3S}, 328.15, 298.15, seaLevelPa)
		return 1 / c.ConductanceWK, err
	})
	half := sink.FanCurve{FlowM3S: []float64{0, 1}, PressurePa: []float64{1, 0}}.Scaled(0.6, 1)
	list(
		"B35",
		func() float64 { return half.FlowM3S[1] },
		func() float64 { return half.PressurePa[0] },
		func() float64 { return sink.PowerRatio(0.6, 1) },
		func() float64 { return sink.NoiseChangeDB(0.6) },
	)
	pins := sink.PinFin{PinDiameterM: 3e-3, PitchAcrossM: 8e-3, PitchAlongM: 8e-3}
	line := pins.Bank(2, air)
	pins.Staggered = true
	staggered := pins.Bank(2, air)
	for i, v := range []float64{line.Reynolds, line.C1, staggered.C1, line.FilmWm2K, staggered.FilmWm2K} {
		out["B36"+letter(i)] = value(v)
	}
}

// radiationRows are radiation and the air table.
func radiationRows(one addOne, list addList) {
	film := func() float64 { return sink.RadiationCoefficient(0.9, 333.15, 298.15) }
	list("C37", func() float64 { return film() * 35 }, film)
	list(
		"C38",
		func() float64 { return sink.ViewFactorParallel(1, 1) },
		func() float64 { return sink.ViewFactorParallel(2, 2) },
	)
	const heightM, gapM = 30e-3, 8.4e-3
	finToFin := func() float64 { return sink.ViewFactorParallel(heightM/gapM, 1e6) } // very long fins
	cavity := func(emissivity float64) func() float64 {
		return func() float64 { return sink.CavityEmissivity(emissivity, gapM, gapM+2*heightM) }
	}
	list(
		"C39", finToFin,
		func() float64 { return (1 - finToFin()) / 2 },
		cavity(0.05), cavity(0.2), cavity(0.85),
	)
	cool, warm := sink.AirAt(300, 1e5), sink.AirAt(350, 1e5)
	for i, v := range []float64{
		cool.RhoKgM3, warm.RhoKgM3, 1e6 * cool.NuM2S, 1e6 * warm.NuM2S, 1e3 * cool.KWmK, 1e3 * warm.KWmK, cool.Pr, warm.Pr,
	} {
		one("C40"+letter(i), func() float64 { return v })
	}
}
