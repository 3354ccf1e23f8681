package verify

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/assembly"
	"lampwright/internal/colour"
	"lampwright/internal/drive"
	"lampwright/internal/flicker"
	"lampwright/internal/life"
	"lampwright/internal/table"
	"lampwright/internal/wiring"
)

// driveChecks computes the rows of data/drive.csv.
func driveChecks() map[string]check {
	out := map[string]check{}
	wireRows(out)
	preferredRows(out)
	converterRows(out)
	flickerRows(out)
	dimmingRows(out)
	outputRows(out)
	lifeRows(out)
	damageRows(out)
	insulationRows(out)
	assemblyRows(out)
	return out
}

// number is a check whose value needs no error.
func number(v float64) check { return func() (float64, error) { return v, nil } }

// of is a check of one value of what f computes.
func of[T any](value T, err error, take func(T) float64) check {
	return func() (float64, error) {
		if err != nil {
			return 0, err
		}
		return take(value), nil
	}
}

// same takes a value as it is.
func same(v float64) float64 { return v }

func wireRows(out map[string]check) {
	wire := func(gauge int, take func(wiring.Conductor) float64) check {
		w, ok := wiring.AWG(gauge)
		if !ok {
			return of(w, fmt.Errorf("no AWG %d", gauge), take)
		}
		return of(w, nil, take)
	}
	ohmPerKm := func(w wiring.Conductor) float64 { return 1000 * w.OhmPerM }
	out["DR01"] = wire(18, ohmPerKm)
	out["DR02"] = wire(20, ohmPerKm)
	out["DR03"] = wire(22, ohmPerKm)
	out["DR04"] = wire(24, ohmPerKm)
	out["DR05"] = wire(24, func(w wiring.Conductor) float64 { return w.AreaMM2 })
	out["DR06"] = wire(22, func(w wiring.Conductor) float64 { return wiring.Drop(3, w.OhmPerM, 1.5) })
	out["DR07"] = number(wiring.CopperFactor(333.15))
	out["DR102"] = wire(24, func(w wiring.Conductor) float64 { return wiring.RuleOfThumb(w.AreaMM2).BundledA })
	out["DR107a"] = number(wiring.AmbientFactor(343.15, 303.15, 313.15))
	out["DR107b"] = number(wiring.AmbientFactor(343.15, 303.15, 323.15))
	flexible, _ := wiring.Metric(1.5, true)
	out["DR108"] = number(
		wiring.Lead{AreaMM2: 1.5, OhmPerM: flexible.OhmPerM, InsulationMM: 0.7, MaxK: 343.15}.Ampacity(303.15),
	)
	for id, ohm := range map[string]float64{"DR103a": 4, "DR103b": 9} {
		shares, err := drive.ParallelCurrents(2, []float64{35.5, 36.5}, []float64{ohm, ohm})
		out[id] = of(shares, err, func(s []float64) float64 { return s[0] })
	}
	seat := drive.PadPosition{VoltageV: 12, Potential: drive.PadCathode}
	groups, err := drive.PadGroups(
		drive.Mounting{Path: drive.PathCore}, []drive.PadString{{Positions: []drive.PadPosition{seat, seat}}},
	)
	out["DR104"] = of(groups, err, func(g []drive.PadGroup) float64 { return g[0].SpreadV })
}

func preferredRows(out map[string]check) {
	nearest := func(series string, value float64) check {
		v, err := wiring.Nearest(series, value)
		return of(v, err, same)
	}
	out["DR08"] = nearest("E24", 0.28571)
	out["DR09"] = nearest("E96", 0.28571)
	out["DR10"] = nearest("E12", 0.28571)
	out["DR11"] = nearest("E96", 1234)
	series, err := wiring.Series("E192")
	out["DR12"] = of(series, err, func(s []float64) float64 { return s[185] })
	sense, err := wiring.SenseResistor(0.2, 0.7, "E96", false, 0, 0)
	out["DR13"] = of(sense, err, func(s wiring.Sense) float64 { return s.CurrentA })
}

