package verify

import (
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/foldback"
	"lampwright/internal/life"
	"lampwright/internal/light"
	"lampwright/internal/mount"
	"lampwright/internal/sink"
	"lampwright/internal/wiring"
)

// numbered returns a function that adds the values of a row, or of rows that differ by a letter.
func numbered(out map[string]check) func(id string, values ...float64) {
	return func(id string, values ...float64) {
		for i, v := range values {
			key := id
			if len(values) > 1 {
				key += letter(i)
			}
			out[key] = number(v)
		}
	}
}

// buildingChecks computes the rows of data/building.csv: what an experienced builder checks.
func buildingChecks() map[string]check {
	out := map[string]check{}
	list := numbered(out)
	clampRows(list)
	bowRows(list)
	lensRows(list)
	fatigueRows(list)
	hangRows(list)
	wearRows(list)
	cutoutRows(list)
	corrosionRows(list)
	nightRows(list)
	return out
}

// rows adds the values of a row, or of the rows of a list.
type rows func(id string, values ...float64)

const (
	milli = 1e-3
	micro = 1e-6
)

func clampRows(add rows) {
	force := func(k float64) float64 { return mount.Preload(0.45, k, 3*milli) }
	add("BU01", force(mount.NutFactor))
	add("BU02", force(mount.NutFactorLo), force(mount.NutFactorHi))
	add("BU03", mount.Torque(0.7*5.03*580, mount.NutFactor, 3*milli))
	add("BU04", mount.MeanPressure(6, force(mount.NutFactor), 0.150*0.060)/1e3)
	line := func(pa float64) float64 { return mount.BondLine(mount.UsualYieldPa, pa) / micro }
	add("BU05", line(10e3))
	add("BU06", line(100e3))
	add("BU07", line(500e3))
	add("BU08", line(10e3)/line(500e3))
	add("BU17", mount.GapRise(1e4, 80*micro, 1), mount.GapRise(1e4, 80*micro, 0.026))
	add("BU18", mount.KeepOut(7*milli, 3*milli, 3.4*milli, 1.5*milli)/milli)
	add("BU19", mount.TapeArea(0.09, mount.TapeShearPa)*1e4)
}

func bowRows(add rows) {
	bow := mount.Film{
		YoungPa: 110e9, ThicknessM: 35 * micro, PlateYoungPa: 69e9, PlateThicknessM: 1.6 * milli, ExpansionPerK: 6 * micro,
		CoolingK: 150,
	}.Curvature()
	add("BU09", bow)
	add("BU10", mount.Bow(bow, 0.12)/milli, mount.Bow(bow, 0.24)/milli)
	add("BU11", mount.GapRise(5000, 1.6*milli, 138), mount.Bow(mount.FluxCurvature(23*micro, 5000, 138), 0.24)/micro)
	add("BU12", mount.FlatteningForce(69e9, 0.04, 1.6*milli, 0.5*milli, 0.24))
	spacing := func(mm, pa float64) float64 {
		return mount.Plate{YoungPa: 69e9, Poisson: 0.33, ThicknessM: mm * milli}.Spacing(pa, 20*micro) / milli
	}
	add("BU13", spacing(1.0, 100e3))
	add("BU14", spacing(1.6, 100e3))
	add("BU15", spacing(3.0, 100e3))
	add("BU16", spacing(1.6, 20e3))
}

func lensRows(add rows) {
	lens := sink.Lens{DiameterM: 22 * milli, HeightM: 11 * milli, GapM: 0.4 * milli, FilmWm2K: 12}
	air, board := lens.Conductances()
	add("BU20", air/milli, board/milli)
	for i, c := range []float64{70, 95, 115} {
		add([]string{"BU21", "BU22", "BU23"}[i], lens.Temperature(0.1, 38+zeroCelsius, c+zeroCelsius)-zeroCelsius)
	}
	add("BU24", sink.Growth(70*micro, 9*milli, 55)/micro)
}

const zeroCelsius = 273.15

func fatigueRows(add rows) {
	one := life.WeibullCycles(1500, 4, 0.01, 1)
	add("BU40", one)
	add("BU41", life.WeibullCycles(1500, 4, 0.01, 30))
	test := life.Cycling{SwingK: 165, MaxK: 125 + zeroCelsius, PerDay: 24}
	daily := func(swing float64) life.Cycling {
		return life.Cycling{SwingK: swing, MaxK: 25 + swing + zeroCelsius, PerDay: 1}
	}
	for i, set := range []life.Fatigue{life.SACPan, life.SACVasudevanFan, life.TinLead} {
		var cycles, years []float64
		for _, swing := range []float64{20, 60, 80} {
			n := one * set.Acceleration(test, daily(swing))
			cycles, years = append(cycles, n), append(years, n/365.25)
		}
		add([]string{"BU42", "BU44", "BU46"}[i], cycles...)
		add([]string{"BU43", "BU45", "BU47"}[i], years...)
	}
	pan := life.SACPan
	at := daily(60)
	add("BU48",
		pan.Acceleration(test, life.Cycling{SwingK: 60, MaxK: test.MaxK, PerDay: 24}),
		pan.Acceleration(test, life.Cycling{SwingK: 165, MaxK: test.MaxK, PerDay: 1}),
		pan.Acceleration(test, life.Cycling{SwingK: 165, MaxK: at.MaxK, PerDay: 24}),
		pan.Acceleration(test, at))
	add("BU49", pan.Damage(life.Cycling{SwingK: 20, MaxK: at.MaxK, PerDay: 40}, at))
	strain := func(ppm, swing float64) float64 { return life.ShearStrain(ppm*micro, swing, 2.1*milli, 60*micro) }
	add("BU50", 100*strain(16, 60))
	add("BU51", 100*strain(10, 60), 100*strain(8, 60))
	add("BU52", life.Homologous(85+zeroCelsius, 138+zeroCelsius), life.Homologous(85+zeroCelsius, 217+zeroCelsius))
	add("BU100", life.Engelmaier(strain(16, 165), 42.5+zeroCelsius, 900))
}

