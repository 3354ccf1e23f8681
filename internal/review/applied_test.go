package review

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// lampFiles is a design with its own parts, as text.
type lampFiles map[string]string

// TestSuggestedFixes carries out each fix that a finding of the examples and of 40 generated designs suggests, as far
// as its words or its edits say what to change to what: the finding then passes, and no check stops that did not stop
// before, unless the fix names it.
func TestSuggestedFixes(t *testing.T) {
	if testing.Short() {
		t.Skip("some 300 designs are evaluated")
	}
	folders, err := filepath.Glob("../../examples/*/" + project.DesignFile)
	if err != nil || len(folders) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	applied := &appliedFixes{counts: map[string]int{}}
	t.Run("designs", func(t *testing.T) {
		for _, file := range folders {
			t.Run(filepath.Base(filepath.Dir(file)), func(t *testing.T) {
				applied.all(t, readLamp(t, filepath.Dir(file)))
			})
		}
		for seed := range uint64(40) {
			t.Run(fmt.Sprintf("generated %d", seed), func(t *testing.T) { applied.all(t, generatedLamp(seed)) })
		}
	})
	for _, what := range slices.Sorted(maps.Keys(applied.counts)) {
		t.Logf("%4d × %s", applied.counts[what], what)
	}
	done := strings.Join(slices.Collect(maps.Keys(applied.counts)), "\n")
	for _, check := range []string{
		"die-current", "junction", "driver-output-range", "supply-load", "ppfd", "wire-drop",
	} {
		if !strings.Contains("\n"+done, "\n"+check+":") {
			t.Errorf("no fix of %s was carried out", check)
		}
	}
}

// readLamp reads a design and its own parts.
func readLamp(t *testing.T, folder string) lampFiles {
	t.Helper()
	out := lampFiles{}
	for _, pattern := range []string{project.DesignFile, "parts/*.yaml"} {
		list, err := filepath.Glob(filepath.Join(folder, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range list {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			name, err := filepath.Rel(folder, file)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.ToSlash(name)] = string(text)
		}
	}
	return out
}

// generatedLamp is baseLamp with values that are drawn: many of them are beyond some limit.
func generatedLamp(seed uint64) lampFiles {
	draw := rand.New(rand.NewPCG(seed, 0x1a39))
	design, parts := baseLamp, baseParts
	replace := func(old, now string, values ...any) {
		if strings.Count(design, old)+strings.Count(parts, old) != 1 {
			panic("the text " + old + " is not once in the lamp")
		}
		now = fmt.Sprintf(now, values...)
		design, parts = strings.Replace(design, old, now, 1), strings.Replace(parts, old, now, 1)
	}
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*draw.Float64() }
	n := 1 + draw.IntN(5)
	at := make([]string, n)
	for i := range at {
		at[i] = fmt.Sprintf("[%g mm, 0 mm]", -24+48*(float64(i)+0.5)/float64(n))
	}
	replace("[[-15 mm, 0 mm], [15 mm, 0 mm]]", "[%s]", strings.Join(at, ", "))
	replace("    current: 0.5 A\n    driver: down\n",
		"    current: %.3f A\n    driver: down\n    wire: {part: lead, length: %.1f m}\n", between(0.08, 1.4),
		between(0.5, 12))
	replace("spill: 100 %", "spill: %.0f %%, uniformity: %.0f %%, ppfd: {value: 40 µmol/m²/s, "+
		"min: %.0f µmol/m²/s, max: %.0f µmol/m²/s}", between(5, 90), between(2, 50), between(12, 38), between(42, 80))
	replace("hanging_height: 300 mm", "hanging_height: %.0f mm", between(100, 600))
	replace("max: 30 °C, min", "max: %.0f °C, min", between(26, 48))
	replace("{0 °C: 1 A, 200 °C: 1 A}", "{0 °C: 1 A, %.0f °C: 1 A, %.0f °C: 0.1 A}", between(30, 60),
		between(70, 140))
	replace("max_forward_current: 1 A", "max_forward_current: %.2f A", between(0.4, 1.2))
	replace("max_junction: 150 °C", "max_junction: %.0f °C", between(60, 150))
	replace("{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: %[1]g K/W, 100 W: %[1]g K/W}", between(1, 25))
	replace("output_min: 2 V, output_max: 20 V", "output_min: %.1f V, output_max: %.1f V", between(1, 8),
		between(9, 20))
	replace("current_min: 0.1 A, current_max: 1 A", "current_min: %.2f A, current_max: %.2f A", between(0.05, 0.4),
		between(0.5, 1.5))
	replace("current_tolerance: 0 %", "current_tolerance: %.0f %%", between(0, 6))
	replace("max_power: 10 W", "max_power: %.1f W", between(2, 20))
	replace("voltage: 12 V ± 5 %, power: 20 W", "voltage: %d V ± 5 %%, power: %.0f W",
		[]int{9, 12, 15, 24}[draw.IntN(4)], between(3, 40))
	replace("mm²·K/W, max_temperature: 150 °C,", "mm²·K/W, max_temperature: %.0f °C,", between(45, 150))
	replace("solidus: 138 °C, liquidus: 138 °C", "solidus: %[1]d °C, liquidus: %[1]d °C",
		[]int{138, 227}[draw.IntN(2)])
	replace("making_capacity: 80 A", "making_capacity: %.0f A", between(10, 100))
	replace("{full_level_time: 9 h, ramp_time: 1 h}", "{full_level_time: %.0f h, ramp_time: 1 h}", between(3, 14))
	return lampFiles{project.DesignFile: design, "parts/own.yaml": parts}
}

