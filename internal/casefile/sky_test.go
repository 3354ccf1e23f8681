package casefile

import (
	"context"
	"strings"
	"testing"
)

// Bad questions are one clear error with their place.
func TestSkyRefusals(t *testing.T) {
	many := strings.TrimSuffix(strings.Repeat(`"2027-01-01T00:00:00Z",`, 201), ",")
	for inputs, want := range map[string]string{
		``:                                       "nothing is asked",
		`"moon":[]`:                              `unknown key "moon"`,
		`"sun":[{"lat":91,"date":"2027-01-01"}]`: "sun[0].lat is 91",
		`"sun":[{"lon":181,"date":"2027-01-01"}]`: "sun[0].lon is 181",
		`"sun":[{"date":"2027-02-29"}]`:           `date "2027-02-29"; use the form`,
		`"elevation":[{"utc":"noon"}]`:            `instant "noon"; use the form`,
		`"elevation":[{"lat":"x"}]`:               "inputs.elevation[0].lat is a JSON text",
		`"elevation":[{"lat":-91}]`:               "elevation[0].lat is -91",
		`"phases_of_years":[1899]`:                "it must be from 1900 to 2100",
		`"illuminated":["2027"]`:                  `instant "2027"; use the form`,
		`"illuminated":[` + many + `]`:            "more than 200 rows",
	} {
		_, err := Run(context.Background(), "case.json", []byte(`{"topic":"sky","inputs":{`+inputs+`}}`))
		if err == nil || !strings.Contains(err.Error(), want) || !Placed(err) {
			t.Errorf("%s:\n%v; want %q", inputs, err, want)
		}
	}
}

// The sentence of tolerances: each figure is compared within its own, and misses beyond it.
func TestSkyTolerances(t *testing.T) {
	const head = `{"topic":"sky","inputs":{"sun":[{"lat":52.5,"lon":13.5,"date":"2027-03-20"},` +
		`{"lat":69.6,"lon":18.9,"date":"2027-12-21"}],"elevation":[{"lat":0,"lon":0,"utc":"2027-03-20T12:07:32Z"}],` +
		`"illuminated":["2027-01-22T12:17:18Z"]},"tolerance":"rise and set 60 s below 62 deg latitude, else 120 s; ` +
		`transit 30 s; phases 180 s; share 0.005; elevation 0.02 deg","expected":`
	for expected, misses := range map[string]int{
		// Of the table sun_2027.csv of package sky (pyephem 4.1.4), and off by a little less and more than allowed.
		`{"sun":[{"sunrise":"2027-03-20T05:09:28Z"},{"sun":"always below"}]}`:  0,
		`{"sun":[{"sunrise":"2027-03-20T05:10:20Z"},{}]}`:                      0,
		`{"sun":[{"sunrise":"2027-03-20T05:10:40Z"},{}]}`:                      1,
		`{"sun":[{"transit":"2027-03-20T11:14:00Z"},{}]}`:                      0,
		`{"sun":[{"transit":"2027-03-20T11:14:10Z"},{}]}`:                      1,
		`{"sun":[{"elevation_noon":37.36,"day_length_h":12.17},{}]}`:           0,
		`{"sun":[{"elevation_noon":37.40,"day_length_h":12.20},{}]}`:           2,
		`{"sun":[{"civil_dawn":"always below"},{"sun":"always above"}]}`:       2,
		`{"elevation":[89.87],"illuminated":[["2027-01-22T12:17:18Z",0.997]]}`: 0,
		`{"elevation":[89.80],"illuminated":[["2027-01-22T12:17:18Z",0.99]]}`:  2,
	} {
		out, err := Run(context.Background(), "case.json", []byte(head+expected+"}"))
		if err != nil {
			t.Fatal(err)
		}
		if got := out.(TopicResult).Missed; len(got) != misses {
			t.Errorf("%s: missed %v, want %d", expected, got, misses)
		}
	}
}

// Words of tolerances.
func TestReadWord(t *testing.T) {
	for word, want := range map[string]tolerance{
		"exact": {}, "0.3 %": {Rel: 0.003}, "0.5 % or 0.02": {Rel: 0.005, Abs: 0.02}, "1 s": {Abs: 1},
		"0.02 deg": {Abs: 0.02}, "5": {Abs: 5},
	} {
		if got, ok := readWord(word); !ok || got != want {
			t.Errorf("%q: %+v, %v; want %+v", word, got, ok, want)
		}
	}
	for _, word := range []string{"", "close", "%", "-1 %", "1 m", "1 % or", "NaN", "inf", "1 % of 2"} {
		if got, ok := readWord(word); ok {
			t.Errorf("%q: %+v", word, got)
		}
	}
}
