package study_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/controller"
	"lampwright/internal/day"
	"lampwright/internal/drive"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/study"
)

// dayLamp is two channels over a tank with a controller; DAY is its programme, CONTROLLER what dims it.
const dayLamp = `lampwright: 2
name: Day
installation:
  kind: tank
  inside: {length: 400 mm, width: 300 mm, height: 300 mm}
  glass: 5 mm
  water_depth: 260 mm
  substrate_depth: 50 mm
  hanging_height: 200 mm
  ambient: {typical: 22 °C, max: 32 °C}
requirements: {max_junction: 100 °C}
board: {part: aluminium-2w, thickness: 2 mm, shape: rectangle, length: 100 mm, width: 60 mm, copper_coverage: 70 %}
channels:
  - name: white
    emitters: [{part: white-5700, lens: lens-52, at: [[-30 mm, 0 mm], [30 mm, 0 mm]]}]
    current: 700 mA
    driver: buck-1a
  - name: red
    emitters: [{part: photored-662, lens: lens-52, at: [[0 mm, 15 mm]]}]
    current: 500 mA
    driver: DRIVER
    level: 50 %
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-150}
sensor: {part: ntc-10k, at: [0 mm, -20 mm], foldback_start: 50 °C, foldback_end: 70 °C}
supplies: [{part: supply-24v-100w}]
CONTROLLER
DAY
`

