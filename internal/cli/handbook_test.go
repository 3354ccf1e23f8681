package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// edit is one replacement in the text of a design; with takes the text of the corrected demo.
type edit struct {
	find string // regular expression, multi-line
	with func(match, corrected string) string
}

func text(s string) func(string, string) string { return func(string, string) string { return s } }

// fromCorrected returns the text that an expression finds in the corrected demo.
func fromCorrected(find string) func(string, string) string {
	return func(_, corrected string) string { return regexp.MustCompile("(?m)" + find).FindString(corrected) }
}

// handbookSteps are the steps by which the handbook corrects the first demo, in their order.
var handbookSteps = [][]edit{
	{
		{`current: 790 mA`, text("current: 640 mA")},
		{`current: 780 mA .*$`, text("current: 600 mA")},
		{`current: 850 mA .*$`, fromCorrected(`current: 270 mA .*$`)},
	},
	{{`lens: lens-76 .*$`, text("lens: lens-100-large")}},
	{
		{`aluminium-1w .*$`, text("aluminium-2w")},
		{`thickness: 1\.6 mm`, text("thickness: 2 mm")},
		{`^    - \{diameter: .*$`, func(m, corrected string) string {
			return m + "\n" + fromCorrected(`^  mounting: .*$`)(m, corrected)
		}},
		{`^thermal_interface: .*$`, fromCorrected(`^thermal_interface: .*$`)},
	},
	{{`^fan: .*\n`, text("")}},
	{{`^    driver: .*$`, text("    driver: buck-1a")}, {`current: 350 mA`, text("current: 480 mA")}},
	{
		{`supply-12v-60w`, text("supply-24v-100w")},
		{`awg24, length: 1\.5 m`, text("awg20, length: 1.5 m")},
		{`awg20, length: 1\.2 m`, text("awg18, length: 1.2 m")},
	},
	{
		{`    wire: \{part: awg18.*$`, fromCorrected(`    wire: \{part: awg18.*\n    fuse: .*$`)},
		{`^mains:\n(  .*\n)+`, fromCorrected(`^suspension:.*\n(  .*\n)+\nmains:\n(  .*\n)+`)},
	},
	{{`^solder: .*$`, fromCorrected(`^solder: .*\nwire_solder: .*$`)}},
}

// stepReview is what the review of one step says: the number of findings by severity, and the figures by key.
type stepReview struct {
	count   map[string]int
	figures map[string]float64
}

func reviewOf(t *testing.T, design string) stepReview {
	t.Helper()
	if err := os.WriteFile("lamp.yaml", []byte(design), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errOut bytes.Buffer
	if status := Main([]string{"review", "--json", "lamp.yaml"}, &out, &errOut); status != statusOK && status != statusFound {
		t.Fatalf("the design of the step is not read: %s", errOut.String())
	}
	var got struct {
		Result struct {
			Figures []struct {
				Key   string
				Value float64
			}
		}
		Findings []struct{ Severity string }
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	r := stepReview{map[string]int{}, map[string]float64{}}
	for _, f := range got.Findings {
		r.count[f.Severity]++
	}
	for _, f := range got.Result.Figures {
		r.figures[f.Key] = f.Value
	}
	return r
}

// matchesCell reports whether a printed value, such as "42.6 °C" or "24.5 %", is a figure rounded to the digits of the print.
func matchesCell(cell string, value float64) bool {
	number, unit, _ := strings.Cut(strings.TrimSpace(cell), " ")
	want, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return false
	}
	switch {
	case strings.HasPrefix(unit, "°C"):
		value -= 273.15
	case strings.HasPrefix(unit, "%"):
		value *= 100
	}
	_, digits, _ := strings.Cut(number, ".")
	return math.Abs(value-want) <= 0.501*math.Pow(10, -float64(len(digits)))
}

// TestHandbookSteps corrects the first demo as the handbook does, step by step, and compares each step's review and the
// values that the chapters print before and after it.
func TestHandbookSteps(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves nine lamps")
	}
	all := pages(t)
	read := func(demo string) string {
		data, err := os.ReadFile("../../examples/" + demo + "/lamp.yaml")
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	design, corrected := read("long-tank-first"), read("long-tank")
	t.Chdir(t.TempDir())
	overview := regexp.MustCompile(`(?m)^\| (\d) \| (\d+) \| .* \| (\d+) \| (\d+) \| (\d+) \| .* \|$`).FindAllStringSubmatch(all["docs/handbook/README.md"], -1)
	if len(overview) != len(handbookSteps)+1 {
		t.Fatalf("the overview has %d steps, want %d", len(overview), len(handbookSteps)+1)
	}
	rows := map[string]string{
		"mean PPFD": "target.ppfd", "CCT": "lamp.cct", "efficacy at the LEDs": "lamp.efficacy", "luminous flux of the lamp": "lamp.flux",
		"spill light": "light.spill", "parts cost": "cost.bom", "maximum T_j at maximum ambient": "lamp.junction-max-ambient",
		"base at maximum ambient": "sink.temperature-max-ambient",
	}
	compared := 0
	var before stepReview
	for step, line := range overview {
		if step > 0 {
			for _, e := range handbookSteps[step-1] {
				find := regexp.MustCompile("(?m)" + e.find)
				if !find.MatchString(design) {
					t.Fatalf("step %d: %q is not in the design", step, e.find)
				}
				design = find.ReplaceAllStringFunc(design, func(m string) string { return e.with(m, corrected) })
			}
		}
		now := reviewOf(t, design)
		if got := []string{fmt.Sprint(now.count["stop"]), fmt.Sprint(now.count["warn"]), fmt.Sprint(now.count["ask"])}; strings.Join(got, " ") != strings.Join(line[3:6], " ") {
			t.Errorf("step %d has %v stops, warnings and missing data; the handbook says %v", step, got, line[3:6])
		}
		page := ""
		for name, text := range all {
			if strings.HasPrefix(name, fmt.Sprintf("docs/handbook/%02s-", line[2])) && strings.Contains(text, fmt.Sprintf("step %d\n", step)) {
				page = text
			}
		}
		for name, key := range rows {
			m := regexp.MustCompile(`(?m)^\| ` + name + ` \| ([^|]*) \| ([^|]*) \|$`).FindStringSubmatch(page)
			if m == nil || step == 0 {
				continue
			}
			compared++
			if !matchesCell(m[1], before.figures[key]) || !matchesCell(m[2], now.figures[key]) {
				t.Errorf("step %d: %s is %q, then %q; the program computes %g, then %g", step, name, m[1], m[2], before.figures[key], now.figures[key])
			}
		}
		before = now
	}
	if compared < 15 {
		t.Errorf("compared %d values; there are more", compared)
	}
}