func converterRows(out map[string]check) {
	down := func(currentA, inductanceH float64, take func(drive.BuckState) float64) check {
		s, err := drive.Buck{
			InV: 24, OutV: 12, CurrentA: currentA, InductanceH: inductanceH, FrequencyHz: 100e3,
		}.Steady()
		return of(s, err, take)
	}
	capacitor := func(s drive.BuckState) float64 { return s.InputCapRMSA }
	out["DR14"] = down(2, 100e-6, func(s drive.BuckState) float64 { return s.RippleA })
	out["DR15"] = down(2, 60e-6, func(s drive.BuckState) float64 { return s.InductorRMSA })
	// An inductor too great to let any ripple through.
	out["DR16"] = down(1, 1e9, capacitor)
	out["DR17"] = down(1, 150e-6, capacitor)
	for id, ratio := range map[string]float64{"DR18": 0.01, "DR19": 0.02} {
		gain, _ := drive.MaxBoostGain(ratio)
		out[id] = number(gain)
	}
	duty := func(s drive.BoostState) float64 { return s.Duty }
	up, err := drive.Boost{InV: 24, OutV: 40, CurrentA: 0.5, InductanceH: 1e-4, FrequencyHz: 1e5}.Steady()
	out["DR20"] = of(up, err, duty)
	sepic, err := drive.Sepic{InV: 24, OutV: 30, CurrentA: 0.5, InputH: 1e-4, OutputH: 1e-4, FrequencyHz: 1e5}.Steady()
	out["DR21"] = of(sepic, err, duty)
}

func flickerRows(out map[string]check) {
	for id, hz := range map[string]float64{"DR22": 100, "DR23": 120, "DR24": 1000, "DR27": 50} {
		l := flicker.LimitAt(hz)
		out[id+"a"], out[id+"b"] = number(l.LowRisk), number(l.NoEffect)
	}
	out["DR25a"] = number(flicker.LimitAt(1250).LowRisk)
	out["DR25b"] = number(flicker.LimitAt(3000).NoEffect)
	count := func(has bool) check {
		if has {
			return number(1)
		}
		return number(0)
	}
	out["DR26a"] = count(flicker.LimitAt(3125).HasLowRisk)
	out["DR26b"] = count(flicker.LimitAt(3125).HasNoEffect)
	out["DR28"] = number(flicker.PercentFlicker(0.8, 1.2))
	out["DR29"] = number(flicker.RipplePercent(0.3, 1))
	out["DR30"] = number(flicker.PWMIndex(0.61))
	out["DR101"] = number(flicker.VisibleModulation(100))
}

func dimmingRows(out map[string]check) {
	for i, y := range []float64{0.01, 0.1, 0.5} {
		out["DR31"+letter(i)] = number(drive.Lightness(y))
	}
	out["DR32"] = number(drive.DutyForLightness(50))
	for i, bits := range []int{8, 10, 12, 16} {
		out["DR33"+letter(i)] = number(drive.FirstStep(bits))
	}
	out["DR34"] = number(drive.MeanOfLightnessRamp(0, 100))
	out["DR35"] = number(drive.MeanOfGammaRamp(0, 1, 2.2))
	out["DR36"] = number(drive.TimerFrequency(80e6, 16))
}

