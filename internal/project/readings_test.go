package project

import (
	_ "embed"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
	"lampwright/internal/quantity"
)

// goodReadings uses every key of a readings file of goodLamp, and has no problem.
//
//go:embed testdata/readings/good.yaml
var goodReadings string

// readLamp returns the project that goodReadings is of.
func readLamp(t testing.TB) *Project {
	t.Helper()
	p, problems := Load(fstest.MapFS{DesignFile: {Data: []byte(goodLamp)}}, DesignFile, partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	return p
}

// TestReadings: every key is read, in SI, with what it names.
func TestReadings(t *testing.T) {
	p := readLamp(t)
	r, problems := LoadReadingsText(ReadingsFile, []byte(goodReadings), p)
	if r == nil {
		t.Fatal(problems.Error())
	}
	if len(r.Doubts) > 0 {
		t.Errorf("doubts: %s", r.Doubts.Error())
	}
	g := &r.Campaigns[0]
	if n := len(g.Readings); n != 21 {
		t.Fatalf("%d readings, want 21", n)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s = %v, want %v", what, got, want)
		}
	}
	first := &g.Readings[0]
	near("illuminance", first.Value.SI, 4270)
	near("its uncertainty", first.Uncertainty.SI, 40)
	near("distance", first.Distance.SI, 0.5)
	near("angle", first.Angle.SI, 10*math.Pi/180)
	if first.Label != "E1" || first.Instrument != &r.Instruments[0] || first.State != &g.States[1] ||
		first.ChannelIndex != 0 || !first.Doubted.On || first.Dim != quantity.Illuminance {
		t.Errorf("first reading: %+v", first)
	}
	near("offset of the lux meter", first.Instrument.Offset.SI, 3)
	near("step of its display", first.Instrument.Resolution.SI, 1)
	near("its range", first.Instrument.Range.Max.SI, 20000)
	near("its added correction", first.Instrument.CorrectionOffset.SI, -2)
	near("room of the state", first.State.Room.SI, 296.15)
	near("room of a state without one", g.States[0].Room.SI, 295.65)
	near("room of the state full", g.Readings[1].State.Room.SI, 295.65)
	near("flux ratio", g.Readings[4].Value.SI, 0.88)
	near("string current", g.Readings[7].Value.SI, 0.247)
	near("infrared temperature", g.Readings[10].Value.SI, 331.15)
	near("thermocouple uncertainty", g.Readings[12].Uncertainty.SI, 0.5)
	near("second of the warm-up", g.Readings[13].Series[1].Time.SI, 300)
	near("its temperature", g.Readings[13].Series[1].Value.SI, 302.95)
	near("cold voltage", g.Readings[15].ColdVoltage.SI, 17.9)
	near("uncertainty of the voltages", g.Readings[15].Uncertainty.SI, 0.005)
	near("thermistor", g.Readings[17].Value.SI, 3600)
	near("fan", g.Readings[18].Value.SI, 23.5)
	if got := g.Readings[12]; got.Label != "1.13" || got.EmitterIndex != 1 || got.ChannelIndex != 0 {
		t.Errorf("solder point: label %q, emitter %d, channel %d", got.Label, got.EmitterIndex, got.ChannelIndex)
	}
	if got := g.Readings[16]; got.EmitterIndex != 2 || got.ChannelIndex != 1 || got.Instrument != nil {
		t.Errorf("junction: %+v", got)
	}
	for i, want := range []quantity.Dim{
		quantity.Illuminance, quantity.PPFD, quantity.Voltage, quantity.Current, quantity.Resistance, quantity.Power,
		quantity.Temperature, quantity.Temperature, quantity.Rotation, quantity.Wavelength,
	} {
		if got := r.Instruments[i].Dim; got != want {
			t.Errorf("instrument %q displays %s, want %s", r.Instruments[i].Name.S, got, want)
		}
	}
	white, red := &p.Design.Channels[0], &p.Design.Channels[1]
	near("level of red", g.States[2].LevelOf(red), 0.5)
	near("level of white in a state of red", g.States[2].LevelOf(white), 0)
	near("level of full day", g.States[0].LevelOf(white), 1)
}

// TestNoReadings: a project without a readings file has none, and no problem.
func TestNoReadings(t *testing.T) {
	p := readLamp(t)
	if r, problems := LoadReadings(fstest.MapFS{}, p); r != nil || len(problems) > 0 {
		t.Errorf("%v, %v", r, problems)
	}
	r, problems := LoadReadings(fstest.MapFS{ReadingsFile: {Data: []byte(goodReadings)}}, p)
	if r == nil {
		t.Error(problems.Error())
	}
	_, problems = LoadReadings(fstest.MapFS{ReadingsFile: {Mode: 0o755 | 1<<31}}, p)
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "cannot read the file") {
		t.Errorf("a folder: %v", problems)
	}
}
