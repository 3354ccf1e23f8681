package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// SunriseTable returns the steps of a sunrise: time, light and level of each channel.
func SunriseTable(path *study.Sunrise) Table {
	t := Table{
		Title: "Sunrise",
		Text:  "From off to full level; in reverse order for sunset. Levels change linearly between the times.",
		Head:  []string{"time", "CCT", "Duv", "tint", "Ra", "PPFD", "illuminance"}, Notes: SunriseTexts(path),
	}
	for _, ch := range path.Steps[0].Channels {
		t.Head = append(t.Head, ch.Name)
	}
	for _, m := range path.Steps {
		cct, duv, ra := "–", "–", "–"
		if m.CCTK > 0 {
			cct, duv, ra = quantity.Format(m.CCTK, quantity.CCT), quantity.Signed(m.Duv, 4), fmt.Sprintf("%.0f", m.Ra)
		}
		row := []string{
			clock(m.TimeS), cct, duv, string(m.Tint), ra, quantity.Format(m.PPFD, quantity.PPFD),
			quantity.Format(m.Lux, quantity.Illuminance),
		}
		for _, ch := range m.Channels {
			row = append(row, strings.TrimSuffix(strconv.FormatFloat(100*ch.Level, 'f', 1, 64), ".0")+" %")
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// SunriseTexts states which steps are tinted, the largest change from step to step, an assumed time, and what the
// drivers cannot do.
func SunriseTexts(path *study.Sunrise) (out []string) {
	tinted := path.Tinted()
	for _, tint := range []struct {
		tint colour.Tint
		why  string
	}{
		{colour.Greenish, "Duv above +0.006"},
		{colour.Pinkish, "Duv below −0.006"},
		{colour.Coloured, "too far from white for a CCT"},
	} {
		if steps := tinted[tint.tint]; len(steps) > 0 {
			out = append(out, fmt.Sprintf("visibly %s (%s): %s", tint.tint, tint.why, stepTimes(path, steps)))
		}
	}
	var most study.SunriseStep
	for _, step := range path.Steps {
		if step.Change > most.Change {
			most = step
		}
	}
	out = append(out, fmt.Sprintf("largest change from step to step %.3g %% of the maximum of channel %s on the way, "+
		"at %s; limit %.3g %%", 100*most.Change, most.Changed, clock(most.TimeS), 100*path.Bound))
	if path.RampAssumed {
		out = append(out, "ramp time not stated, assumed "+quantity.Format(path.RampS, quantity.Time))
	}
	return append(out, stepNotes(path)...)
}

// stepNotes gathers the notes of the steps: of those that begin alike, the first, with the times of all.
func stepNotes(path *study.Sunrise) (out []string) {
	about := func(note string) string {
		words := strings.Fields(note)
		return strings.Join(words[:min(3, len(words))], " ")
	}
	steps, first, order := map[string][]int{}, map[string]string{}, []string(nil)
	for i, step := range path.Steps {
		for _, note := range step.Notes {
			key := about(note)
			if _, known := first[key]; !known {
				first[key] = note
				order = append(order, key)
			}
			steps[key] = append(steps[key], i+1)
		}
	}
	for _, key := range order {
		out = append(out, stepTimes(path, steps[key])+": "+first[key])
	}
	return out
}

// stepTimes returns the times of steps, numbers from 1 in order, with those in a row as a range.
func stepTimes(path *study.Sunrise, steps []int) string {
	var out []string
	for i := 0; i < len(steps); {
		last := i
		for last+1 < len(steps) && steps[last+1] <= steps[last]+1 {
			last++
		}
		text := clock(path.Steps[steps[i]-1].TimeS)
		if last > i && steps[last] > steps[i] {
			text += " to " + clock(path.Steps[steps[last]-1].TimeS)
		}
		out = append(out, text)
		i = last + 1
	}
	return strings.Join(out, ", ")
}

// clock prints a time since the start as hours and minutes, with seconds where there are any.
func clock(s float64) string {
	n := int(math.Round(s))
	text := fmt.Sprintf("%d:%02d", n/3600, n/60%60)
	if n%60 != 0 {
		text += fmt.Sprintf(":%02d", n%60)
	}
	return text
}