// load reads the files of a lamp.
func (l lampFiles) load() (*project.Project, source.Problems) {
	files := fstest.MapFS{}
	for name, text := range l {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return project.Load(files, project.DesignFile, partslib.Files())
}

// review evaluates a lamp with its ranges.
func (l lampFiles) review(t *testing.T) []finding.Finding {
	t.Helper()
	p, problems := l.load()
	if p == nil {
		t.Fatalf("the lamp does not load:\n%s", problems.Error())
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: 60, CellM: 0.05, Solver: boards})
	if err != nil {
		t.Fatal(err)
	}
	return Review(context.Background(), r)
}

// set returns the lamp with the values at some paths of a file changed.
func (l lampFiles) set(t *testing.T, name string, settings ...source.Setting) lampFiles {
	t.Helper()
	out := maps.Clone(l)
	for _, s := range settings {
		f, problems := source.Read(name, []byte(out[name]))
		if len(problems) > 0 {
			t.Fatal(problems.Error())
		}
		text, err := f.Splice(s.Path, s.Text)
		if err != nil {
			t.Fatal(err)
		}
		out[name] = string(text)
	}
	return out
}

// partFixes are the fixes that ask for another part of the generated lamps: words, with the value as their group, and
// the value of parts/own.yaml that they mean.
var partFixes = []struct {
	words *regexp.Regexp
	path  string
}{
	{regexp.MustCompile(`^Use a supply of ≥ (\S+ k?W)`), "supplies[0].power"},
	{regexp.MustCompile(`^Use a driver with maximum output ≥ (\S+ V)$`), "drivers[0].output_max"},
	{regexp.MustCompile(`^Use a driver with minimum output ≤ (\S+ m?V)$`), "drivers[0].output_min"},
	{regexp.MustCompile(`^Use a driver with minimum output current ≤ (\S+ m?A)$`), "drivers[0].current_min"},
	{regexp.MustCompile(`^Use a driver with maximum output current ≥ (\S+ m?A)$`), "drivers[0].current_max"},
	{regexp.MustCompile(`^Use a driver rated ≥ (\S+ m?W)$`), "drivers[0].max_power"},
	{regexp.MustCompile(`^Use a TIM rated ≥ (\S+ °C)$`), "thermal_interfaces[0].max_temperature"},
	{regexp.MustCompile(`^Use a contact rated ≥ (\S+ A) inrush$`), ""},
	{regexp.MustCompile(`^Use a wire of ≤ (\S+ \S+)$`), "wires[0].resistance"},
}

// changed returns the lamp with a fix carried out; false where its words say no value, or one of a part of the library.
func (l lampFiles) changed(t *testing.T, fix string) (lampFiles, bool) {
	if !strings.Contains(l["parts/own.yaml"], "id: down,") {
		return nil, false // not one of the generated lamps, whose parts the paths below are of
	}
	for _, p := range partFixes {
		m := p.words.FindStringSubmatch(fix)
		switch {
		case m == nil:
		case p.path == "":
			return l.set(t, project.DesignFile, source.Setting{Path: "mains.switch.making_capacity", Text: m[1]}), true
		default:
			return l.set(t, "parts/own.yaml", source.Setting{Path: p.path, Text: m[1]}), true
		}
	}
	return nil, false
}

// appliedFixes counts the fixes that were carried out, by check and words.
type appliedFixes struct{ counts map[string]int }

// digits are what differs between fixes of one wording.
var digits = regexp.MustCompile(`[−\d][\d.,]*`)

// all carries out every fix of a lamp by itself.
func (a *appliedFixes) all(t *testing.T, l lampFiles) {
	findings := l.review(t)
	for _, f := range findings {
		for _, e := range f.Edits {
			a.counts[f.Check+": "+digits.ReplaceAllString(e.Label, "#")]++
			holds(t, findings, f, e.Label, l.set(t, project.DesignFile, e.Settings...).review(t))
		}
		for _, fix := range f.Fix {
			if now, ok := l.changed(t, fix); ok {
				a.counts[f.Check+": "+digits.ReplaceAllString(fix, "#")]++
				holds(t, findings, f, fix, now.review(t))
			}
		}
	}
}

// holds checks that a finding passes after its fix and that nothing stops that did not before.
func holds(t *testing.T, before []finding.Finding, f finding.Finding, fix string, after []finding.Finding) {
	t.Helper()
	same := func(g finding.Finding) bool {
		return g.Check == f.Check && g.Subject == f.Subject && g.Figure == f.Figure
	}
	for _, g := range after {
		if same(g) && g.Severity <= finding.Warn && f.Severity <= finding.Warn {
			t.Errorf("%s, %q: done, and yet %s", f.Check, fix, g.Title)
		}
		stopped := slices.ContainsFunc(before, func(b finding.Finding) bool {
			return b.Check == g.Check && b.Severity == finding.Stop
		})
		if g.Severity == finding.Stop && !stopped && !strings.Contains(fix, g.Check) {
			t.Errorf("%s, %q: done, and it stops at %s: %s", f.Check, fix, g.Check, g.Title)
		}
	}
}
