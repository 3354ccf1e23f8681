package casefile

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
)

// evening is a channel of 100 W and 200 µmol/m²/s at full setting all day.
const evening = `"channels":[{"name":"a","ppfd_full":200,"led_power_full_W":100,"points":[[0,1]]}]`

// programmeOf computes a programme of the inputs.
func programmeOf(t *testing.T, inputs string) map[string]any {
	t.Helper()
	out, err := Run(context.Background(), "case.json", []byte(`{"topic":"programme","inputs":{`+inputs+`}}`))
	if err != nil {
		t.Fatalf("%s: %v", inputs, err)
	}
	return out.(TopicResult).Results
}

// minuteTables are channels with a point each minute.
func minuteTables(channels int) string {
	var points, out []string
	for m := range 1440 {
		points = append(points, fmt.Sprintf("[%d,1]", m))
	}
	for i := range channels {
		out = append(out, fmt.Sprintf(`{"name":"%d","points":[%s]}`, i, strings.Join(points, ",")))
	}
	return strings.Join(out, ",")
}

// valueAt follows a path such as days/2027-06-01/mean_duty/a.
func valueAt(results map[string]any, path string) any {
	var v any = results
	for key := range strings.SplitSeq(path, "/") {
		switch in := v.(type) {
		case map[string]any:
			v = in[key]
		case []any:
			var i int
			_, _ = fmt.Sscan(key, &i)
			v = in[i]
		}
	}
	return v
}

// Each modifier, limit and tariff, by hand.
func TestProgrammeFigures(t *testing.T) {
	const june, berlin = `"dates":["2027-06-06"],`, `"zone":"Europe/Berlin",`
	const day = "days/2027-06-06/"
	const system, equator = `,"system":`, `"dates":["2027-03-20"],"sun":{"lat":0,"lon":0,"noon":`
	for _, tt := range []struct {
		inputs, path string
		want, tol    float64
	}{
		{june + evening, day + "dli", 200 * 0.0864, 1e-9},
		{june + evening, day + "led_Wh", 2400, 1e-9},
		{
			june + evening + system + `{"driver_efficiency":0.9,"supply_efficiency":0.8,"standby_W":2}`,
			day + "wall_kWh", 2.4/0.72 + 0.048, 1e-9,
		},
		{june + evening + system + `{"driver_efficiency":0.9,"standby_W":2}`, day + "wall_peak_W", 100/0.9 + 2, 1e-9},
		{
			june + evening + `,"acclimation":{"start":"2027-06-01","days":10,"from":0.5}`,
			day + "mean_duty/a", 0.75, 1e-12,
		},
		{
			june + evening + `,"siesta":{"from":720,"to":"14:00","factor":0.25}`,
			day + "mean_duty/a", 1 - 0.75*7199/86400, 1e-9,
		},
		{
			june + evening + `,"siesta":{"from":720,"to":840,"factor":0,"ramp_min":30}`,
			day + "mean_duty/a", 1 - 1.5/24, 1e-9,
		},
		{june + evening + `,"clouds":{"amount":0.5,"mean":0.6}`, day + "dli", 0.8 * 200 * 0.0864, 1e-9},
		{june + evening + `,"led_limit_W":80`, day + "mean_duty/a", 0.8, 1e-9},
		{june + evening + system + `{"p_max_W":80}`, day + "peak_ppfd", 160, 1e-9},
		{june + evening + system + `{"tariff_per_kWh":0.5}`, day + "cost", 1.2, 1e-9},
		{
			berlin + june + evening + system + `{"tariff":[{"from":"06:00","to":"22:00","price":0.4},` +
				`["22:00",360,0.25]]}`,
			day + "cost", 0.84, 1e-9,
		},
		{
			berlin + `"dates":["2027-03-28"],` + evening + system +
				`{"tariff_windows":[[360,1320,0.4],[1320,360,0.25]]}`,
			"days/2027-03-28/cost", 0.815, 1e-9,
		},
		{berlin + `"dates":["2027-03-28"],"standard_time":true,` + evening, "days/2027-03-28/hours", 24, 0},
		{berlin + `"dates":["2027-03-28"],"clock":"standard",` + evening, "days/2027-03-28/hours", 24, 0},
		{berlin + `"dates":{"from":"2027-03-27","to":"2027-03-29"},` + evening, "days/2027-03-28/hours", 23, 0},
		{`"zone":"Australia/Lord_Howe","dates":["2027-04-04"],` + evening, "days/2027-04-04/hours", 24.5, 0},
		{berlin + `"year":2028,` + evening, "year/hours", 8784, 0},
		{berlin + `"year":2027,` + evening + system + `{"standby_W":1}`, "year/wall_kWh", 876 + 8.76, 1e-6},
		{berlin + `"year":2027,` + evening + system + `{"tariff_per_kWh":0.3}`, "year/cost", 262.8, 1e-6},
		{ // full moon
			`"probes":["2027-01-22T22:00:00Z"],"moon":{"channel":"a"},` + evening,
			"probes/0/duty/a", 0.998, 0.002,
		},
		{ // new moon
			`"probes":["2027-01-07T22:00:00Z"],"moon":{"channel":"a"},` + evening,
			"probes/0/duty/a", 0, 0.002,
		},
		{equator + `"12:00"},` + evening, "days/2027-03-20/lit_hours", 12, 1e-3},
		{
			`"dates":["2027-03-20"],"channels":[{"name":"a","sun":{"lat":0,"lon":0,"noon":720}}]`,
			"days/2027-03-20/mean_duty/a", 1 / math.Pi, 1e-4,
		},
		{
			june + evening + `,"acclimation":{"start_day":10013,"days":10,"from":0.5}`, // 2027-06-01
			day + "mean_duty/a", 0.75, 1e-12,
		},
		{
			june + evening + `,"siesta":{"window":[720,840],"factor":0,"ramp_min":30}`,
			day + "mean_duty/a", 1 - 1.5/24, 1e-9,
		},
		{
			equator + `720,"date":"2027-06-21"},` + evening,
			"days/2027-03-20/peak_ppfd", 200 * math.Cos(23.437*math.Pi/180), 0.02,
		},
	} {
		got, ok := valueAt(programmeOf(t, tt.inputs), tt.path).(float64)
		if !ok || math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s: %s = %.9g, want %.9g", tt.inputs, tt.path, got, tt.want)
		}
	}
	odd := valueAt(programmeOf(t, berlin+`"year":2028,`+evening), "year/odd_days")
	if got := fmt.Sprint(odd); got != "map[23:[2028-03-26] 25:[2028-10-29]]" {
		t.Errorf("dates of other lengths: %s", got)
	}
}