func hangRows(add rows) {
	const lampKg = 2.4
	extrusion := sink.PlateFin{
		LengthM: 0.240, WidthM: 0.110, BaseThicknessM: 7 * milli, Fins: 12, FinHeightM: 25 * milli, FinThicknessM: 1.8 * milli,
	}
	add("BU53", extrusion.VolumeM3()*2700)
	add("BU54", mount.LineForce(lampKg, 2, 35*math.Pi/180))
	add("BU55", 5*mount.SuddenFactor(0, 25e3, lampKg)*mount.LineForce(lampKg, 1, 0))
	sudden := func(slackM float64) float64 { return mount.SuddenFactor(slackM, 25e3, lampKg) }
	add("BU56", sudden(0), sudden(15*milli), sudden(150*milli))
	tilt := mount.Tilt(4*milli, 420*milli)
	add("BU57", tilt*180/math.Pi, mount.BeamShift(tilt, 0.45)/milli)
	first := mount.Lever(0, 0.42, 0.26)
	add("BU58", 100*first, 100*(1-first))
	add("BU59", mount.Dip(0.7, 0.28)/milli)
}

func wearRows(add rows) {
	add("BU60", life.CapacitorLife(4000, 105+zeroCelsius, 68+zeroCelsius)*life.RippleLife(0.6, 5))
	for i, f := range []float64{life.FanFactor, life.FanFactorHi} {
		add("BU61"+letter(i), life.FanLife(50000, 40+zeroCelsius, 55+zeroCelsius, f))
	}
	var ratio []float64
	for _, z := range []float64{1500, 2500, 3000} {
		ratio = append(ratio, sink.PressureAtAltitude(z)/seaLevelPa)
	}
	add("BU62", ratio...)
	film := func(pa float64) float64 {
		return sink.PlateCoefficient(sink.FaceUp, 0.1, 0.01, 0.4, 333.15, 293.15, pa)
	}
	h := film(ratio[1]*seaLevelPa) / film(seaLevelPa)
	add("BU63", h, 1/(0.6*h+0.4))
}

func cutoutRows(add rows) {
	const powerW, massKg, heatJkgK, lagS = 55, 0.80, 900, 40
	add("BU66", 60*foldback.HeatingRate(powerW, massKg, heatJkgK))
	over := foldback.Overshoot(powerW, massKg, heatJkgK, lagS)
	add("BU67", over)
	lo, hi := foldback.Cutout{
		NormalK: 66 + zeroCelsius, LimitK: 95 + zeroCelsius, GradientK: 4, ToleranceK: 5, OvershootK: over,
	}.Window()
	add("BU68", lo-zeroCelsius, hi-zeroCelsius)
	open, early, rest := foldback.Link(98 + zeroCelsius)
	add("BU69", open-zeroCelsius, early-zeroCelsius, rest-zeroCelsius)
}

func corrosionRows(add rows) {
	var volts []float64
	for _, metal := range []string{"copper", "stainless", "tin"} {
		v, _, err := mount.Couple("aluminium", metal)
		if err != nil {
			v = math.NaN()
		}
		volts = append(volts, v)
	}
	add("BU33", volts...)
	heads := 4 * math.Pi / 4 * 5.5 * milli * 5.5 * milli
	add("BU34", mount.Attack(heads, 250e-4), mount.Attack(250, 1))
}

func nightRows(add rows) {
	short, err := drive.ShortedStringA(1.1, 2, 9, 9*2.95, 9*0.32)
	if err != nil {
		short = math.NaN()
	}
	add("BU31", short)
	add("BU70", drive.LeakageA(47e-9, 50, 230)/milli)
	add("BU71", drive.LeakageA(6*drive.CableFPerM, 50, 230)/micro)
	ohm := drive.GlowBleederOhm(9*drive.DarkInGaNV, 50*micro)
	e12, err := wiring.AtMost("E12", ohm)
	if err != nil {
		e12 = math.NaN()
	}
	add("BU74", ohm/1e3, 26.6*26.6/e12/milli)
	add("BU75", drive.YearKWh(0.4))
	add("BU89", 100*light.FallSurface(0.22, 0.014))
}
