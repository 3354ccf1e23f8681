package source

import (
	"strings"
	"testing"
)

// TestDoubts: a value that can be read in two ways is found wherever a file states it, with its place and its line, and
// not where the limits of its field exclude the other reading.
func TestDoubts(t *testing.T) {
	var got struct {
		Current Value `yaml:"current" dim:"current"`
		Low     Value `yaml:"low" dim:"current" max:"<=1 A"`
		Flux    Value `yaml:"flux" dim:"flux"`
		At      Point `yaml:"at"`
		Curve   Curve `yaml:"curve" x:"current" y:"flux"`
		Index   Value `yaml:"index" dim:"none"`
		Notes   Text  `yaml:"notes"`
	}
	text := `current: 1.400 mA
low: 1.400 mA
flux: {value: 2.500 lm, min: 2.400 lm, max: 2.6 lm}
at: [1.200 mm, 3 mm]
curve: {1 mA: 5.000 lm, 1.100 mA: 6 lm}
index: 1.333
notes: 1.400 mA
`
	f, problems := Read("lamp.yaml", []byte(text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	problems, doubts := f.DecodeDoubting(&got)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want := []string{
		"lamp.yaml:1:10: current \"1.400 mA\" is read as 1.4 mA; write 1400 mA if its point parts thousands, else 1.4 mA\n" +
			"    1 | current: 1.400 mA\n      |          ^",
		`lamp.yaml:3:15: value "2.500 lm" is read as 2.5 lm`,
		`lamp.yaml:3:30: min "2.400 lm" is read as 2.4 lm`,
		`lamp.yaml:4:6: at[0] "1.200 mm" is read as 1.2 mm`,
		`lamp.yaml:5:15: `,
		`lamp.yaml:5:25: `,
	}
	if len(doubts) != len(want) {
		t.Fatalf("%d doubts, want %d:\n%s", len(doubts), len(want), doubts.Error())
	}
	for i, d := range doubts {
		if !strings.HasPrefix(d.Error(), want[i]) {
			t.Errorf("%s\nwant %s", d.Error(), want[i])
		}
	}
	if got.Current.SI != 1.4e-3 || !got.Current.Set {
		t.Errorf("current %+v", got.Current)
	}
}