// Words for the curve.
func TestShapes(t *testing.T) {
	for word, want := range map[string]float64{
		"": 0.5, "linear": 0.5, "gamma2.2": 0.217638, "gamma 2": 0.25, "Lightness": 0.184187, "L*": 0.184187,
		"CIE 1976": 0.184187,
	} {
		c, err := shapeOf(word)
		if err != nil || math.Abs(c.Duty(0.5)-want) > 1e-5 {
			t.Errorf("%q: duty %g at 0.5, %v; want %g", word, c.Duty(0.5), err, want)
		}
	}
}

// Bad inputs are one clear error with their place.
func TestProgrammeRefusals(t *testing.T) {
	const a = `"dates":["2027-06-06"],"channels":[{"name":"a","points":`
	many := strings.TrimSuffix(strings.Repeat("[0,1],", 100_000), ",")
	for _, tt := range []struct{ inputs, want string }{
		{`"colour":1`, "use acclimation, channels, clock, clouds, dates"},
		{evening, "nothing is asked"},
		{`"dates":["2027-06-06"]`, "0 channels in the programme"},
		{a + `[]}]`, "no points"},
		{a + `[[0,0],[0,1]]}]`, "points 1 and 2 are both at 00:00"},
		{a + `[[60,0],[30,1],[50,1],[20,0]]}]`, "times must rise"},
		{a + `[[1440,0]]}]`, "point 1 at 86400 s"},
		{a + `[[0,1.5]]}]`, "setting 1.5"},
		{a + `[[0]]}]`, "no pair of minute and setting"},
		{a + `7}]`, "it takes a list of [minute, setting]"},
		{a + `[["25:00",1]]}]`, `is "25:00"; it takes minutes`},
		{a + `[` + many + `]}]`, "100000 points; at most 1440"},
		{a + `[[0,1]],"shape":"gamma99"}]`, `shape "gamma99"; use linear`},
		{a + `[[0,1]],"led_power_full_W":-1}]`, "channels[0].led_power_full_W is -1"},
		{a + `[[0,1]]},{"name":"a","points":[[0,1]]}]`, "channel 2 needs a name of its own"},
		{`"zone":"Europe/Berlinn",` + evening, "nearest: Europe/Berlin"},
		{`"clock":"sun",` + evening, `clock "sun"; use local or standard`},
		{`"dates":["2027-02-30"],` + evening, `date "2027-02-30"`},
		{`"dates":{"from":"2027-02-01","to":"2027-01-01"},` + evening, "no range of at most"},
		{`"zone":"Pacific/Apia","dates":["2011-12-30"],` + evening, "skipped the date 2011-12-30"},
		{`"year":1999,` + evening, "it must be from 2000 to 2099"},
		{`"probes":["now"],` + evening, `instant "now"`},
		{`"system":{"driver_efficiency":2},` + evening, "system.driver_efficiency is 2"},
		{`"system":{"standby_W":-1},` + evening, "system.standby_W is -1"},
		{`"system":{"led_limit_W":-1},` + evening, "led_limit_W is -1"},
		{`"system":{"tariff_windows":[[0,720,1]]},` + evening, "no tariff window covers the time from 12:00"},
		{`"system":{"tariff_windows":[[0,720,1]],"tariff_per_kWh":1},` + evening, "both tariff_per_kWh"},
		{`"acclimation":{"start":"x","days":5,"from":0},` + evening, `acclimation.start_date: date "x"`},
		{`"channels":[{"name":"a","sun":{"lat":1}},{"name":"b","sun":{"lat":2}}],"year":2027`, "a second sun"},
		{`"year":2027,"channels":[` + minuteTables(40) + `]`, "too many"},
		{`"acclimation":{"start":"2027-01-01","days":0,"from":0},` + evening, "acclimation over 0 days"},
		{`"siesta":{"from":800,"to":700,"factor":0.5},` + evening, "ends at 11:40, before it begins at 13:20"},
		{`"clouds":{"amount":2,"mean":0.5},` + evening, "clouds of amount 2"},
		{`"clouds":{"amount":1,"mean":0.5,"channels":["b"]},` + evening, `no channel is called "b"`},
		{`"moon":{"channel":"b"},` + evening, `no channel is called "b"`},
		{`"sun":{"lat":99,"lon":0,"noon":0},` + evening, "sun of latitude 99°"},
	} {
		_, err := Run(context.Background(), "case.json", []byte(`{"topic":"programme","inputs":{`+tt.inputs+`}}`))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !Placed(err) {
			t.Errorf("%.200s:\n%.500v; want %q", tt.inputs, err, tt.want)
		}
	}
}

