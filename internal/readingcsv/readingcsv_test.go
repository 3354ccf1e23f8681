package readingcsv

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// before is a readings file of the demo, with a comment that stays.
const before = `# invented
lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, range: {max: 20000 lx}}
  - {name: par, kind: quantum sensor}
  - {name: volts, kind: multimeter, range: {max: 60 V}}
  - {name: amps, kind: multimeter, range: {max: 10 A}}
  - {name: plug, kind: wattmeter}
  - {name: tc, kind: thermocouple}
  - {name: ir, kind: infrared thermometer}
  - {name: ohms, kind: multimeter, range: {max: 100 kΩ}}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22 °C
    states:
      - {name: cool, levels: [{channel: cool, level: 100 %}]}
      - {name: neutral, levels: [{channel: neutral, level: 100 %}]}
    readings:
      - {what: mains power, state: full, instrument: plug, value: 31.5 W} # warm
`

// demo returns the project that the tests are of, and its readings.
func demo(t testing.TB) (*project.Project, *project.Readings) {
	t.Helper()
	p, problems := project.Load(os.DirFS("../../examples/long-tank"), project.DesignFile, partslib.Files())
	if p == nil {
		t.Fatal(problems.Error())
	}
	r, problems := project.LoadReadingsText(project.ReadingsFile, []byte(before), p)
	if r == nil {
		t.Fatal(problems.Error())
	}
	return p, r
}

// added returns the lines of the new readings, and checks that all other text is as it was.
func added(t *testing.T, out *Result) string {
	t.Helper()
	text := string(out.Text)
	if !strings.HasPrefix(text, before) {
		t.Fatalf("the text before the new readings changed:\n%s", text)
	}
	return strings.TrimPrefix(text, before)
}

// TestTable: each line is a reading, or one of each column of a quantity.
func TestTable(t *testing.T) {
	p, was := demo(t)
	for _, tt := range []struct {
		name, csv string
		o         Options
		want      string
	}{
		{
			"one quantity", "state,channel,place,distance (mm),lux\ncool,cool,axis,500,4270\n",
			Options{},
			`      - what: illuminance
        instrument: lux
        state: cool
        channel: cool
        place: axis
        distance: 500 mm
        value: 4270 lx
`,
		},
		{
			"several quantities; keys go where they belong; empty cells are no readings",
			"state;channel;d [mm];E [klx];V string / V;I, mA;note\n" +
				"cool;cool;500;4,27;17,42;640;\"a: \"\"b\"\"\"\nneutral;neutral;;;;655\t;\n",
			Options{Set: map[string]string{"place": "axis"}},
			`      - what: illuminance
        instrument: lux
        state: cool
        channel: cool
        place: axis
        distance: 500 mm
        value: 4.27 klx
        note: "a: \"b\""
      - what: string voltage
        instrument: volts
        state: cool
        channel: cool
        value: 17.42 V
        note: "a: \"b\""
      - what: string current
        instrument: amps
        state: cool
        channel: cool
        value: 640 mA
        note: "a: \"b\""
      - what: string current
        instrument: amps
        state: neutral
        channel: neutral
        value: 655 mA
`,
		},
		{
			"quantities by line, units by line",
			"id\twhat\tvalue\tunit\tplace\tx (mm)\ty (mm)\n" +
				"A\tPPFD\t61.5\tµmol/m²/s\ttarget\t100\t-50\nB\tmains power\t31.5\tW\t\t\t\nC\tNTC\t3.6\tkΩ\t\t\t\n",
			Options{Set: map[string]string{"state": "full"}},
			`      - id: A
        what: ppfd
        instrument: par
        state: full
        place: target
        at: [100 mm, -50 mm]
        value: 61.5 µmol/m²/s
      - id: B
        what: mains power
        instrument: plug
        state: full
        value: 31.5 W
      - id: C
        what: thermistor resistance
        instrument: ohms
        state: full
        value: 3.6 kΩ
`,
		},
		{
			"a grid, units in the cells",
			"# by hand\nsep=,\nx,y,E\n-50 mm,0 mm,900 lx\n50 mm,0 mm,\"1.1 klx\"\n",
			Options{
				Set: map[string]string{"place": "target", "state": "full"},
			},
			`      - what: illuminance
        instrument: lux
        state: full
        place: target
        at: [-50 mm, 0 mm]
        value: 900 lx
      - what: illuminance
        instrument: lux
        state: full
        place: target
        at: [50 mm, 0 mm]
        value: 1.1 klx
`,
		},
		{
			"empty cells at the end", "note,W,,\na,31.2,\nb,31.3,,,,\n",
			Options{Set: map[string]string{"state": "full"}},
			"      - what: mains power\n        instrument: plug\n        state: full\n        value: 31.2 W\n" +
				"        note: a\n      - what: mains power\n        instrument: plug\n        state: full\n" +
				"        value: 31.3 W\n        note: b\n",
		},
		{
			"the quantity by the flag", "state,channel,V,doubted\ncool,cool,17.4,yes\n",
			Options{What: []project.ReadingQuantity{project.ReadDriverVoltage}},
			"      - what: driver voltage\n        instrument: volts\n        state: cool\n        channel: cool\n" +
				"        value: 17.4 V\n        doubted: yes\n",
		},
		{
			"the quantity by the instrument", "place,temp_C,uncertainty (K)\nheat sink,45.2,1\n",
			Options{Instrument: "tc", Set: map[string]string{"state": "full"}},
			"      - what: contact temperature\n        instrument: tc\n        state: full\n" +
				"        place: heat sink\n" +
				"        value: 45.2 °C\n        uncertainty: 1 K\n",
		},
		{
			"a junction by two voltages",
			"state,channel,cold_voltage (V),steady_voltage (V),uncertainty (mV)\ncool,cool,17.900,17.214,5\n",
			Options{Instrument: "volts"},
			"      - what: junction temperature\n        instrument: volts\n        state: cool\n" +
				"        channel: cool\n" +
				"        cold_voltage: 17.900 V\n        steady_voltage: 17.214 V\n        uncertainty: 5 mV\n",
		},
	} {
		out, problems := Import([]byte(tt.csv), tt.o, p, was)
		if out == nil {
			t.Errorf("%s: %s", tt.name, problems.Error())
			continue
		}
		if got := added(t, out); got != tt.want {
			t.Errorf("%s:\n%s\nwant\n%s", tt.name, got, tt.want)
		}
	}
}

