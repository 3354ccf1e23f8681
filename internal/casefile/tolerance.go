package casefile

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/day"
)

// readWord reads a tolerance in words: "exact", or a percentage, a number, or a number with its unit, or several of
// these joined by "or", of which the larger one applies.
func readWord(word string) (t tolerance, ok bool) {
	if word = strings.TrimSpace(word); word == "exact" {
		return t, true
	}
	for one := range strings.SplitSeq(word, " or ") {
		one = strings.TrimSpace(one)
		digits, percent := strings.CutSuffix(one, "%")
		for _, unit := range []string{" s", " deg"} {
			digits = strings.TrimSuffix(digits, unit)
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(digits), 64)
		if err != nil || !(v >= 0) || math.IsInf(v, 0) || percent && digits == one {
			return t, false
		}
		if percent {
			t.Rel = max(t.Rel, v/100)
		} else {
			t.Abs = max(t.Abs, v)
		}
	}
	return t, true
}

// skyClause is a part of the tolerance of a case of the sky: what, how much, and how much beyond a latitude.
var skyClause = regexp.MustCompile(
	`^(rise and set|transit|phases|share|elevation) ([0-9.]+)(?: s| deg)?` +
		`(?: below ([0-9.]+) deg latitude, else ([0-9.]+) s)?$`)

// skyTolerances turns the sentence of a case of the sky into tolerances by path; ok is false where it is no such
// sentence.
func skyTolerances(sentence string, inputs *node) (out tolerances, ok bool) {
	num := func(s string) float64 {
		v, _ := strconv.ParseFloat(s, 64)
		return v
	}
	allowed := map[string]float64{}
	polar, latitude := 0.0, 90.0
	for clause := range strings.SplitSeq(sentence, ";") {
		m := skyClause.FindStringSubmatch(strings.TrimSpace(clause))
		if m == nil {
			return out, false
		}
		allowed[m[1]] = num(m[2])
		if m[3] != "" {
			latitude, polar = num(m[3]), num(m[4])
		}
	}
	out.byKey = map[string]tolerance{
		"elevation": {Abs: allowed["elevation"]}, "phases": {Abs: allowed["phases"]},
		"illuminated": {Abs: allowed["share"]},
	}
	var rows []skyDay
	if sun := inputs.get("sun"); sun != nil {
		_ = json.Unmarshal(sun.raw, &rows)
	}
	for i, row := range rows {
		path, event := fmt.Sprintf("sun[%d]", i), allowed["rise and set"]
		if math.Abs(row.Lat) >= latitude {
			event = polar
		}
		out.byKey[path] = tolerance{Abs: event}
		out.byKey[path+".transit"] = tolerance{Abs: allowed["transit"]}
		out.byKey[path+".elevation_noon"] = tolerance{Abs: allowed["elevation"]}
		out.byKey[path+".day_length_h"] = tolerance{Abs: 2 * event / 3600}
	}
	return out, true
}

// sameInstant reports whether two texts are instants of UTC within a tolerance of seconds.
func sameInstant(want, got any, allowedS float64) bool {
	a, isText := want.(string)
	b, too := got.(string)
	if !isText || !too {
		return false
	}
	from, errA := day.ParseUTC(a)
	to, errB := day.ParseUTC(b)
	return errA == nil && errB == nil && math.Abs(float64(to-from)) <= allowedS
}

// withProbes returns the inputs of a programme with the instants of the probes that the case expects, where the
// inputs have none.
func withProbes(inputs, expected *node) *node {
	if inputs.get("probes") != nil || expected == nil || expected.get("probes") == nil {
		return inputs
	}
	all := expected.get("probes")
	own, list := *inputs, *all
	list.items = nil
	for _, p := range all.items {
		if p.get("utc") != nil {
			list.items = append(list.items, p.get("utc"))
		}
	}
	own.members = append(slices.Clone(inputs.members), member{"probes", all.at, &list})
	return &own
}

// programmeTolerances gives the tolerances of a programme, which are stated by quantity, to the paths of its figures.
func programmeTolerances(t tolerances, expected *node) tolerances {
	out := tolerances{all: t.all, byKey: maps.Clone(t.byKey)}
	word := func(path, quantity string) {
		if one, ok := t.byKey[quantity]; ok {
			out.byKey[path] = one
		}
	}
	var dates []string
	if expected != nil && expected.get("days") != nil {
		for _, m := range expected.get("days").members {
			dates = append(dates, "days."+m.key)
		}
	}
	for _, path := range append(dates, "year") {
		for key, quantity := range map[string]string{
			"hours": "hours", "dli": "dli", "dli_mean": "dli", "mol": "dli", "led_Wh": "energy", "led_kWh": "energy",
			"wall_kWh": "energy", "cost": "energy", "mean_duty": "mean_duty", "peak_ppfd": "samples",
			"wall_peak_W": "samples",
			"starts_utc":  "instants", "lit_hours": "samples", "dark_hours": "samples",
		} {
			word(path+"."+key, quantity)
		}
	}
	word("probes", "samples")
	return out
}
