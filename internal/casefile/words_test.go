package casefile

import (
	"strings"
	"testing"
)

// TestErrorsInOurWords: what is no JSON, or has another type than is expected, is reported with file, line, column and
// the line itself, and without the words of the library.
func TestErrorsInOurWords(t *testing.T) {
	const light = `{"tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.4,"water_depth_m":0.36,` +
		`"glass_thickness_m":0.008},` +
		`"pattern":{"kind":"cosm","m":1},"sources":[{"x":0,"y":0,"z":0.65,"lumens":800}],"trace":{"rays":10000},`
	for _, tt := range []struct{ text, want string }{
		{"{\n \"a\": 1\n \"b\": 2}", "c.json:3:2: not JSON: a comma or } is expected here\n    3 |  \"b\": 2}\n      |  ^"},
		{"{\"a\": [1 2]}", "c.json:1:10: not JSON: a comma or ] is expected here"},
		{"{\"a\" 1}", "c.json:1:6: not JSON: a colon is expected here, after the key"},
		{"{\"ä\": 1,\n}", "c.json:2:1: not JSON: a key in double quotes is expected here"},
		{"{a: 1}", "c.json:1:2: not JSON: a key in double quotes is expected here"},
		{"{\"a\": ,}", "c.json:1:7: not JSON: a value is expected here"},
		{"{\"a\": \"x\ny\"}", "c.json:1:9: not JSON: a text ends with a double quote on its own line"},
		{`{"a": "\q"}`, "c.json:1:9: not JSON: this is not an escape code of a text"},
		{`{"a": "\u12x4"}`, "c.json:1:12: not JSON: four hexadecimal digits are expected"},
		{`{"a": -x}`, "c.json:1:8: not JSON: a digit is expected here"},
		{`{"a": 1.x}`, "c.json:1:9: not JSON: a digit is expected here, after the decimal point"},
		{`{"a": 1ex}`, "c.json:1:9: not JSON: a digit is expected here, in the exponent"},
		{`{"a": trux}`, "c.json:1:10: not JSON: the words without quotes are true, false and null"},
		{`{"a": NaN}`, "c.json:1:7: not JSON: a value is expected here"},
		{`{"a": 1`, "c.json:1:8: the text ends before the case does"},
		{`{"a": 1} 2`, "c.json:1:10: text follows the end of the case"},
		{light + `"expected":{"surface_avg":"x"}}`, "expected surface_avg contains a JSON text in place of a JSON number"},
		{light + `"expected":{"surface_points":[1,{}]}}`, "contains a JSON object in place of a JSON number"},
		{light + `"expected":{"surface_avg":1e999}}`, "contains a number that is too large"},
		{light + `"expected":{"frac":[1]}}`, "contains a JSON list in place of a JSON object"},
	} {
		_, err := Run(t.Context(), "c.json", []byte(tt.text))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !Placed(err) {
			t.Errorf("%s:\n%v\nwant %q", tt.text, err, tt.want)
			continue
		}
		for _, theirs := range []string{"json: ", "invalid character", "strconv", "unmarshal", "Go value", "looking for"} {
			if strings.Contains(err.Error(), theirs) {
				t.Errorf("%s: %q is of the library: %v", tt.text, theirs, err)
			}
		}
	}
}

// TestManyProblemsOfCase: the first 20 problems are shown, and the others counted.
func TestManyProblemsOfCase(t *testing.T) {
	text := `{"board":{` + strings.TrimSuffix(strings.Repeat(`"k@":1,`, 500), ",") + `},"layers":[],"sources":[]}`
	for i := range 500 {
		text = strings.Replace(text, "@", strings.Repeat("x", i+1), 1)
	}
	_, err := Run(t.Context(), "c.json", []byte(text))
	if err == nil || strings.Count(err.Error(), "c.json:") != 20 ||
		!strings.HasSuffix(err.Error(), "problems; the first 20 are shown") {
		t.Errorf("%d problems: %.2000v", strings.Count(err.Error(), "c.json:"), err)
	}
}
