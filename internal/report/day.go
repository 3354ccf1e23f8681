package report

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"lampwright/internal/day"
	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

// DaySection returns the reference day as a section of a report: its drawing and a table. ok is false where the design
// states no programme.
func DaySection(ctx context.Context, r *figure.Evaluation) (t Table, ok bool, err error) {
	if r.Day == nil {
		return t, false, nil
	}
	d, err := study.DayOf(ctx, r, study.DayRequest{})
	if ctx.Err() != nil {
		return t, false, ctx.Err()
	}
	if err != nil {
		return Table{Title: "Day", Text: err.Error() + "."}, true, nil
	}
	t = DayTable(r, d)
	t.Picture = DayPicture(r, d, "day", widePx)
	return t, true, nil
}

// DayTexts returns the sums of a day in words.
func DayTexts(r *figure.Evaluation, d *study.Day) []string {
	s, which := &d.Sums, "reference day"
	if d.Date != "" {
		which = d.Date
	}
	energy := fmt.Sprintf("Energy: %.3g kWh", s.EnergyKWh)
	if s.Cost > 0 {
		energy += ", " + quantity.Format(s.Cost, quantity.Money)
	}
	light := fmt.Sprintf("DLI %s; maximum PPFD %s; photoperiod %s (above half of the maximum); lit %s",
		quantity.Format(s.DLI, quantity.DLI), quantity.Format(s.MaxPPFD, quantity.PPFD), hoursText(s.PhotoperiodH),
		hoursText(s.LitH))
	if r.Lamp.Design.Requirements.PPFD.Set {
		light += "; within the required PPFD " + hoursText(s.BandH)
	}
	out := []string{
		fmt.Sprintf("Day (%s, %s).", which, d.Case), light + ".",
		fmt.Sprintf("%s; maximum mains input %s.", energy, quantity.Format(s.MaxMainsW, quantity.Power)),
		fmt.Sprintf("Maximum T_j %s, heat sink %s.", kelvin(s.MaxJunction), kelvin(s.MaxSinkK)),
	}
	if s.MinCCTK > 0 {
		out = append(out, fmt.Sprintf("CCT while bright: %.0f K to %.0f K.", s.MinCCTK, s.MaxCCTK))
	}
	return out
}

func hoursText(h float64) string { return fmt.Sprintf("%.1f h", h) }

// dayTableS is the distance of the rows of a table of the day [s].
const dayTableS = 3600

// DayTable returns a day hour by hour, and at its turning points.
func DayTable(r *figure.Evaluation, d *study.Day) Table {
	texts := DayTexts(r, d)
	t := Table{
		Title: "Day", Text: strings.Join(texts[1:], " "), Notes: d.Notes,
		Head: []string{"time", "PPFD", "DLI so far", "CCT", "Duv", "mains", "heat sink", "maximum T_j"},
	}
	for _, c := range d.Channels {
		t.Head = append(t.Head, c.Name)
	}
	for k, s := range d.TimesS {
		if math.Mod(s, dayTableS) != 0 {
			continue
		}
		cct, duv := "–", "–"
		if d.CCTK[k] > 0 {
			cct, duv = fmt.Sprintf("%.0f K", d.CCTK[k]), quantity.Signed(d.Duv[k], 4)
		}
		row := []string{
			day.FormatClock(s), quantity.Format(d.PPFD[k], quantity.PPFD), quantity.Format(d.DLI[k], quantity.DLI),
			cct, duv, quantity.Format(d.MainsW[k], quantity.Power), kelvin(d.SinkK[k]), kelvin(d.JunctionK[k]),
		}
		for _, c := range d.Channels {
			row = append(row, fmt.Sprintf("%.1f %%", 100*c.Levels[k]))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// DayPicture draws a day.
func DayPicture(r *figure.Evaluation, d *study.Day, id string, widthPx float64) draw.Picture {
	p := draw.Day{ID: id, Title: "The lamp over its day", Colours: d.Colours, Width: widthPx, StripAt: len(d.Channels)}
	for _, s := range d.TimesS {
		p.Hours = append(p.Hours, s/3600)
	}
	colours := channelColours(r)
	for _, c := range d.Channels {
		p.Lanes = append(p.Lanes, draw.DayLane{
			Name: c.Name, Note: "level", Value: fmt.Sprintf("%.0f %%", 100*slices.Max(c.Levels)), Y: c.Levels, High: 1,
			Colour: colours[c.Name], Filled: true,
		})
	}
	s, want := &d.Sums, &r.Lamp.Design.Requirements
	celsius := func(kelvin []float64) []float64 {
		out := make([]float64, len(kelvin))
		for k, v := range kelvin {
			out[k] = v - 273.15
		}
		return out
	}
	low := math.Floor(slices.Min(d.SinkK) - 273.15)
	p.Lanes = append(p.Lanes,
		draw.DayLane{
			Name: "PPFD", Note: "at the target", Value: quantity.Format(s.MaxPPFD, quantity.PPFD), Y: d.PPFD,
			Filled: true,
			Least:  want.PPFD.Lo, Most: bounded(want.PPFD.Hi),
		},
		draw.DayLane{
			Name: "Daily light", Note: "since midnight", Value: quantity.Format(s.DLI, quantity.DLI), Y: d.DLI,
			Least: want.DLI.Lo, Most: bounded(want.DLI.Hi),
		},
		draw.DayLane{
			Name: "Mains input", Note: fmt.Sprintf("%.3g kWh a day", s.EnergyKWh),
			Value: quantity.Format(s.MaxMainsW, quantity.Power), Y: d.MainsW, Filled: true,
		},
		draw.DayLane{
			Name: "Temperature", Note: "junction, sink", Value: kelvin(s.MaxJunction), Y: celsius(d.JunctionK),
			Second: celsius(d.SinkK), Low: low,
		},
	)
	return draw.DayPicture(p)
}

// bounded returns a limit, 0 where it is infinite.
func bounded(limit float64) float64 {
	if math.IsInf(limit, 0) {
		return 0
	}
	return limit
}

// DayCSV writes a day as a table for a spreadsheet or for another controller, one row a minute where the day was asked
// for so: seconds of the local clock, levels of the channels from 0 to 1, light, power and temperatures.
func DayCSV(w io.Writer, d *study.Day) error {
	head := []string{"time", "second"}
	for _, c := range d.Channels {
		head = append(head, "level "+c.Name)
	}
	head = append(head, "PPFD umol/m2/s", "DLI mol/m2", "CCT K", "Duv", "mains W", "sink C", "junction C")
	rows := [][]string{head}
	for k, s := range d.TimesS {
		row := []string{day.FormatClock(s), fmt.Sprintf("%.0f", s)}
		for _, c := range d.Channels {
			row = append(row, fmt.Sprintf("%.5f", c.Levels[k]))
		}
		for _, v := range []float64{
			d.PPFD[k], d.DLI[k], d.CCTK[k], d.Duv[k], d.MainsW[k], d.SinkK[k] - 273.15, d.JunctionK[k] - 273.15,
		} {
			row = append(row, fmt.Sprintf("%.5g", v))
		}
		rows = append(rows, row)
	}
	return writeCSV(w, rows)
}