// Tolerances by quantity: each figure has that of its quantity; probes are those of the expected values; figures that
// are not computed are missed; tolerances that cannot be read compare nothing.
func TestProgrammeTolerances(t *testing.T) {
	const head = `{"topic":"programme","inputs":{"dates":["2027-06-06"],` + evening + `},"tolerance":{"dli":"0.3 %",` +
		`"energy":"0.3 %","mean_duty":"0.3 %","hours":"exact","samples":"0.5 % or 0.02","instants":"1 s"},"expected":`
	run := func(text string) TopicResult {
		out, err := Run(context.Background(), "case.json", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return out.(TopicResult)
	}
	for expected, misses := range map[string]int{
		`{"days":{"2027-06-06":{"dli":17.32,"led_Wh":2406,"mean_duty":{"a":0.998},"peak_ppfd":200.9,"hours":24}}}`: 0,
		`{"days":{"2027-06-06":{"dli":17.35,"led_Wh":2410,"mean_duty":{"a":0.99},"peak_ppfd":202,"hours":24.01}}}`: 5,
		`{"days":{"2027-06-06":{"starts_utc":"2027-06-06T00:00:01Z","wall_kWh":2.395,"wall_peak_W":100.4}}}`:       0,
		`{"days":{"2027-06-06":{"starts_utc":"2027-06-06T00:00:02Z","wall_kWh":2.37,"wall_peak_W":101}}}`:          3,
		`{"probes":[{"utc":"2027-06-06T12:00:00Z","offset_s":0,"duty":{"a":0.985}}]}`:                              0,
		`{"probes":[{"utc":"2027-06-06T12:00:00Z","offset_s":60,"duty":{"a":0.97}}]}`:                              2,
		`{"days":{"2027-06-06":{"romance":1}}}`:                                                                    1,
	} {
		if got := run(head + expected + "}"); len(got.Missed) != misses || got.NotCompared != "" {
			t.Errorf("%s: missed %v, want %d", expected, got.Missed, misses)
		}
	}
	blind := run(strings.Replace(head, "exact", "as good as it gets", 1) + `{"days":{}}}`)
	if blind.NotCompared == "" || blind.Results["days"] == nil {
		t.Errorf("%+v", blind)
	}
}