// dayEvaluation evaluates the lamp with a programme and a controller.
func dayEvaluation(t *testing.T, programme, control, driver string) *figure.Evaluation {
	t.Helper()
	text := strings.NewReplacer("DAY", programme, "CONTROLLER", control, "DRIVER", driver).Replace(dayLamp)
	p, problems := project.Load(fstest.MapFS{"lamp.yaml": {Data: []byte(text)}}, "lamp.yaml", partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const (
	berlinDay  = "day: {time_zone: Europe/Berlin, curve: lightness, full_level_time: 8 h, ramp_time: 60 min}"
	wideOutput = "controller: {part: controller-16bit}"
)

func plan(t *testing.T, r *figure.Evaluation) *study.ControllerPlan {
	t.Helper()
	p, err := study.PlanController(r, study.ControllerOptions{FirstYear: 2027})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The configuration follows from the design; each expected value is by hand.
func TestPlanController(t *testing.T) {
	r := dayEvaluation(t, berlinDay, wideOutput, "buck-1a")
	p := plan(t, r)
	c := &p.Config
	// 8 h around 13:00 with ramps of 1 h: 08:00, 09:00, 17:00, 18:00. Red is at 50 % of light: L* 76.07.
	white, red := c.Channels[0], c.Channels[1]
	for i, want := range [][2]int64{{28800, 0}, {32400, 32768}, {61200, 32768}, {64800, 0}} {
		if white.Points[i] != want || red.Points[i][0] != want[0] {
			t.Errorf("point %d: %v and %v, want %v", i, white.Points[i], red.Points[i], want)
		}
	}
	if want := int64(math.Round(32768 * drive.Lightness(0.5) / 100)); red.Points[1][1] != want || red.Curve != 1 {
		t.Errorf("red is at %d with curve %d, want %d by lightness", red.Points[1][1], red.Curve, want)
	}
	// Changes of the clock in Berlin: last Sundays of March and October, 01:00 UTC (IANA time zone database).
	spring, autumn := [2]int64{859510800, 7200}, [2]int64{878259600, 3600}
	if len(c.Zone) != 24 || c.Zone[0][1] != 3600 || c.Zone[1] != spring || c.Zone[2] != autumn {
		t.Errorf("zone %v", c.Zone)
	}
	// 24 V · 0.875 and · 0.9375.
	if c.VinLowMV != 21000 || c.VinOKMV != 22500 {
		t.Errorf("supply %d mV, %d mV", c.VinLowMV, c.VinOKMV)
	}
	// 10 kΩ at 25 °C against 10 kΩ: half of the range; the foldback ends at 70 °C, trip 5 K above.
	n := len(c.Fold)
	if n != 8 || c.Fold[n-1][1] != 32768 || c.Fold[0][1] >= c.Fold[1][1] {
		t.Errorf("fold %v", c.Fold)
	}
	// The table has the light of the law at the full setting of white: 10 % at the end.
	if got, want := float64(c.Fold[0][1])/32768, drive.Lightness(0.1)/100; got > want+1e-4 || got < 0.8*want {
		t.Errorf("gain %.4f at the end of the foldback, want %.4f or somewhat less, for the dim channel", got, want)
	}
	if !(c.ADCTrip < c.Fold[0][0] && c.Fold[n-1][0] < c.ADCRelease && c.ADCRelease < 2048) {
		t.Errorf("trip %d, fold %v, release %d must rise, below the code at 25 °C", c.ADCTrip, c.Fold, c.ADCRelease)
	}
	if got, want := float64(white.Weight10mW), 100*r.Sol.Channels[0].InputOnW; got < want || got > want+1 {
		t.Errorf("weight %g, want %g or up to one more", got, want)
	}
	if c.PMax10mW != white.Weight10mW+red.Weight10mW {
		t.Errorf("power limit %d of %d and %d: the supply has enough", c.PMax10mW, white.Weight10mW, red.Weight10mW)
	}
	if c.Fan.HasTach || c.Fan.Curve[0][1] != 0 || c.FanfailGain != 32768 || c.LimpLevel != 6554 {
		t.Errorf("fan %+v, failure %d, limp %d of a lamp without a fan", c.Fan, c.FanfailGain, c.LimpLevel)
	}
	if len(p.Wiring) != 4 || p.Wiring[0].Output != "pwm1" || p.Wiring[1].Channel != "1: red" {
		t.Errorf("wiring %v", p.Wiring)
	}
}

// kelvinOf returns the temperature of a code of 12 bits.
func kelvinOf(t *testing.T, r *figure.Evaluation, code int64) float64 {
	t.Helper()
	d, err := r.Lamp.Divider()
	if err != nil {
		t.Fatal(err)
	}
	d.Bits = 12
	return d.Kelvin(int(code))
}

// Codes are those of the temperatures that the design states or that follow from its states.
func TestPlanTemperatures(t *testing.T) {
	r := dayEvaluation(t, berlinDay, wideOutput+"\nfan: {part: fan-92, speed: 60 %}", "buck-1a")
	c := &plan(t, r).Config
	typical, hot := r.Sol.Cases[engine.Typical], r.Sol.Cases[engine.MaxAmbient]
	rise := r.Sys.Board.SensorRise(&typical)
	for _, tt := range []struct {
		name string
		code int64
		want float64 // [°C]
	}{
		{"trip: 5 K above the end of the foldback", c.ADCTrip, 75},
		{"release: 3 K below its start", c.ADCRelease, 47},
		{"end of the foldback", c.Fold[0][0], 70},
		{"start of the foldback", c.Fold[len(c.Fold)-1][0], 50},
		{"fan starts at half of the typical rise", c.Fan.Curve[len(c.Fan.Curve)-1][0], 22 + max(rise, 2)/2},
		{"fan has its speed at 90 % of it", c.Fan.Curve[len(c.Fan.Curve)-2][0], 22 + 0.9*max(rise, 2)},
		{"fan keeps it at maximum ambient", c.Fan.Curve[1][0], 32 + r.Sys.Board.SensorRise(&hot)},
		{"fan is full from the start of the foldback on", c.Fan.Curve[0][0], 50},
	} {
		if got := kelvinOf(t, r, tt.code) - 273.15; math.Abs(got-tt.want) > 0.1 {
			t.Errorf("%s: code %d is %.2f °C, want %.2f °C", tt.name, tt.code, got, tt.want)
		}
	}
	if f := c.Fan; f.Curve[1][1] != 19661 || f.Curve[2][1] != 19661 || !f.HasTach || f.Curve[0][1] != 32768 {
		t.Errorf("fan %+v at 60 %%", f)
	}
}

// A supply that is too small for all channels at 100 % limits their power in proportion.
func TestPlanSmallSupply(t *testing.T) {
	r := dayEvaluation(t, berlinDay, wideOutput, "buck-1a")
	load := r.Sol.Channels[0].InputOnW + r.Sol.Channels[1].InputOnW
	r.Lamp.Project.Library.Supplies.Get("supply-24v-100w").Power.SI = load / 2
	c := &plan(t, r).Config
	if sum := c.Channels[0].Weight10mW + c.Channels[1].Weight10mW; c.PMax10mW != sum/2 {
		t.Errorf("limit %d of %d", c.PMax10mW, sum)
	}
}

// A design states a power limit of the LEDs, acclimation, and another curve of the controller.
func TestPlanStated(t *testing.T) {
	r := dayEvaluation(t, "day: {full_level_time: 8 h, ramp_time: 60 min, "+
		"acclimation: {start: 2027-05-04, duration: 42 d, initial_setting: 60 %}}",
		"controller: {part: controller-16bit, power_limit: 5 W, off_below: 4 %}", "buck-1a")
	p := plan(t, r)
	c := &p.Config
	ch := r.Sol.Channels[0]
	want := 100 * ch.CurrentA * ch.VoltageV
	if got := float64(c.Channels[0].Weight10mW); math.Abs(got-want) > 1.001 || c.PMax10mW != 500 {
		t.Errorf("weight %g, want %g; limit %d", got, want, c.PMax10mW)
	}
	if want := (controller.Acclimation{StartDay: 9985, Days: 42, From: 19661}); c.Acclimation != want {
		t.Errorf("acclimation %+v, want %+v (2027-05-04 is day 9985)", c.Acclimation, want)
	}
	if c.Channels[0].OffBelow != 1311 || c.Channels[0].Curve != controller.Linear {
		t.Errorf("off below %d, curve %d", c.Channels[0].OffBelow, c.Channels[0].Curve)
	}
	if len(c.Zone) != 1 || c.Zone[0][1] != 0 || !strings.Contains(strings.Join(p.Notes, "\n"), "states no time zone") {
		t.Errorf("zone %v, notes %q", c.Zone, p.Notes)
	}
}

// A programme with more points than the core has, or with the sun, is reduced; the stated deviation is that of a
// comparison at each minute.
func TestPlanReduces(t *testing.T) {
	eased := "day: {time_zone: UTC, curve: linear, keyframes: [{time: 06:00, level: 0 %}, {time: 09:00, level: 60 %, " +
		"ramp: eased}, {time: 12:00, level: 100 %, ramp: eased}, {time: 20:00, level: 0 %, ramp: eased}]}"
	sun := "day: {curve: lightness, sun: {latitude: -3 deg, longitude: -60 deg, noon: 13:30, date: 2031-03-20}, " +
		"moonlight: {channel: white, level: 1 %, from: 20:30, to: 23:30}}"
	reduces(t, dayEvaluation(t, strings.Replace(eased, "linear", "lightness", 1), wideOutput, "buck-1a"))
	reduces(t, dayEvaluation(t, eased, wideOutput, "buck-1a"))
	reduces(t, dayEvaluation(t, sun, wideOutput, "buck-1a"))
}

// reduces checks the points of a plan with those of its programme.
func reduces(t *testing.T, r *figure.Evaluation) {
	t.Helper()
	p := plan(t, r)
	course, err := r.Day.Reference.Course(0)
	if err != nil {
		t.Fatal(err)
	}
	levels := make([]float64, len(r.Lamp.Channels))
	for i := range p.Config.Channels {
		points := p.Config.Channels[i].Points
		if len(points) > 16 || p.Deviation[i] > 2 {
			t.Errorf("channel %d: %d points, deviation %.2f L*", i, len(points), p.Deviation[i])
		}
		worst, core := 0.0, day.Channel{}
		for _, pt := range points {
			at := day.Point{SecondS: float64(pt[0]), Setting: float64(pt[1]) / controller.One}
			core.Points = append(core.Points, at)
		}
		curve := r.Day.Programme.Channels[i].Curve
		for s := 0.0; s < 86400; s += 60 {
			course.Duties(s, levels)
			have, want := drive.Lightness(curve.Duty(core.SettingAt(s))), drive.Lightness(levels[i])
			worst = math.Max(worst, math.Abs(have-want))
		}
		if math.Abs(worst-p.Deviation[i]) > 0.01 {
			t.Errorf("channel %d: deviation %.3f L*, stated %.3f", i, worst, p.Deviation[i])
		}
	}
}

// Moonlight does not turn the steps of the day into slow ramps: full level from 09:00 to 17:00, by hand.
func TestPlanStepsWithMoon(t *testing.T) {
	r := dayEvaluation(t, "day: {curve: linear, full_level_time: 8 h, moonlight: {channel: white, level: 2 %, "+
		"from: 22:00, to: 02:00}}", wideOutput, "buck-1a")
	p := plan(t, r)
	for i, full := range []int64{32768, 16384} {
		core := day.Channel{}
		for _, pt := range p.Config.Channels[i].Points {
			core.Points = append(core.Points, day.Point{SecondS: float64(pt[0]), Setting: float64(pt[1])})
		}
		for second, want := range map[float64]float64{
			9*3600 - 2: 0, 9*3600 + 2: float64(full), 17*3600 - 2: float64(full), 17*3600 + 2: 0,
			23 * 3600: 655 * float64(1-i),
		} {
			if got := core.SettingAt(second); math.Abs(got-want) > 1 {
				t.Errorf("channel %d at %g s: %g of 32768, want %g", i, second, got, want)
			}
		}
		if p.Deviation[i] > 50 { // of the minute in the middle of a step
			t.Errorf("channel %d: deviation %.2f L*", i, p.Deviation[i])
		}
	}
}

// Analogue dimming: levels are fractions of the current, and the power limit counts the power at full current.
func TestPlanAnalogue(t *testing.T) {
	r := dayEvaluation(t, strings.Replace(berlinDay, "lightness", "linear", 1), wideOutput, "buck-3a")
	drv := *r.Lamp.Channels[1].Driver
	drv.CurrentMin.SI = 0.05
	r.Lamp.Channels[1].Driver = &drv
	p := plan(t, r)
	red := p.Config.Channels[1]
	if red.Points[1][1] != 16384 {
		t.Errorf("full day %d of 32768, want half", red.Points[1][1])
	}
	if want := int64(math.Ceil(32768 * 0.05 / 0.5)); math.Abs(float64(red.MinDuty-want)) > 8 { // a code of 12 bits
		t.Errorf("minimum duty %d, want %d: 50 mA of 500 mA", red.MinDuty, want)
	}
	// The driver takes more at full current; its own losses are in both.
	half := 100 * r.Sol.Channels[1].InputOnW
	full := r.Sys.WithLevels([]float64{1, 1}).Solve(r.Base, engine.Needs{
		Only: engine.Typical, Stages: engine.Emission | engine.Power,
	})
	want := 100 * full.Channels[1].InputOnW
	if got := float64(red.Weight10mW); got < 1.5*half || math.Abs(got-want) > 1 {
		t.Errorf("weight %g, want %.1f; at half of the current %.1f", got, want, half)
	}
	steps := float64(r.Lamp.Steps(1))
	var codes []string
	for _, duty := range []float64{0.1, 0.25, 0.5, 1} {
		codes = append(codes, fmt.Sprintf("%.0f", math.Round(duty*steps)))
	}
	notes := strings.Join(p.Notes, "\n")
	if !strings.Contains(notes, strings.Join(codes, ", ")+", of") ||
		!strings.Contains(notes, "fraction of the current") {
		t.Errorf("codes %v are not in\n%s", codes, notes)
	}
}

// Without the fan the same light has the same limit, whether the level of full day states it or a keyframe by PPFD that
// raises the lamp above that level.
func TestPlanFanFailureRaised(t *testing.T) {
	const stated = "day: {full_level_time: 16 h, ramp_time: 20 min, start: 05:00, " +
		"time_zone: Europe/Paris, tariff: 0.30 EUR/kWh}"
	light := func(level, programme string) float64 {
		t.Helper()
		r, err := figure.Evaluate(t.Context(), lamptest.ExampleWith(t, "propagation-bench",
			lamptest.Change{"max_junction: 95 °C", "max_junction: 60 °C"}, lamptest.Change{stated, programme},
			lamptest.Change{"    current: 1.15 A", "    level: " + level + "\n    current: 1.15 A"},
			lamptest.Change{"    current: 500 mA", "    level: " + level + "\n    current: 500 mA"},
		), engine.Options{Samples: -1})
		if err != nil {
			t.Fatal(err)
		}
		p := plan(t, r)
		most := int64(0)
		for _, pt := range p.Config.Channels[0].Points {
			most = max(most, pt[1])
		}
		return float64(most) * float64(p.Config.FanfailGain) / controller.One / controller.One
	}
	full := light("100 %", "day: {full_level_time: 8 h}")
	raised := light("50 %", "day: {keyframes: [{time: 08:00, level: 0 %}, {time: 09:00, ppfd: 110 µmol/m²/s}, "+
		"{time: 20:00, level: 0 %}]}")
	// The light is proportional to the heat within a few per cent.
	if full > 0.9 || math.Abs(raised/full-1) > 0.1 {
		t.Errorf("level without the fan %.3f where keyframes raise it, want %.3f", raised, full)
	}
}

// What the core cannot run is one clear error.
func TestPlanRefuses(t *testing.T) {
	no := func(r *figure.Evaluation, year int, want string) {
		t.Helper()
		p, err := study.PlanController(r, study.ControllerOptions{FirstYear: year})
		if p != nil || err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%v, want %q", err, want)
		}
	}
	no(dayEvaluation(t, berlinDay, "", "buck-1a"), 2027, "no controller")
	no(dayEvaluation(t, "", wideOutput, "buck-1a"), 2027, "no daily programme")
	no(dayEvaluation(t, berlinDay, wideOutput, "ac-700ma"), 2027, "no output dims channel red")
	no(dayEvaluation(t, "day: {keyframes: [{time: 08:00, level: 0 %}]}", wideOutput, "buck-1a"), 2027, "dark all day")
	no(dayEvaluation(t, berlinDay, wideOutput, "buck-1a"), 1999, "year 1999")
	r := dayEvaluation(t, berlinDay, wideOutput, "buck-1a")
	r.Lamp.Design.Sensor = nil
	no(r, 2027, "needs a thermistor")
}

// The core does what was evaluated: its duties over a day of 25 h are the levels of the programme, played twice where
// the clock is.
func TestSimulateDay(t *testing.T) {
	r := dayEvaluation(t, "day: {time_zone: Europe/Berlin, curve: lightness, keyframes: [{time: 02:00, level: 0 %}, "+
		"{time: 03:00, level: 40 %}, {time: 12:00, level: 100 %}, {time: 20:00, level: 0 %}]}", wideOutput, "buck-1a")
	p := plan(t, r)
	date := day.Date(2027, 10, 31)
	run, err := p.SimulateDay(t.Context(), date)
	if err != nil {
		t.Fatal(err)
	}
	if len(run.At) != 1500 || run.Ticks != 900000 {
		t.Fatalf("%d rows, %d ticks of a day of 25 h", len(run.At), run.Ticks)
	}
	course, err := r.Day.Programme.Course(date)
	if err != nil {
		t.Fatal(err)
	}
	clock, want := r.Day.Programme.Clock, make([]float64, 2)
	for k := 3; k < len(run.At); k++ { // after the soft start
		_, second := clock.Local(clock.DayStart(date) + int64(60*k+30))
		if second%3600 < 120 || second%3600 > 3480 {
			continue // the core slews where the clock falls back from 03:00 to 02:00
		}
		course.Duties(float64(second), want)
		for i, w := range want {
			if got := run.Duty[i][k]; w > 0.01 && math.Abs(got-w) > 0.002 { // below, the driver ends
				t.Fatalf("channel %d at second %d (row %d): duty %.4f, programme %.4f", i, second, k, got, w)
			}
		}
	}
	if len(run.Changes) != 2 || run.Changes[1].State != controller.Run {
		t.Errorf("changes %v", run.Changes)
	}
	_, err = p.SimulateDay(t.Context(), day.Date(2026, 6, 1))
	if err == nil || !strings.Contains(err.Error(), "--year") {
		t.Errorf("a day before the zone table: %v", err)
	}
}

// The thermistor of a simulated day is at the temperature of the sensor along the reference day. A fan whose duty is
// the code over 12 bits shows the code; 10 kΩ at 25 °C with 10 kΩ to the reference.
func TestSimulatedThermistor(t *testing.T) {
	r := dayEvaluation(t, berlinDay, wideOutput, "buck-1a")
	p := plan(t, r)
	p.Config.Fan = controller.Fan{Curve: [][2]int64{{0, 0}, {4096, controller.One}}, TachDelayTicks: 1}
	run, err := p.SimulateDay(t.Context(), day.Date(2027, 6, 1))
	if err != nil {
		t.Fatal(err)
	}
	d, err := r.Lamp.Divider()
	if err != nil {
		t.Fatal(err)
	}
	along := r.Day.Hours.Course
	for _, minute := range []int{125, 525, 535, 566, 785, 1045, 1095} {
		at := slices.IndexFunc(along.TimesS, func(s float64) bool { return s > float64(60*minute) })
		u := (float64(60*minute) - along.TimesS[at-1]) / (along.TimesS[at] - along.TimesS[at-1])
		kelvin := along.SensorK[at-1]*(1-u) + along.SensorK[at]*u
		want := d.Ratio(d.NTC.OhmAt(kelvin))
		if got := run.Fan[minute]; math.Abs(got-want)*4096 > 1.1 { // whole codes
			t.Errorf("minute %d at %.2f K: code %.2f, want %.2f", minute, kelvin, 4096*got, 4096*want)
		}
	}
}

// A trace keeps its rows, changes and CRC.
func TestRunTrace(t *testing.T) {
	c := plan(t, dayEvaluation(t, berlinDay, wideOutput, "buck-1a")).Config
	trace := controller.Trace{Config: c, Ticks: 450, UTC0: c.MinUTC + 40*86400, CRCOK: true}
	run, err := study.RunTrace(t.Context(), "x", trace)
	if err != nil {
		t.Fatal(err)
	}
	s, err := trace.Run(t.Context())
	if err != nil || len(run.At) != len(s.Rows) || run.At[1] != 10 || run.Changed != len(s.StateChanges) ||
		run.CRC32 == "" {
		t.Errorf("%+v, %v", run, err)
	}
}
