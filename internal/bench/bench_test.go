package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/sink"
	"lampwright/internal/source"
)

const campaign = `lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, class: B, resolution: 1 lx}
  - {name: dmm, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}
  - {name: amp, kind: multimeter, accuracy: 1 %, resolution: 1 mA}
  - {name: ohm, kind: multimeter, accuracy: 0.5 %, resolution: 1 Ω}
  - {name: pct, kind: thermometer, accuracy: 2 %, resolution: 0.1 K}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K, resolution: 0.1 K}
  - {name: ir, kind: infrared thermometer, accuracy_offset: 2 K, resolution: 0.1 K}
  - {name: plug, kind: wattmeter, accuracy: 2 %, resolution: 0.1 W}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22.5 °C
`

// textOf returns a campaign of every channel of a lamp.
func textOf(l *lamp.Lamp, channels []string) string {
	s := campaign + "    states:\n      - {name: full}\n      - {name: dimmed, levels: ["
	for i, c := range channels {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprintf("{channel: %s, level: 30 %%}", c)
	}
	s += "]}\n"
	for _, c := range channels {
		s += fmt.Sprintf("      - {name: only %s, levels: [{channel: %s, level: 100 %%}]}\n", c, c)
		s += fmt.Sprintf("      - {name: bare %s, levels: [{channel: %s, level: 100 %%}], lenses: off}\n", c, c)
	}
	s += "    readings:\n"
	add := func(format string, a ...any) { s += fmt.Sprintf("      - {"+format+"}\n", a...) }
	for i, c := range channels {
		add("what: string voltage, instrument: dmm, channel: %s, state: full", c)
		add("what: driver voltage, instrument: dmm, channel: %s, state: full", c)
		add("what: string current, instrument: amp, channel: %s, state: full", c)
		add("what: string current, instrument: amp, channel: %s, state: dimmed", c)
		add("what: illuminance, instrument: lux, channel: %s, state: only %s, place: axis, distance: 500 mm", c, c)
		if l.Optics[l.Emitters[l.Channels[i].Emitters[0]].Optic].Lens != nil {
			add("what: illuminance, instrument: lux, channel: %s, state: bare %s, place: axis, distance: 500 mm", c, c)
			add("what: flux ratio, channel: %s, state: full, uncertainty: 2 %%", c)
		}
		for e := range l.Channels[i].Emitters {
			add("what: contact temperature, instrument: tc, place: solder point, emitter: %s %d, state: full", c, e+1)
		}
	}
	add("what: contact temperature, instrument: tc, place: heat sink, state: full")
	add("what: contact temperature, instrument: tc, place: room, state: full")
	add("what: infrared temperature, instrument: ir, place: spot, spot: hottest, state: full")
	add("what: mains power, instrument: plug, state: full")
	if l.Design.Sensor != nil {
		add("what: thermistor resistance, instrument: ohm, place: sensor, state: full")
	}
	return s
}

// evaluated returns a demo with the effects of its tolerances.
func evaluated(t testing.TB, name string) *figure.Evaluation {
	t.Helper()
	return lamptest.EvaluateProject(t, lamptest.Example(t, name), engine.Options{
		Samples: 10,
		Solver:  lamptest.Remembered,
	})
}