// outputRows checks how levels become outputs of a controller.
func outputRows(out map[string]check) {
	sum := 0.0
	for k := range 257 {
		sum += math.Floor(32768*drive.DutyForLightness(100*float64(k)/256) + 0.5)
	}
	out["DY19"] = number(sum)
	out["DY20a"] = number(drive.TimerFrequency(80e6, 14))
	out["DY20b"] = number(drive.TimerFrequency(16e6, 16))
	out["DY20c"] = number(drive.TimerFrequency(48e6, 12))
	out["DY20d"] = number(float64(drive.TimerSteps(80e6, 4e3, 16)))
	const code, bits, cycles = 7, 2, 64
	d, steps := drive.Dither{Bits: bits}, [cycles]uint32{}
	for i := range steps {
		steps[i] = d.Next(code<<bits + 1)
	}
	period := 1
	for !slices.Equal(steps[period:], steps[:cycles-period]) {
		period++
	}
	mean := 0.0
	for _, s := range steps[:period] {
		mean += float64(s-code) / float64(period)
	}
	out["DY27a"], out["DY27b"] = number(float64(period)), number(mean)
	out["DY30"] = number(drive.BudgetFactor([]float64{64, 12}, []float64{1, 0.717}, 55))
}

func lifeRows(out map[string]check) {
	cool := life.Projection{AlphaPerH: 1.684e-6, B: 0.9639, Units: 20, TestH: 10000, LimitH: 60000}
	hot := life.Projection{AlphaPerH: 3.354e-6, B: 0.9525, Units: 20, TestH: 10000, LimitH: 60000}
	b, err := life.Interpolate(cool, hot, 328.15, 358.15, 343.15)
	out["DR37"] = of(b, err, func(b life.Interpolated) float64 { return b.EaOverKK })
	out["DR38"] = of(b, err, func(b life.Interpolated) float64 { return b.B })
	out["DR39"] = of(b, err, func(b life.Interpolated) float64 { return b.AlphaPerH })
	out["DR40a"] = of(b, err, func(b life.Interpolated) float64 { return b.Life(0.7).Hours })
	out["DR40b"] = of(b, err, func(b life.Interpolated) float64 { return b.Life(0.7).ReportH })

	test, err := publishedTest()
	var fit life.Projection
	if err == nil {
		fit, err = test.Project()
	}
	out["DR41"] = of(fit, err, func(p life.Projection) float64 { return p.AlphaPerH })
	out["DR42"] = of(fit, err, func(p life.Projection) float64 { return p.B })
	for i, share := range []float64{0.9, 0.8, 0.7} {
		out["DR43"+letter(i)] = of(fit, err, func(p life.Projection) float64 { return p.Life(share).Hours })
	}
	out["DR44"] = of(test, err, func(m life.Maintenance) float64 { return m.Mean[len(m.Mean)-1] })
	out["DR45"] = number(colour.FluorescentMaintenance(8000))
	day, err := drive.DayEnergy(nil, 1.5, 0)
	out["DR68"] = of(day, err, func(e drive.Energy) float64 { return e.KWhPerYear })
	out["DR69"] = number(life.CapacitorLife(8000, 378.15, 348.15))
}

// damageRows computes the rows of damage over a day.
func damageRows(out map[string]check) {
	out["DY25"] = number(life.HarmonicMean([]float64{327097, 974893}, nil))
	law := func(b float64, rates ...[2]float64) (life.Law, error) {
		var tests []life.Test
		for _, r := range rates {
			tests = append(tests, life.Test{
				CaseK: r[0] + zeroCelsius, Projection: life.Projection{AlphaPerH: r[1], B: b},
			})
		}
		return life.NewLaw(true, tests...)
	}
	warm, err := law(1, [2]float64{85, 2.10e-6}, [2]float64{105, 4.35e-6})
	out["DY26a"] = of(warm, err, func(l life.Law) float64 { return l.EaOverKK(80 + zeroCelsius) })
	out["DY26b"] = of(warm, err, func(l life.Law) float64 { return l.At(73.4 + zeroCelsius).AlphaPerH })
	kept := life.Compensate(0.7, 1, func(level float64) float64 {
		return warm.At(24+49.4*level+zeroCelsius).AlphaPerH * 10 / 24
	})
	for i, v := range []float64{kept.CalendarH, kept.ConstantH, kept.MeanLevel} {
		out["DY32"+letter(i)] = of(v, err, same)
	}
	cool, err := law(0.99, [2]float64{55, 1.8e-6}, [2]float64{85, 4.1e-6})
	stage := func(hours, level float64) life.Stage {
		return life.Stage{Hours: hours, CaseK: 25 + 0.9*55*level + zeroCelsius, Duty: level}
	}
	day := []life.Stage{stage(5, 0.9), stage(3, 0.5)}
	out["DY31a"] = of(cool, err, func(l life.Law) float64 { return l.Damage(day, life.OnTime).PerCalendarH })
	out["DY31b"] = of(cool, err, func(l life.Law) float64 { return l.Damage(day, life.OnTime).CalendarH(0.8) })
	out["DY31c"] = of(cool, err, func(l life.Law) float64 { return l.Damage(day, life.DutyWeighted).CalendarH(0.8) })
}

