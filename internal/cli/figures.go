package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
)

type figuresCmd struct {
	Group string `arg:"" optional:"" help:"Group to list: a channel, lamp, target, light, heat, colour, power, cost, or a case such as max-ambient; default: all."`
	Path  string `arg:"" optional:"" help:"Project folder or design file; default: current folder."`
	JSON  bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run lists the results of all groups, or of one.
func (c *figuresCmd) Run(r *run) error {
	group, path := groupAndPath(c.Group, c.Path)
	result, err := r.evaluate(path)
	if err != nil {
		return err
	}
	list := result.Figures
	if group != "" {
		if list = inGroup(result, group); len(list) == 0 {
			names := groupsOf(result)
			hint := "the groups are " + strings.Join(names, ", ")
			if near, ok := quantity.Near(group, names); ok {
				hint = "did you mean " + near + "?"
			}
			return fmt.Errorf("no group of results %q; %s", group, hint)
		}
	}
	if c.JSON {
		return writeJSON(r, list)
	}
	printFigures(r, result, list)
	return nil
}

// groupAndPath tells a group from a path: both are optional. An argument that is a project is a path.
func groupAndPath(first, second string) (group, path string) {
	switch {
	case second != "" && isProject(first) && !isProject(second):
		return second, first
	case second != "":
		return first, second
	case first == "":
		return "", "."
	case isProject(first) || strings.ContainsAny(first, `/\`) || !isProject("."):
		return "", first
	}
	return first, "."
}

// isProject reports whether a path is a folder with a design, or a file.
func isProject(path string) bool {
	info, err := os.Stat(path)
	if err != nil || !info.IsDir() {
		return err == nil
	}
	_, err = os.Stat(filepath.Join(path, project.DesignFile))
	return err == nil
}

// subjects are the groups that cut across the prefixes of the keys: results of these dimensions, with these prefixes, or with
// these last parts.
var subjects = []struct {
	name           string
	dims           []quantity.Dim
	prefixes, ends []string
}{
	{
		name: "heat", dims: []quantity.Dim{quantity.Temperature, quantity.ThermalResistance},
		prefixes: []string{"sink", "fan", "board", "sensor", "spot", "housing"}, ends: []string{"heat", "driver-heat"},
	},
	{
		name: "light", dims: []quantity.Dim{quantity.PPFD, quantity.Illuminance, quantity.Flux, quantity.PhotonFlux},
		prefixes: []string{"light", "target", "surface", "programme"},
	},
	{
		name: "colour", dims: []quantity.Dim{quantity.CCT},
		ends: []string{"duv", "ra", "r9", "rf", "rg", "u-prime", "v-prime", "sdcm", "dominant", "purity"},
	},
	{name: "power", dims: []quantity.Dim{quantity.Power}, prefixes: []string{"mains", "supply"}},
}

// prefix returns the first part of a key: a channel, or what the result belongs to. The name of a channel may contain a dot.
func prefix(result *figure.Evaluation, key string) string {
	for _, ch := range result.Channels {
		if strings.HasPrefix(key, ch.Name+".") {
			return ch.Name
		}
	}
	first, _, _ := strings.Cut(key, ".")
	return first
}

// groupsOf returns the names of the groups that a lamp has.
func groupsOf(result *figure.Evaluation) (names []string) {
	for _, f := range result.Figures {
		if p := prefix(result, f.Key); !slices.Contains(names, p) {
			names = append(names, p)
		}
	}
	for _, s := range subjects {
		if !slices.Contains(names, s.name) {
			names = append(names, s.name)
		}
	}
	return append(names, casesOf(result)...)
}

// inGroup returns the results of a group: a prefix of the keys, a subject, or a thermal case.
func inGroup(result *figure.Evaluation, group string) (list []figure.Figure) {
	for _, f := range result.Figures {
		first := prefix(result, f.Key)
		last := strings.TrimPrefix(f.Key, first+".")
		in := first == group || string(f.Case) == group
		for _, s := range subjects {
			in = in || s.name == group && (slices.Contains(s.dims, f.Dim) || slices.Contains(s.ends, last) ||
				slices.Contains(s.prefixes, strings.TrimRight(first, "0123456789")))
		}
		if in {
			list = append(list, f)
		}
	}
	return list
}

// printFigures prints a table of results for each prefix of their keys.
func printFigures(r *run, result *figure.Evaluation, list []figure.Figure) {
	var order []string
	tables := map[string]*table{}
	for _, f := range list {
		first := prefix(result, f.Key)
		if tables[first] == nil {
			order = append(order, first)
			tables[first] = r.table("key", "value", "P10 to P90", "quantity")
		}
		value, spread := report.Rounded(f)
		if _, unit, ok := strings.Cut(value, " "); ok {
			spread = strings.TrimSuffix(spread, " "+unit)
		}
		tables[first].row(f.Key, value, spread, strings.TrimPrefix(f.Title, "channel "+first+": "))
	}
	for i, first := range order {
		if i > 0 {
			r.println("")
		}
		tables[first].print()
	}
	if text := result.NotSampledText(); text != "" {
		r.println("")
		r.prose("", text)
	}
}