// TestNew: the file, the campaign and the instrument are begun where the options state them.
func TestNew(t *testing.T) {
	p, was := demo(t)
	o := Options{Campaign: "a year on", Date: "2032-09-10", Room: "21 °C", Set: map[string]string{"state": "full"}}
	out, problems := Import([]byte("W,note\n31.1,a\n"), o, p, was)
	if out == nil {
		t.Fatal(problems.Error())
	}
	const want = "  - name: a year on\n    date: 2032-09-10\n    room: 21 °C\n    readings:\n" +
		"      - what: mains power\n" +
		"        instrument: plug\n        state: full\n        value: 31.1 W\n        note: a\n"
	if got := added(t, out); got != want || out.Campaign != "a year on" || out.Added != 1 {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	two := out.Readings
	_, problems = Import([]byte("W,note\n31.1,a\n"), Options{Set: o.Set}, p, two)
	if len(problems) != 1 || !strings.Contains(problems.Error(), `--campaign: "first light", "a year on"`) {
		t.Errorf("two campaigns: %s", problems.Error())
	}
	o.Campaign, o.Instrument, o.Kind = "third", "plug 2", "wattmeter"
	out, problems = Import([]byte("W,note\n31.1,a\n"), o, p, two)
	if out == nil {
		t.Fatal(problems.Error())
	}
	_, problems = Import([]byte("W,note\n31.1,a\n"), Options{Campaign: "third", Set: o.Set}, p, out.Readings)
	if len(problems) != 1 || !strings.Contains(problems.Error(), "states neither instrument nor uncertainty") {
		t.Errorf("two wattmeters: %s", problems.Error())
	}
	o.Campaign, o.Instrument = "a year on", "meter"
	out, problems = Import([]byte("W,note\n31.1,a\n"), o, p, nil)
	if out == nil {
		t.Fatal(problems.Error())
	}
	const whole = "lampwright_readings: 1\ninstruments:\n  - name: meter\n    kind: wattmeter\ncampaigns:\n" +
		"  - name: a year on\n    date: 2032-09-10\n    room: 21 °C\n    readings:\n      - what: mains power\n" +
		"        instrument: meter\n        state: full\n        value: 31.1 W\n        note: a\n"
	if string(out.Text) != whole {
		t.Errorf("%s\nwant\n%s", out.Text, whole)
	}
}

// TestHeader: names, symbols and units of the trade are recognised in the forms that headers have.
func TestHeader(t *testing.T) {
	for _, tt := range []struct{ head, name, unit string }{
		{"lux", "illuminance", "lx"},
		{"Illuminance (klx)", "illuminance", "klx"},
		{"E [lx]", "illuminance", "lx"},
		{"Ev / lx", "illuminance", "lx"},
		{"E in lx", "illuminance", "lx"},
		{"PPFD", "ppfd", "µmol/m²/s"},
		{"PAR umol/m2/s", "ppfd", "umol/m2/s"},
		{"PPFD (µmol/(m²·s))", "ppfd", "µmol/(m²·s)"},
		{"V", "string voltage", "V"},
		{"mV", "string voltage", "mV"},
		{"Voltage, V", "string voltage", "V"},
		{"supply_voltage_V", "supply voltage", "V"},
		{"I", "string current", ""},
		{"current (mA)", "string current", "mA"},
		{"A", "string current", "A"},
		{"T", "contact temperature", ""},
		{"T (C)", "contact temperature", "°C"},
		{"Temp. [°C]", "contact temperature", "°C"},
		{"T_j (°C)", "junction temperature", "°C"},
		{"IR (°C)", "infrared temperature", "°C"},
		{"NTC kΩ", "thermistor resistance", "kΩ"},
		{"R", "thermistor resistance", ""},
		{"ohm", "thermistor resistance", "ohm"},
		{"Fan [rpm]", "fan speed", "rpm"},
		{"rpm", "fan speed", "rpm"},
		{"Power (W)", "mains power", "W"},
		{"FWHM nm", "peak width", "nm"},
		{"t", "time", ""},
		{"t (min)", "time", "min"},
		{"Elapsed time (hh:mm:ss)", "time", ""},
		{"s", "time", "s"},
		{"Distance_mm", "distance", "mm"},
		{"θ (°)", "angle", "deg"},
		{"humidity", "", ""},
		{"T (lx)", "contact temperature", "lx"}, // refused by its dimension
		{"", "", ""},
	} {
		m, unit := recognise(tt.head)
		name := ""
		switch {
		case m == nil:
		case len(m.what) > 0:
			name = string(m.what[0])
		case m.key != "":
			name = m.key
		default:
			name = m.name()
		}
		if m != nil && unit == "" {
			unit = m.unit
		}
		if name != tt.name || unit != tt.unit {
			t.Errorf("%q: %q in %q, want %q in %q", tt.head, name, unit, tt.name, tt.unit)
		}
	}
}

// badFile is a file that is not imported, with its first message.
type badFile struct {
	name, csv string
	o         Options
	at, msg   string
	hint      string
}

// badFiles reads testdata/bad.txt.
func badFiles(t *testing.T) (out []badFile) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "bad.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for block := range strings.SplitSeq(string(data), "\n\n") {
		f := badFile{o: Options{Set: map[string]string{}}}
		for line := range strings.Lines(block) {
			mark, text, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
			switch mark {
			case "=":
				f.name = text
			case "-":
				f.csv += text + "\n"
			case "+":
				f.option(t, text)
			case "@":
				f.at = text
			case "!":
				f.msg = text
			case "?":
				f.hint = text
			}
		}
		if f.name != "" {
			out = append(out, f)
		}
	}
	return out
}

