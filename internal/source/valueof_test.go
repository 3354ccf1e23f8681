package source

import (
	"strings"
	"testing"

	"lampwright/internal/quantity"
)

// TestValueOf: a text is read as Decode reads a Value, with the same messages at the same places.
func TestValueOf(t *testing.T) {
	const text = "what: a\nvalue: 4270 lx\n"
	for _, tt := range []struct {
		text  string
		dim   quantity.Dim
		si    float64
		msg   string
		doubt string
	}{
		{"4270 lx", quantity.Illuminance, 4270, "", ""},
		{"2.5 K", quantity.TemperatureDifference, 2.5, "", ""},
		{"4.270 lx", quantity.Illuminance, 4.27, "", `value "4.270 lx" is read as 4.27 lx`},
		{"4270 lx", quantity.Voltage, 0, `value "4270 lx" is an illuminance; this field takes a voltage, such as "4270 V"`, ""},
		{"NaN lx", quantity.Illuminance, 0, `value "NaN lx" does not begin with a number`, ""},
	} {
		f, _ := Read("x", []byte(strings.Replace(text, "4270 lx", tt.text, 1)))
		var got struct {
			What  Text `yaml:"what"`
			Value Text `yaml:"value"`
		}
		if problems := f.Decode(&got); len(problems) > 0 {
			t.Fatal(problems)
		}
		v, problems, doubts := f.ValueOf(got.Value, tt.dim)
		if v.SI != tt.si || v.Set != (tt.msg == "") || v.At.String() != "x:2:8" {
			t.Errorf("%q: %+v, want %g", tt.text, v, tt.si)
		}
		if firstMsg(problems) != tt.msg || firstMsg(doubts) != tt.doubt {
			t.Errorf("%q: %v; %v", tt.text, problems, doubts)
		}
		for _, p := range append(problems, doubts...) {
			if p.At.Line != 2 || p.At.Path != "value" || p.Line != "value: "+tt.text {
				t.Errorf("%q: %+v", tt.text, p)
			}
		}
	}
	f, _ := Read("x", []byte(text))
	if v, problems, _ := f.ValueOf(Text{}, quantity.Power); v.Set || len(problems) > 0 {
		t.Errorf("a text that is not set: %+v", v)
	}
}

func firstMsg(list Problems) string {
	if len(list) == 0 {
		return ""
	}
	return list[0].Msg
}
