package cli

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"

	"lampwright/internal/atomicfile"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type dayCmd struct {
	Path  string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Date  string `placeholder:"DATE" help:"Date with its clouds, moon, sun and acclimation, such as 2031-05-04; default: the reference day."`
	Case  string `enum:"typical,max-ambient,fan-failure,max-ambient-fan-failure" default:"typical" help:"Ambient temperature and fan state: typical, max-ambient, fan-failure or max-ambient-fan-failure."`
	Year  int    `placeholder:"YEAR" help:"Energy and DLI over the local days of a year, such as 2031."`
	Above string `placeholder:"PPFD" help:"Report the hours above a PPFD at the target, such as \"50 µmol/m²/s\"."`
	SVG   string `name:"svg" placeholder:"FILE" help:"Write a diagram of levels, colour, light, power and temperatures."`
	CSV   string `name:"csv" placeholder:"FILE" help:"Write the day minute by minute as a table."`
	JSON  bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Years that the clock of a programme is known for.
const (
	minYear = 1970
	maxYear = 2135
)

// Run computes the lamp over its day, or over a year of days.
func (c *dayCmd) Run(r *run) error {
	if c.Year != 0 && (c.SVG != "" || c.CSV != "" || c.Date != "") {
		return fmt.Errorf("--year sums the days of a year; use it without --date, --svg and --csv")
	}
	if c.Year != 0 && (c.Year < minYear || c.Year > maxYear) {
		return fmt.Errorf("--year: %d is outside %d to %d", c.Year, minYear, maxYear)
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	if have := casesOf(result); !slices.Contains(have, c.Case) {
		return fmt.Errorf("case %s needs a fan; the cases of this lamp are %s", c.Case, strings.Join(have, ", "))
	}
	if c.Year != 0 {
		return c.year(r, result)
	}
	q := study.DayRequest{Date: c.Date, Case: engine.CaseKey(c.Case)}
	if c.Above != "" {
		if q.Above, err = quantity.ParseUnambiguous(c.Above, quantity.PPFD); err != nil {
			return fmt.Errorf("--above: %w", err)
		}
		if q.Above < 0 {
			return fmt.Errorf("--above: %s is below zero", c.Above)
		}
	}
	d, err := study.DayOf(r.ctx, result, q)
	if err != nil {
		return err
	}
	if err := c.files(result, d); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, d)
	}
	for _, line := range report.DayTexts(result, d) {
		r.prose("", line)
	}
	if c.Above != "" {
		r.prose("", fmt.Sprintf("Above %s: %.2f h.", quantity.Format(q.Above, quantity.PPFD), d.Sums.AboveH))
	}
	table := report.DayTable(result, d)
	r.printTable(table)
	for _, file := range []string{c.SVG, c.CSV} {
		if file != "" {
			r.println("wrote " + file)
		}
	}
	return nil
}

// files writes the diagram and the table.
func (c *dayCmd) files(result *figure.Evaluation, d *study.Day) error {
	if c.SVG != "" {
		const widthPx = 900
		if err := atomicfile.Save(c.SVG, report.DayPicture(result, d, "day", widthPx).File()); err != nil {
			return err
		}
	}
	if c.CSV == "" {
		return nil
	}
	var b bytes.Buffer
	if err := report.DayCSV(&b, d); err != nil {
		return err
	}
	return atomicfile.Save(c.CSV, b.Bytes())
}

// year prints a year of days by months.
func (c *dayCmd) year(r *run, result *figure.Evaluation) error {
	y, err := study.YearOf(r.ctx, result, c.Year)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, y)
	}
	line := fmt.Sprintf("Year %d in %s: %.0f h, %.1f kWh", y.Year, y.Zone, y.Hours, y.TotalKWh)
	if y.Cost > 0 {
		line += ", " + quantity.Format(y.Cost, quantity.Money)
	}
	r.prose("", line+".")
	r.prose("", fmt.Sprintf("DLI: mean %s, %s to %s.", quantity.Format(y.MeanDLI, quantity.DLI),
		quantity.Format(y.MinDLI, quantity.DLI), quantity.Format(y.MaxDLI, quantity.DLI)))
	for _, x := range []struct {
		what  string
		dates []string
	}{{"Short", y.ShortDays}, {"Long", y.LongDays}} {
		if len(x.dates) > 0 {
			r.prose("", x.what+" days of the local clock: "+strings.Join(x.dates, ", ")+".")
		}
	}
	t := r.table("month", "DLI, mean", "energy")
	for month := time.January; month <= time.December; month++ {
		days, dli, kWh := 0.0, 0.0, 0.0
		for i, date := range y.Dates {
			if strings.HasPrefix(date, fmt.Sprintf("%04d-%02d-", y.Year, month)) {
				days, dli, kWh = days+1, dli+y.DLI[i], kWh+y.EnergyKWh[i]
			}
		}
		t.row(month.String(), quantity.Format(dli/days, quantity.DLI), fmt.Sprintf("%.1f kWh", kWh))
	}
	t.print()
	return nil
}
