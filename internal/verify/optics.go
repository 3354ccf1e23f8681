package verify

import (
	"context"
	"fmt"
	"maps"
	"math"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

// opticsChecks computes the rows of data/optics.csv.
func opticsChecks(ctx context.Context) map[string]check {
	const n, glass = light.DefaultWaterIndex, 1.52
	rad := func(deg float64) float64 { return deg * math.Pi / 180 }
	deg := func(rad float64) float64 { return rad * 180 / math.Pi }
	cos := func(d float64) float64 { return math.Cos(rad(d)) }
	value := func(v float64) check { return func() (float64, error) { return v, nil } }
	beam := func(d float64) intensity.Distribution {
		p, err := intensity.CosineBeam(rad(d))
		if err != nil {
			panic("verify: " + err.Error())
		}
		return p
	}
	exponent := func(m float64) intensity.Distribution {
		p, err := intensity.CosinePower(m)
		if err != nil {
			panic("verify: " + err.Error())
		}
		return p
	}
	within := func(p intensity.Distribution, d float64) check {
		return value(intensity.ZonalFractions(p, []float64{0, rad(d)})[0])
	}
	rectangle := func(p intensity.Distribution) check {
		return func() (float64, error) {
			s, err := light.DirectFractions(
				light.Tank{LengthM: 0.7, WidthM: 0.5}, light.Emitter{ZM: 0.42, Distribution: p},
			)
			return s.Surface, err
		}
	}
	slabR := func(d, n1, n2 float64) check {
		r, _ := light.Slab(cos(d), n1, glass, n2, 0)
		return value(r)
	}
	s60, p60 := light.PolarisedReflectance(cos(60), 1, n)
	absorbedR, absorbedT := light.Slab(1, 1, glass, 1, 0.04)
	axis := light.RayThrough(0.25, 0.36, 0, n)
	slanted := light.RayThrough(1, 0.55, math.Tan(rad(45))+0.55*math.Tan(math.Asin(math.Sin(rad(45))/n)), n)

	checks := map[string]check{
		"O01a": value(light.PointIlluminance(1000, 2, 0)),
		"O01b": value(light.PointIlluminance(1000, 2, rad(30))),
		"O02":  value(math.Pi * 1e4 * light.DiskViewFactor(0.1, 0.3, 0)),
		"O03":  value(light.DiskViewFactor(0.1, 0.3, 0.2)),
		"O04":  value(1000 / exponent(1).PerFlux(1, 0)),
		"O07":  value(2600 * beam(60).PerFlux(1, 0)),
		"O08":  value(light.PointIlluminance(2600*beam(60).PerFlux(1, 0), 0.36, 0)),
		"O09a": within(beam(60), deg(math.Atan(0.75))),
		"O09b": within(exponent(1), deg(math.Atan(0.75))),
		"O10a": rectangle(exponent(1)),
		"O10b": rectangle(beam(60)),
		"O13s": value(s60),
		"O13p": value(p60),
		"O15a": value(deg(light.CriticalAngle(n, 1))),
		"O15b": value(2 * deg(light.CriticalAngle(n, 1))),
		"O15c": value(deg(light.BrewsterAngle(1, n))),
		"O16":  value(light.DiffuseReflectance(1, n)),
		"O17":  value(light.DiffuseReflectance(n, 1)),
		"O18":  within(exponent(1), deg(light.CriticalAngle(n, 1))),
		"O20":  value(light.DiffuseSlabReflectance(1, glass, 1, 0)),
		"O22":  slabR(0, 1, n),
		"O23r": value(absorbedR),
		"O23t": value(absorbedT),
		"O24":  value(deg(math.Asin(math.Sqrt(n*n - 1)))),
		"O25":  value(light.ParallelViewFactor(1, 1, 1)),
		"O26":  value(light.PerpendicularViewFactor(1, 1, 1)),
		"O27":  value(light.CoaxialDisksViewFactor(1, 1, 1)),
		"O28":  value(light.CornerViewFactor(1, 1, 1)),
		"O30e": scanError(beam(30), intensity.ScanTrapezoid),
		"O30l": scanError(beam(30), intensity.ScanLinear),
		"O30m": scanError(beam(30), intensity.ScanMidpoint),
		"O34w": value(1000 * exponent(2).PerFlux(1, 0) * axis.PerIntensity),
		"O34s": value(light.PointIlluminance(1000*exponent(2).PerFlux(1, 0), 0.25, 0)),
		"O35":  value(fluxUnderWater(exponent(2), 0.25, 0.36, n)),
		"O36p": value(slanted.WaterM),
		"O36t": value(math.Exp(-slanted.WaterM)),
		"O37":  value(light.DiffuseTransmission(0.55)),
		"O42":  value(spectrum.PhotonUmolJ(555) / 683.002),
		"O43":  value(plant.DailyLight(200, 8)),
		"O44":  value(0.88 * beam(60).PerFlux(1, 0) / exponent(1).PerFlux(1, 0)),
		"O45":  value(light.SourceLuminance(463.05, 0.02, 0) / 1e6),
		"O50":  value(light.WaterIndex(589.3)),
		"OT1":  value(2 * 210 * math.Tan(intensity.BeamOf(beam(52)).BeamRad/2)),
		"OT2": value(1000 * (0.225 - 0.21*math.Tan(rad(26))) /
			math.Tan(math.Asin(math.Sin(rad(26))/n))),
	}
	for _, a := range []float64{30, 45, 60} {
		checks[fmt.Sprintf("O05-%.0f", a)] = within(exponent(1), a)
	}
	for _, a := range []float64{30, 60, 90, 120} {
		checks[fmt.Sprintf("O06-%.0f", a)] = value(intensity.CosineExponent(rad(a)))
	}
	for _, a := range []float64{0, 30, 45, 60, 75} {
		checks[fmt.Sprintf("O11-%.0f", a)] = value(light.Reflectance(cos(a), 1, n))
		checks[fmt.Sprintf("O19-%.0f", a)] = slabR(a, 1, 1)
	}
	for _, a := range []float64{0, 30, 45, 60, 75, 85} {
		checks[fmt.Sprintf("O12-%.0f", a)] = value(100 * light.Reflectance(cos(a), 1, 4.0/3))
	}
	for _, a := range []float64{0, 30, 40, 45, 48} {
		checks[fmt.Sprintf("O14-%.0f", a)] = value(light.Reflectance(cos(a), n, 1))
	}
	for _, a := range []float64{0, 30, 40, 45, 48, 48.7, 60} {
		checks[fmt.Sprintf("O21-%g", a)] = slabR(a, n, 1)
	}
	for a := 0.0; a < 90; a += 10 {
		checks[fmt.Sprintf("O29-%.0f", a)] = value(intensity.ZonalConstant(rad(a), rad(a+10)))
	}
	for _, r := range []float64{0.1, 0.2, 0.4, 0.8} {
		ray := light.RayThrough(0.25, 0.36, r, n)
		checks[fmt.Sprintf("O31-%g", r)] = value(deg(ray.AirRad))
		checks[fmt.Sprintf("O32-%g", r)] = value(ray.CrossingM)
		checks[fmt.Sprintf("O33-%g", r)] = value(1000 * exponent(2).PerFlux(math.Cos(ray.AirRad), 0) * ray.PerIntensity)
	}
	for _, l := range []float64{450, 550, 650, 700} {
		checks[fmt.Sprintf("O38-%.0f", l)] = value(light.Absorption(l, light.Water{}))
	}
	for _, l := range []float64{450, 555, 660} {
		checks[fmt.Sprintf("O41-%.0f", l)] = value(spectrum.PhotonUmolJ(l))
	}
	for _, u := range []float64{0, 1, 5} {
		checks[fmt.Sprintf("O40-%.0f", u)] = value(light.RippleSlopeVariance(u))
	}
	maps.Copy(checks, sceneChecks(ctx))
	return checks
}

// scanError is the error of a flux from readings each 5°, in per cent.
func scanError(p intensity.Distribution, rule intensity.ScanRule) check {
	return func() (float64, error) {
		var theta, reading []float64
		start := 0.0
		if rule == intensity.ScanMidpoint {
			start = 2.5
		}
		for d := start; d <= 90; d += 5 {
			theta = append(theta, d*math.Pi/180)
			reading = append(reading, p.PerFlux(math.Cos(d*math.Pi/180), 0))
		}
		flux, err := intensity.ScanFlux(theta, reading, rule)
		return 100 * (flux - 1), err
	}
}

// fluxUnderWater integrates the irradiance at one depth over the whole plane, as a fraction of the flux of the source.
func fluxUnderWater(p intensity.Distribution, heightM, depthM, n float64) float64 {
	const steps = 20000
	sum := 0.0
	for i := range steps {
		// r = scale·u/(1−u)² puts most points near the axis and still reaches far out.
		u := (float64(i) + 0.5) / steps
		r := (heightM + depthM) * u / ((1 - u) * (1 - u))
		drdu := (heightM + depthM) * (1 + u) / ((1 - u) * (1 - u) * (1 - u))
		ray := light.RayThrough(heightM, depthM, r, n)
		sum += 2 * math.Pi * r * drdu * p.PerFlux(math.Cos(ray.AirRad), 0) * ray.PerIntensity
	}
	return sum / steps
}