// publishedTest reads the public readings of 20 units: hours, the units, and the average as it was printed.
func publishedTest() (life.Maintenance, error) {
	t := table.Must(data, "data/drive_tm21.csv", table.AllNumbers)
	var units [][]float64
	for _, name := range t.Columns[1 : len(t.Columns)-1] {
		units = append(units, t.Numbers(name))
	}
	return life.Average(t.Numbers("hours"), units)
}

func insulationRows(out map[string]check) {
	value := func(r wiring.Requirement) float64 { return r.Value }
	for i, degree := range []int{2, 3} {
		r, err := wiring.Creepage(50, wiring.Surface{PollutionDegree: degree, MaterialGroup: 3})
		out["DR63"+letter(i)] = of(r, err, value)
	}
	for i, alternating := range []bool{true, false} {
		r, err := wiring.TouchVoltage(wiring.Wet, alternating)
		out["DR64"+letter(i)] = of(r, err, value)
	}
}

func assemblyRows(out map[string]check) {
	alloy := func(id string) (assembly.Alloy, error) {
		a, ok := assembly.ByID(id)
		if !ok {
			return a, fmt.Errorf("no alloy %q", id)
		}
		return a, nil
	}
	for i, id := range []string{"snbi58", "sac305", "snpb37"} {
		a, err := alloy(id)
		out["DR57"+letter(i)] = of(a, err, func(a assembly.Alloy) float64 { return a.SolidusK - 273.15 })
	}
	paste := func(id string, metal float64) (assembly.Paste, error) {
		a, err := alloy(id)
		return assembly.Paste{MetalShare: metal, MetalKgM3: a.DensityKgM3}, err
	}
	density := func(p assembly.Paste) float64 { return p.Density() / 1000 }
	sac, err := paste("sac305", 0.885)
	out["DR52"] = of(sac, err, density)
	bi, err := paste("snbi58", 0.90)
	out["DR53"] = of(bi, err, density)
	deposit, err := bi.Print(
		[]assembly.Opening{{LengthM: 3.3e-3, WidthM: 3.3e-3, FoilM: 0.12e-3, Coverage: 0.8, Count: 1}},
	)
	out["DR54a"] = of(deposit, err, func(d assembly.Deposit) float64 { return d.VolumeM3 * 1e9 })
	out["DR54b"] = of(deposit, err, func(d assembly.Deposit) float64 { return d.MassKg * 1e6 })
	out["DR55"] = number(assembly.Opening{LengthM: 0.3e-3, WidthM: 0.3e-3, FoilM: 0.12e-3}.Release().AreaRatio)
	out["DR56"] = number(assembly.SmallestSquare(0.12e-3) * 1000)
	l, ok := assembly.Limits("lead-free")
	if !ok {
		err = fmt.Errorf("no lead-free limits")
	}
	for i, v := range []float64{l.RampMaxKS, l.PreheatMinS, l.PreheatMaxS, l.AboveMinS, l.AboveMaxS, l.CoolMaxKS} {
		out["DR58"+letter(i)] = of(v, err, same)
	}
	out["DR105"] = number(assembly.LayerResistance(100e-6, 2, 144e-6))
	out["DR106"] = number(assembly.PadDraw(503.15, 298.15, 1.53))
}
