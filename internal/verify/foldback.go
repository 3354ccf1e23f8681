package verify

import (
	"math"

	"lampwright/internal/foldback"
	"lampwright/internal/root"
)

// foldbackRows are warm-up by a chain of lumps, thermistors and the limits of the loop; they stand in data/sink.csv.
func foldbackRows(out map[string]check, list addList) {
	out["D42"] = func() (float64, error) {
		const areaToVolume = 6 / 0.0007059 // of a sphere of 0.7059 mm
		rise, err := foldback.Chain{{CapacityJK: 8500 * 400, ToNextWK: 400 * areaToVolume}}.AirStep(0)
		if err != nil {
			return 0, err
		}
		return root.Brent(func(seconds float64) float64 { return 25 + 175*rise(seconds) - 199 }, 0, 100, 1e-9)
	}
	out["D43"] = planeWall
	lump := foldback.Chain{{CapacityJK: 323, ToNextWK: 1.6}}
	out["D44a"] = lump.SlowestS
	out["D44b"] = func() (float64, error) {
		r, err := lump.HeatStep(0)
		if err != nil {
			return 0, err
		}
		return 37 * r(60), nil
	}
	out["D45"] = endlessBody

	thermistor := func(betaK, celsius float64) check {
		return func() (float64, error) {
			n, err := foldback.Beta(10e3, betaK)
			return n.OhmAt(celsius + 273.15), err
		}
	}
	for i, t := range []float64{50, 85, 100} {
		out["D49"+letter(i)] = thermistor(3950, t)
	}
	out["DR46"], out["DR47"] = thermistor(3950, 0), thermistor(3950, 50)
	for i, t := range []float64{60, 85, 100} {
		out["DR48"+letter(i)] = thermistor(3950, t)
	}
	for i, t := range []float64{-25, 5, 45, 85} {
		out["DR49"+letter(i)] = thermistor(3974, t)
	}
	for i, what := range []func(foldback.NTC) float64{
		func(n foldback.NTC) float64 { return n.A },
		func(n foldback.NTC) float64 { return n.B },
		func(n foldback.NTC) float64 { return n.C },
		func(n foldback.NTC) float64 { return n.KelvinAt(3603) - 273.15 },
	} {
		out["D50"+letter(i)] = func() (float64, error) {
			n, err := foldback.Fit([3]float64{32650, 10000, 678.3}, [3]float64{273.15, 298.15, 373.15})
			return what(n), err
		}
	}
	divider := func(fixedOhm float64, bits int, what func(foldback.Divider) float64) check {
		return func() (float64, error) {
			n, err := foldback.Beta(10e3, 3950)
			return what(foldback.Divider{NTC: n, FixedOhm: fixedOhm, Bits: bits}), err
		}
	}
	const hotK = 85 + 273.15
	ratio := func(d foldback.Divider) float64 { return d.Ratio(d.NTC.OhmAt(hotK)) }
	out["D51a"] = divider(10e3, 12, ratio)
	out["D51b"] = divider(10e3, 12, func(d foldback.Divider) float64 { return float64(d.Code(hotK)) })
	out["D51c"] = divider(10e3, 12, func(d foldback.Divider) float64 { return d.CountsPerK(hotK) })
	out["D51d"] = divider(10e3, 12, func(d foldback.Divider) float64 {
		return 1000 * d.Errors(hotK, foldback.Tolerances{Fixed: 1e-5}).FixedK
	})
	for i, t := range []float64{25, 60, 85} {
		out["DR50"+letter(i)] = divider(
			6.8e3, 10, func(d foldback.Divider) float64 { return float64(d.Code(t + 273.15)) },
		)
	}
	out["DR51"] = divider(10e3, 12, func(d foldback.Divider) float64 { return 100 * d.NTC.SlopePerK(298.15) })
	list(
		"D52",
		func() float64 { return foldback.TwoLagGain(200, 10, 0.7) },
		func() float64 { return foldback.ThreeLagGainLimit(200, 10, 2) },
		func() float64 { return foldback.DeadTimeGainLimit(200, 10) },
	)
}

// planeWall is the midplane of a wall of half thickness, conductivity and heat capacity 1, in 80 slices.
func planeWall() (float64, error) {
	const slices = 80
	c := make(foldback.Chain, slices)
	for i := range c {
		c[i] = foldback.Node{CapacityJK: 1.0 / slices, ToNextWK: slices}
	}
	c[slices-1].ToNextWK = 1 / (0.5/slices + 1)
	r, err := c.AirStep(0)
	if err != nil {
		return 0, err
	}
	return 1 - r(0.5), nil
}

// endlessBody is aluminium 70 mm deep, whose far end the heat does not reach in a second; the first node is the face.
func endlessBody() (float64, error) {
	const k, rhoC, slices = 138.0, 2680 * 880.0, 160
	var at [slices + 1]float64
	for i := range at {
		s := float64(i) / slices
		at[i] = 0.07 * math.Expm1(3*s) / math.Expm1(3)
	}
	c := make(foldback.Chain, slices)
	for i := range c {
		from := at[i]
		if i > 0 {
			from = (at[i-1] + at[i]) / 2
		}
		c[i] = foldback.Node{CapacityJK: rhoC * ((at[i]+at[i+1])/2 - from), ToNextWK: k / (at[i+1] - at[i])}
	}
	r, err := c.HeatStep(0)
	if err != nil {
		return 0, err
	}
	return 1e5 * r(1), nil
}