// option sets one of the options.
func (f *badFile) option(t *testing.T, text string) {
	t.Helper()
	key, value, _ := strings.Cut(text, " ")
	switch key {
	case "campaign":
		f.o.Campaign = value
	case "date":
		f.o.Date = value
	case "room":
		f.o.Room = value
	case "instrument":
		f.o.Instrument = value
	case "kind":
		f.o.Kind = value
	case "skip":
		f.o.Skip = append(f.o.Skip, value)
	case "switch-on":
		f.o.SwitchOn = value
	case "set":
		for _, name := range Keys() {
			if rest, ok := strings.CutPrefix(value, name+" "); ok {
				f.o.Set[name] = rest
			}
		}
	default:
		t.Fatalf("option %q", text)
	}
}

// TestBadFiles: each mistake is a problem at its place that names what would do, and nothing is imported.
func TestBadFiles(t *testing.T) {
	p, was := demo(t)
	cases := badFiles(t)
	if len(cases) < 51 {
		t.Errorf("%d cases, want 51 or more", len(cases))
	}
	for _, tt := range append(cases, []badFile{
		{name: "empty", csv: " \n\n", at: "x.csv", msg: "the file is empty"},
		{name: "not UTF-8", csv: "note,T (°C)\na\xb0,2\n", at: "x.csv:2:2", msg: "not UTF-8", hint: "save it"},
		{name: "UTF-16", csv: "\xff\xfeT\x00", at: "x.csv", msg: "UTF-16", hint: "save it"},
		{name: "zero byte", csv: "note,T (°C)\na\x00,2\n", at: "x.csv:2:2", msg: "not UTF-8 text"},
	}...) {
		tt.o.Name = "x.csv"
		out, problems := Import([]byte(tt.csv), tt.o, p, was)
		if out != nil || len(problems) == 0 {
			t.Errorf("%s: it is imported:\n%s", tt.name, out.Text)
			continue
		}
		q := problems[0]
		if q.At.String() != tt.at || !strings.Contains(q.Msg, tt.msg) || !strings.Contains(q.Hint, tt.hint) {
			t.Errorf("%s: %s\nwant %s: %s; %s", tt.name, problems.Error(), tt.at, tt.msg, tt.hint)
		}
	}
}