// read reads a campaign of the demo long-tank.
func read(t testing.TB, text string) *Model {
	t.Helper()
	e := evaluated(t, "long-tank")
	r, problems := project.LoadReadingsText("readings.yaml", []byte(campaign+text), e.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	m, err := New(e.Sys, r)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// value sets the value of an item over its prediction for the nominal lamp.
func (m *Model) setOver(t testing.TB, item int, factor float64) {
	t.Helper()
	y, err := m.Predict(context.Background(), make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	m.Items[item].Value = y[item] * factor
}

func (m *Model) paramOf(t testing.TB, name string) int {
	t.Helper()
	at := slices.IndexFunc(m.Params, func(p Parameter) bool { return p.Name == name })
	if at < 0 {
		t.Fatalf("no parameter %s", name)
	}
	return at
}

// TestOneReading learns a current from one reading in closed form.
func TestOneReading(t *testing.T) {
	m := read(t, "    readings:\n      - {what: string current, instrument: amp, channel: cool, value: 700 mA, "+
		"uncertainty: 1 mA}\n")
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	// ln of the reading over the nominal current: tolerance of the driver, scale of the meter, and 1/700 fresh.
	tolerance := m.Params[m.paramOf(t, "channel.cool.current_tolerance")].Prior.Spread
	scale := 0.01 / math.Sqrt(3)
	fresh := 1.0 / 700
	gain := sq(tolerance) / (sq(tolerance) + sq(scale) + sq(fresh))
	mean, sd := m.Marginal(f.Fit, m.paramOf(t, "channel.cool.current_tolerance"))
	lamptest.Near(t, "current over the set one", mean, math.Exp(gain*math.Log(700.0/640)), 2e-3,
		"scalar Kalman update in logarithms")
	lamptest.Near(t, "its standard deviation", sd/mean, tolerance*math.Sqrt(1-gain), 2e-4, "scalar Kalman update")
	review, _, err := m.Review(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	row := review.Rows[0]
	lamptest.Near(t, "predicted", row.Predicted, 0.640, 1e-9, "the design")
	lamptest.Near(t, "uncertainty of the prediction", row.ULamp, 0.640*tolerance, 0.02*0.640*tolerance, "its tolerance")
	lamptest.Near(t, "uncertainty of the reading", row.UMeter, math.Hypot(0.640*scale, 0.001), 1e-4, "scale and fresh")
	lamptest.Near(t, "zeta", row.Zeta, 0.060/math.Hypot(row.ULamp, row.UMeter), 1e-9, "definition")
	lamptest.Near(t, "E_n", row.En, row.Zeta/2, 1e-12, "k = 2")
	if row.Verdict != Differs {
		t.Errorf("ζ %.2f is judged %q", row.Zeta, row.Verdict)
	}
}

// TestOrderAndWeight permutes readings, and adds one that is worth nothing.
func TestOrderAndWeight(t *testing.T) {
	const a = "      - {what: string voltage, instrument: dmm, channel: cool, value: 17.20 V}\n"
	const b = "      - {what: string current, instrument: amp, channel: cool, value: 0.655 A}\n"
	const nothing = "      - {what: string voltage, channel: cool, value: 30 V, uncertainty: 1000 kV}\n"
	mean := func(text string) float64 {
		m := read(t, "    readings:\n"+text)
		f, err := m.Learn(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		v, _ := m.Marginal(f.Fit, m.paramOf(t, "emitter.white-5700-trio/9 V.forward_voltage"))
		return v
	}
	first := mean(a + b)
	lamptest.Near(t, "other order", mean(b+a), first, 1e-5, "the posterior is one of all readings")
	lamptest.Near(t, "with a reading of 1 MV uncertainty", mean(a+b+nothing), first, 1e-5, "it tells nothing")
}

// TestVerdicts judges by ζ, and by how vague the prediction is.
func TestVerdicts(t *testing.T) {
	for _, tt := range []struct {
		zeta, uLamp, uMeter float64
		want                Verdict
	}{
		{0.5, 1, 1, Agrees}, {-1.99, 3, 1, Agrees}, {1, 3.01, 1, AgreesVague}, {2.01, 9, 1, Questionable}, {
			-3.01, 1,
			1, Differs,
		},
	} {
		if got := verdictOf(tt.zeta, tt.uLamp, tt.uMeter); got != tt.want {
			t.Errorf("ζ %g, lamp %g, meter %g: %q, want %q (ISO13528, 9.6)", tt.zeta, tt.uLamp, tt.uMeter, got, tt.want)
		}
	}
}

// TestShownCurrent compares meters of a pulsed current with closed forms.
func TestShownCurrent(t *testing.T) {
	for mode, want := range map[project.MeterMode]float64{
		project.MeterMean: 0.2, project.MeterTrueRMS: 0.44721, project.MeterACRMS: 0.4, project.MeterACAverage: 0.35543,
	} {
		lamptest.Near(t, string(mode), shownCurrent(mode, 1, 0.2), want, 1e-5, "duty 0.2, 1 A: exact")
	}
}

// TestFreshErrors compares what is fresh in a reading with JCGM100, and the uncertainty by place with the square law.
func TestFreshErrors(t *testing.T) {
	m := read(t, `    states: [{name: only cool, levels: [{channel: cool, level: 100 %}]}]
    readings:
      - {what: illuminance, instrument: lux, channel: cool, state: only cool, place: axis, distance: 1 m}
`)
	y, err := m.Predict(context.Background(), make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	lux := y[0]
	// 3 mm of 1 m is 0.6 %; 0.5 % is fresh; a step of 1 lx is 0.29 lx; the axis is within 2°.
	least := math.Sqrt(sq(0.006*lux) + sq(0.005*lux) + 1.0/12)
	if u := m.Items[0].U; u < 0.995*least || u > 1.3*least {
		t.Errorf("fresh uncertainty %.2f lx of %.0f lx; expected a little above %.2f", u, lux, least)
	}
	in := &project.Instrument{AccuracyDigits: source.Whole{N: 2, Set: true}, Resolution: source.Value{
		SI:  0.01,
		Set: true,
	}}
	want := math.Sqrt(sq(0.0005*17) + sq(0.02/math.Sqrt(3)) + sq(0.01)/12)
	lamptest.Near(t, "two digits of 10 mV", freshU(in, volts, 17), want, 1e-9, "JCGM100, 4.3.7 and F.2.2.1")
}

// TestJunctionByVoltage converts two voltages of a string.
func TestJunctionByVoltage(t *testing.T) {
	m := read(t, `    readings:
      - {what: junction temperature, channel: red, cold_voltage: 4.300 V, steady_voltage: 4.200 V, uncertainty: 5 mV}
`)
	l := m.Sys.Lamp
	k := &l.Types[l.Emitters[l.Channels[3].Emitters[0]].Type]
	count := len(l.Channels[3].Emitters) / l.Channels[3].Strings * k.Model.Series
	slope := float64(count) * k.Model.VoltageSlopeVK
	lamptest.Near(t, "junction", m.Items[0].Value, 273.15+22.5-0.1/slope, 1e-9, "JESD51-51: T_room + ΔV/(n k)")
	lamptest.Near(t, "its uncertainty", m.Items[0].U, math.Sqrt2*0.005/math.Abs(slope), 1e-9, "two voltages")
}

// TestWarmUp learns the heat capacity from a warm-up, and the conductance from its end.
func TestWarmUp(t *testing.T) {
	text := "    readings:\n      - what: contact temperature\n        instrument: tc\n        place: heat " +
		"sink\n        series:\n"
	for _, s := range []int{60, 300, 600, 1200, 2400, 3600, 5400, 7200} {
		text += fmt.Sprintf("          - {time: %d s, value: 30 °C}\n", s)
	}
	m := read(t, text)
	z := make([]float64, len(m.Params))
	capacity, film := m.paramOf(t, "heat_sink.heat_capacity"), m.paramOf(t, "heat_sink.natural_convection")
	z[capacity], z[film] = 1.5, -1
	y, err := m.Predict(context.Background(), z)
	if err != nil {
		t.Fatal(err)
	}
	for i := range m.Items {
		m.Items[i].Value = y[i]
	}
	m.forget()
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	got, sd := m.Marginal(f.Fit, capacity)
	want := m.Params[capacity].Prior.At(1.5)
	if math.Abs(got-want) > 1.5*sd || sd > 0.75*m.Params[capacity].Prior.SD() {
		t.Errorf("heat capacity %.3f ± %.3f, want %.3f within 1.5 standard deviations, and learned", got, sd, want)
	}
	if r := f.SDRatio()[film]; r > 0.7 {
		t.Errorf("the end of the warm-up leaves %.2f of the standard deviation of the conductance", r)
	}
}

// TestDrift compares a second campaign with the predicted ageing: the scale of the meter cancels.
func TestDrift(t *testing.T) {
	const one = `    states: [{name: only cool, levels: [{channel: cool, level: 100 %}]}]
    readings:
      - {what: illuminance, instrument: lux, channel: cool, state: only cool, place: axis, distance: 500 mm}
`
	m := read(t, one+`  - name: three years
    date: 2034-09-12
    room: 22.5 °C
    operating_time: 12000 h
`+one)
	m.setOver(t, 0, 1.06)
	m.setOver(t, 1, 1.06*0.9) // a tenth below the predicted ageing
	review, _, err := m.Review(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(review.Drift) != 1 {
		t.Fatalf("%d rows of drift, want 1", len(review.Drift))
	}
	d := review.Drift[0]
	if !(d.Predicted > 0.8 && d.Predicted < 1) {
		t.Errorf("predicted light after 12 000 h: %.3f of that when new", d.Predicted)
	}
	// Two readings of u 1.3 % each against a drift of some per cent.
	lamptest.Near(t, "measured over predicted", d.Measured/d.Predicted, 0.93, 0.03, "a tenth less, drawn to the "+
		"prediction by its prior")
	if d.Channel != "cool" || d.Hours != 12000 {
		t.Errorf("drift of %s after %g h", d.Channel, d.Hours)
	}
}

// TestBest ranks readings by what they tell about a figure.
func TestBest(t *testing.T) {
	m := read(t, "    readings:\n      - {what: string current, instrument: amp, channel: cool, value: 0.640 A}\n")
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	next, err := m.Best(context.Background(), f.Fit, Figure{Value: func(p lamp.Params) float64 {
		at, err := m.Sys.Measure(p, engine.Conditions{}, nil)
		if err != nil {
			return math.NaN()
		}
		return at.SinkK()
	}})
	if err != nil {
		t.Fatal(err)
	}
	byWhat := map[string]Next{}
	for _, n := range next {
		byWhat[n.What+" "+n.Where] = n
	}
	sinkReading := byWhat["contact temperature heat sink"]
	// The figure is what is read: 1 − u²/(s² + u²), offset and fresh together.
	s, u := sinkReading.SDBefore, math.Sqrt(sq(sinkReading.U)-sq(sinkReading.SDBefore))
	lamptest.Near(t, "reduction by a reading of the figure itself", sinkReading.Reduction, sq(s)/(sq(s)+sq(u)), 0.02,
		"Kalman1960")
	if r := byWhat["flux ratio red"].Reduction; r > 0.01 {
		t.Errorf("a flux ratio takes %.3f of the variance of the heat sink's temperature", r)
	}
}

// TestErrors reads what cannot be predicted.
func TestErrors(t *testing.T) {
	e := evaluated(t, "long-tank")
	const states = "    states: [{name: full}, {name: bare, lenses: off}, {name: off, times_from: switch-off}]\n"
	for _, tt := range []struct{ text, want string }{
		{"      - {what: fan speed, instrument: tacho, value: 1000 rpm}\n", "the design has no fan"},
		{
			"      - {what: illuminance, instrument: lux, place: target, at: [0 mm, 0 mm], state: bare, value: " +
				"10 lx}\n",
			"light on a plane without lenses is not predicted",
		},
		{
			"      - {what: contact temperature, instrument: tc, place: heat sink, state: off, value: 25 °C}\n",
			"needs after, or a series over time",
		},
	} {
		in := strings.Replace(campaign, "campaigns:", "  - {name: tacho, kind: tachometer}\ncampaigns:", 1)
		r, problems := project.LoadReadingsText("readings.yaml", []byte(in+states+"    readings:\n"+tt.text),
			e.Lamp.Project)
		text := fmt.Sprint(problems)
		if len(problems) == 0 {
			_, err := New(e.Sys, r)
			text = fmt.Sprint(err)
		}
		if !strings.Contains(text, tt.want) {
			t.Errorf("%s: %q does not contain %q", tt.text, text, tt.want)
		}
	}
}

// TestSampled checks the normal approximation on the full model by importance samples.
func TestSampled(t *testing.T) {
	m := read(t, `    readings:
      - {what: string voltage, instrument: dmm, channel: cool, value: 17.30 V}
      - {what: string current, instrument: amp, channel: cool, value: 0.655 A}
      - {what: contact temperature, instrument: tc, place: heat sink, value: 52.0 °C}
      - {what: mains power, instrument: plug, value: 32.8 W}
`)
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	s, err := m.Sampled(context.Background(), f, 1000, 1)
	if err != nil {
		t.Fatal(err)
	}
	noise := 1 / math.Sqrt(s.ESS)
	if s.ESS < 100 || s.Mean > 4*noise+0.05 || s.SD > 4*noise+0.05 {
		t.Errorf("%d draws count as %.0f; means within %.3f (%s), standard deviations within %.3f (%s), expected %.3f",
			s.Draws, s.ESS, s.Mean, s.MeanOf, s.SD, s.SDOf, 4*noise+0.05)
	}
	t.Logf("%+v", *s)
}

// TestBurden names a current that is read through more resistance than the driver can overcome.
func TestBurden(t *testing.T) {
	const reading = "    readings:\n      - {what: string current, instrument: amp, channel: cool, value: 0.64 A}\n"
	for burden, want := range map[string]int{"0.05 Ω": 0, "40 Ω": 1} {
		e := evaluated(t, "long-tank")
		text := strings.Replace(campaign, "accuracy: 1 %,", "accuracy: 1 %, burden: "+burden+",", 1) + reading
		r, problems := project.LoadReadingsText("readings.yaml", []byte(text), e.Lamp.Project)
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		m, err := New(e.Sys, r)
		if err != nil {
			t.Fatal(err)
		}
		review, _, err := m.Review(context.Background(), nil)
		if err != nil {
			t.Fatal(err)
		}
		// 17.6 V and 0.64 A × 40 Ω are above the maximum output of a driver on 24 V.
		if len(review.Notes) != want {
			t.Errorf("burden %s: notes %q, want %d", burden, review.Notes, want)
		}
	}
}

// TestMeterOnPlane adds the directional response to the errors of a meter on a plane, and the immersion factor under
// water.
func TestMeterOnPlane(t *testing.T) {
	m := read(t, `    states: [{name: only cool, levels: [{channel: cool, level: 100 %}]}]
    readings:
      - {what: illuminance, instrument: lux, channel: cool, state: only cool, place: surface, at: [0 mm, 0 mm]}
      - {what: illuminance, instrument: lux, channel: cool, state: only cool, place: target, at: [0 mm, 0 mm]}
`)
	ctx := context.Background()
	y, err := m.Predict(ctx, make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := m.rowsAt(ctx, make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	cosine, immersion := m.paramOf(t, "instrument.lux.cosine"), m.paramOf(t, "instrument.lux.immersion_factor")
	lamptest.Near(t, "by the directional response", rows[0][cosine]/y[0], 0.03, 3e-4, "f₂ of class B")
	lamptest.Near(t, "immersion factor above the water", rows[0][immersion], 0, 0, "in air")
	lamptest.Near(t, "under water", rows[1][immersion]/y[1], -bareSpread, 0.01*bareSpread,
		"reading = light/F_i, F_i not stated")
	// 1.25 of the light at the place is what the meter reads less.
	channels, err := m.Sys.Measure(m.Sys.Lamp.Nominal(), engine.Conditions{
		Levels: []float64{1, 0, 0, 0},
		RoomK:  295.65,
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "reading under water", y[1], channels.Lux(m.Items[1].light)[0]/1.25, 1e-6, "definition")
}

// TestCalibration computes the lamp with what was learned: a figure is that at the mode, and its range that of the
// posterior.
func TestCalibration(t *testing.T) {
	e := evaluated(t, "long-tank")
	m := demoModel(t, "long-tank")
	rng := rand.New(rand.NewPCG(5, 6))
	if !planted(t, m, nil, rng) {
		t.Fatal("no lamp")
	}
	junction := Figure{Key: "lamp.junction", Value: func(p lamp.Params) float64 {
		return e.ValueAt(p,
			"lamp.junction")
	}}
	review, f, err := m.Review(context.Background(), []Figure{junction})
	if err != nil {
		t.Fatal(err)
	}
	c := m.Calibration(f, "2031-09-13", "8f2c41d0")
	if c.Readings != len(m.Items) || !slices.Equal(c.From, []string{"first light"}) {
		t.Errorf("learned from %d readings of %q", c.Readings, c.From)
	}
	project := lamptest.Example(t, "long-tank")
	r := lamptest.EvaluateProject(t, project, engine.Options{
		Calibration: c, Samples: 2000,
		Solver: lamptest.Remembered,
	})
	if len(r.Lamp.Calibration.Dropped) > 0 {
		t.Errorf("dropped: %v", r.Lamp.Calibration.Dropped)
	}
	got, _ := r.Figure("lamp.junction")
	row := review.Figures[0]
	// The calibration leaves what no reading tells at its nominal value, and means of lognormals differ from their
	// modes.
	lamptest.Near(t, "hottest junction", got.Value, row.After, 0.1, "the figure at the mode")
	halfRange := (got.Hi - got.Lo) / 2
	lamptest.Near(t, "half of P10 to P90", halfRange, 1.2816*row.SDAfter, 0.15*1.2816*row.SDAfter,
		"normal distribution")
	if row.SDAfter > 0.5*row.SDBefore {
		t.Errorf("the readings leave %.2f K of %.2f K", row.SDAfter, row.SDBefore)
	}
}

// TestOwnUnits keeps errors of a display out of readings that are computed of it, and an accuracy in per cent to °C.
func TestOwnUnits(t *testing.T) {
	m := read(t, `    states: [{name: dark, levels: []}, {name: off, times_from: switch-off, after: 1 h}]
    readings:
      - {what: contact temperature, instrument: pct, place: heat sink, state: dark, value: 22.5 °C}
      - {what: flux ratio, instrument: lux, channel: cool, state: off, value: 88 %}
      - {what: illuminance, instrument: lux, state: dark, place: axis, distance: 1 m, value: 0 lx}
      - {what: string voltage, instrument: dmm, channel: cool, state: off, value: 0 V}
`)
	ctx := context.Background()
	rows, err := m.rowsAt(ctx, make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	scale := m.paramOf(t, "instrument.pct.temperature.scale")
	lamptest.Near(t, "2 % of 22.5 °C", rows[0][scale], 22.5*0.02/math.Sqrt(3), 0.01, "of the temperature in °C")
	lamptest.Near(t, "a flux ratio by an illuminance meter", m.Items[1].U, 0.02, 1e-3,
		"steps of the display cancel in a ratio")
	if !(m.Items[2].U >= 0.5) {
		t.Errorf("a dark reading has an uncertainty of %g lx", m.Items[2].U)
	}
	y, err := m.Predict(ctx, make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	if y[2] != 0 || y[3] != 0 {
		t.Errorf("a dark lamp is predicted to show %g lx and %g V", y[2], y[3])
	}
	review, _, err := m.Review(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := json.Marshal(review); err != nil {
		t.Error(err)
	}
}

// TestEmissivities keeps the emissivities of two surfaces apart.
func TestEmissivities(t *testing.T) {
	m := read(t, `    readings:
      - {what: infrared temperature, instrument: ir, place: heat sink, emissivity: 95 %, value: 40 °C}
      - {what: infrared temperature, instrument: ir, place: heat sink, emissivity: 10 %, value: 25 °C}
`)
	y, err := m.Predict(context.Background(), make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	at, err := m.Sys.Measure(m.Sys.Lamp.Nominal(), engine.Conditions{RoomK: 295.65}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, emissivity := range []float64{0.95, 0.10} {
		want := sink.InfraredReading(at.SinkK(), 295.65, emissivity, 0.95)
		lamptest.Near(t, "reading", y[i], want, 1e-3, "grey body; setting 0.95, reflected temperature of the room")
	}
}

// TestFastSlip names a reading in another range of its meter, though every parameter could bend to it.
func TestFastSlip(t *testing.T) {
	m := read(t, `    states: [{name: only cool, levels: [{channel: cool, level: 100 %}]}]
    readings:
      - {what: string current, instrument: amp, channel: cool, state: only cool, value: 0.640 A}
      - {what: illuminance, instrument: lux, channel: cool, state: only cool, place: axis, distance: 500 mm}
`)
	m.setOver(t, 1, 10)
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	faults, err := m.FindFaults(context.Background(), f.Gaussian, f.Used)
	if err != nil {
		t.Fatal(err)
	}
	if faults[0].Code != "meter_range.1.2" {
		t.Errorf("first %s (%.2f)", faults[0].Code, faults[0].Probability)
	}
}

// TestDecides names the reading that tells a dead fan from air that is obstructed: neither a tachometer nor a second
// temperature was read.
func TestDecides(t *testing.T) {
	e := evaluated(t, "propagation-bench")
	text := strings.Replace(campaign, "room: 22.5", "room: 20.5", 1) + `    readings:
      - {what: contact temperature, instrument: tc, place: heat sink, value: 40.0 °C}
      - {what: mains power, instrument: plug, value: 54.0 W}
`
	r, problems := project.LoadReadingsText("readings.yaml", []byte(text), e.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	m, err := New(e.Sys, r)
	if err != nil {
		t.Fatal(err)
	}
	f, err := m.Learn(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	faults, err := m.FindFaults(context.Background(), f.Gaussian, f.Used)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(faults[0].Decide, "fan speed") {
		t.Errorf("%s and %s: %q", faults[0].Code, faults[1].Code, faults[0].Decide)
	}
}

// TestSupplyTolerance lets a supply be within its tolerance.
func TestSupplyTolerance(t *testing.T) {
	m := read(t, "    readings:\n      - {what: supply voltage, instrument: dmm, value: 24.3 V}\n")
	review, _, err := m.Review(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if row := review.Rows[0]; row.Verdict == Differs || row.ULamp < 0.2 {
		t.Errorf("24.3 V of a supply of 24 V: %s, uncertainty of the lamp %.3f V", row.Verdict, row.ULamp)
	}
}
