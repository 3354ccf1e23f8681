package cli

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/raytrace"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type traceCmd struct {
	Path          string  `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	StdError      float64 `default:"0.5" help:"Required standard error of the light at the target, in percent."`
	MaxRays       int     `default:"4000000" help:"Maximum rays per emitter type; the trace ends earlier when the standard error is reached."`
	Seed          uint64  `placeholder:"N" help:"Seed of the random numbers; equal seeds give equal results on every machine."`
	GlassInterior bool    `help:"Follow light inside the glass, too; it is lost at the edges."`
	JSON          bool    `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run traces the light of a lamp through its surroundings.
func (c *traceCmd) Run(r *run) error {
	if !(c.StdError > 0) || c.MaxRays < 1 {
		return fmt.Errorf("--std-error and --max-rays must be above zero")
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	t, err := study.TraceLight(r.ctx, result, study.TraceOptions{
		GlassInterior: c.GlassInterior, RelErr: c.StdError / 100, MaxPaths: c.MaxRays, Seed: c.Seed,
		Progress: r.partialProgress("ray bundles"),
	})
	r.clearProgress()
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(r, t)
	} else {
		printTrace(r, t)
	}
	if err == nil && r.ctx.Err() != nil {
		return r.ctx.Err() // the result before Ctrl-C has been printed
	}
	return err
}

// plusMinus formats an estimate with its standard error.
func plusMinus(e raytrace.Estimate, dim quantity.Dim) string {
	return quantity.FormatError(e.Value, e.Err, dim)
}

// sharePM formats a fraction with its standard error, both in percent.
func sharePM(e raytrace.Estimate) string {
	if e == (raytrace.Estimate{}) {
		return "–"
	}
	v := 100 * e.Value
	if math.Abs(v) < 0.005 {
		v = 0 // not -0.00
	}
	return fmt.Sprintf("%.2f ± %.2f %%", v, 100*e.Err)
}

func printTrace(r *run, t *study.TracedLight) {
	state := ""
	if !t.Complete {
		state = "; stopped before the required standard error"
	}
	r.prose("", fmt.Sprintf("%d rays with %d segments, %d bands, seed %d%s", t.Paths, t.Segments, t.Bands, t.Seed, state))
	r.prose("", "± is one standard error.")
	r.println("")
	r.prose("", "Losses, as fractions of the light after the lenses:")
	ledgerTable(r, t, func(l *study.EnergyBalance) []study.BalanceLine { return l.Fates })
	r.prose("", fmt.Sprintf("each column sums to 100 %%; maximum deviation %.1e", math.Abs(t.Balance)))
	r.println("")
	r.prose("", "Surfaces passed, all reflections counted:")
	ledgerTable(r, t, func(l *study.EnergyBalance) []study.BalanceLine { return l.Flows })
	r.println("")
	tb := r.table("light on", "mean PPFD", "mean illuminance", "maximum cell", "fraction of the light")
	for _, x := range t.Receivers {
		tb.row(x.Name, plusMinus(x.PPFD, quantity.PPFD), plusMinus(x.Lux, quantity.Illuminance), plusMinus(x.MostLux, quantity.Illuminance), sharePM(x.Share))
	}
	tb.print()
	if len(t.Meters) > 0 {
		tb = r.table("meter", "PAR", "lux")
		for _, m := range t.Meters {
			tb.row(m.Name, plusMinus(m.PPFD, quantity.PPFD), plusMinus(m.Lux, quantity.Illuminance))
		}
		tb.print()
	}
	if e := t.Eye; e != nil {
		if e.Visible > 0 {
			r.prose("", fmt.Sprintf("viewer: %d emitters visible, brightest lens %s at %s; illuminance at the eye %s direct, %s indirect",
				e.Visible, e.Brightest, luminance(e.Luminance), quantity.Format(e.DirectLux, quantity.Illuminance), plusMinus(e.IndirectLux, quantity.Illuminance)))
		} else {
			r.prose("", fmt.Sprintf("viewer: no lens visible, hidden by %s; illuminance at the eye %s indirect", e.Hidden, plusMinus(e.IndirectLux, quantity.Illuminance)))
		}
	}
	printDepth(r, t)
	printAgreement(r, t)
	if t.Glass != nil {
		r.prose("", fmt.Sprintf("glass of real thickness changes the light at the target by %s compared with reflection at its inner face", sharePM(*t.Glass)))
	}
	if len(t.Left) > 0 {
		r.prose("", "not modelled in the maps: "+commas(t.Left))
	}
	for _, n := range t.Notes {
		r.note(n)
	}
}

// printDepth prints the light against depth.
func printDepth(r *run, t *study.TracedLight) {
	if len(t.Depth) == 0 {
		return
	}
	r.println("")
	tb := r.table("depth", "mean PPFD", "P10", "median", "P90", "mean illuminance")
	for _, d := range t.Depth {
		tb.row(quantity.Format(d.DepthM, quantity.Length), quantity.Format(d.Mean, quantity.PPFD), quantity.Format(d.P10, quantity.PPFD), quantity.Format(d.P50, quantity.PPFD), quantity.Format(d.P90, quantity.PPFD), quantity.Format(d.Lux, quantity.Illuminance))
	}
	tb.print()
}

// printAgreement compares the maps with the trace.
func printAgreement(r *run, t *study.TracedLight) {
	r.println("")
	r.prose("", "Deterministic maps (image method), as used by the review, compared with the trace:")
	tb := r.table("quantity", "map", "trace", "difference", "")
	for _, a := range t.Agreement {
		dim := quantity.PPFD
		if a.Unit == "1" {
			dim = quantity.Ratio
		}
		apart := fmt.Sprintf("%+.1f σ", a.Sigmas)
		if a.Traced.Value != 0 { // no light: nothing to compare with
			apart += fmt.Sprintf(", %+.2f %%", 100*(a.Mapped/a.Traced.Value-1))
		}
		tb.row(a.What, quantity.Format(a.Mapped, dim), plusMinus(a.Traced, dim), apart, a.Because)
	}
	tb.print()
}

// luminance formats a luminance [cd/m²].
func luminance(l float64) string {
	if l >= 1e6 {
		return fmt.Sprintf("%.3g Mcd/m²", l/1e6)
	}
	return fmt.Sprintf("%.3g kcd/m²", l/1e3)
}

func commas(list []string) string {
	out := ""
	for i, s := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			out += " and "
		default:
			out += ", "
		}
		out += s
	}
	return out
}

// ledgerTable prints one part of the energy balances of all channels.
func ledgerTable(r *run, t *study.TracedLight, of func(*study.EnergyBalance) []study.BalanceLine) {
	head := []string{""}
	var names []string
	seen := map[string]bool{}
	shares := make([]map[string]raytrace.Estimate, len(t.Ledgers))
	for i := range t.Ledgers {
		l := &t.Ledgers[i]
		name := l.Channel
		if name == "" {
			name = "all"
		}
		head = append(head, name)
		shares[i] = map[string]raytrace.Estimate{}
		for _, f := range of(l) {
			shares[i][f.Name] = f.Share
			if !seen[f.Name] {
				seen[f.Name] = true
				names = append(names, f.Name)
			}
		}
	}
	tb := r.table(head...)
	watts := []string{"after the lenses"}
	for i := range t.Ledgers {
		watts = append(watts, quantity.Format(t.Ledgers[i].Watts, quantity.Power))
	}
	tb.row(watts...)
	for _, n := range names {
		row := []string{n}
		for i := range shares {
			row = append(row, sharePM(shares[i][n]))
		}
		tb.row(row...)
	}
	tb.print()
}

// tracedTables returns the sections of a report on the traced light.
func (r *run) tracedTables(result *figure.Evaluation) ([]report.Table, error) {
	t, err := study.TraceLight(r.ctx, result, study.TraceOptions{Progress: r.progress("ray bundles")})
	r.clearProgress()
	if err = errors.Join(err, r.ctx.Err()); err != nil {
		return nil, err // a report of a trace that was stopped would not say so
	}
	var out []report.Table
	if len(t.Depth) > 0 {
		d := report.Table{Title: "Light against depth", Text: "On level planes in the water, image method.", Picture: report.DepthPicture(t.Depth), Head: []string{"depth", "mean PPFD", "P10", "P90", "mean illuminance"}}
		for _, p := range t.Depth {
			d.Rows = append(d.Rows, []string{quantity.Format(p.DepthM, quantity.Length), quantity.Format(p.Mean, quantity.PPFD), quantity.Format(p.P10, quantity.PPFD), quantity.Format(p.P90, quantity.PPFD), quantity.Format(p.Lux, quantity.Illuminance)})
		}
		out = append(out, d)
	}
	l := report.Table{
		Title: "Losses of the traced light", Head: []string{""}, Notes: t.Notes,
		Text: fmt.Sprintf("Fractions of the light after the lenses, from %d rays; ± is one standard error. Each column sums to 100 %%.", t.Paths),
	}
	at := map[string]int{}
	for i := range t.Ledgers {
		name := t.Ledgers[i].Channel
		if name == "" {
			name = "all"
		}
		l.Head = append(l.Head, name)
		for _, f := range t.Ledgers[i].Fates {
			k, ok := at[f.Name]
			if !ok {
				k = len(l.Rows)
				at[f.Name] = k
				row := make([]string, len(t.Ledgers)+1)
				row[0] = f.Name
				l.Rows = append(l.Rows, row)
			}
			l.Rows[k][i+1] = sharePM(f.Share)
		}
	}
	a := report.Table{Title: "Maps compared with traced light", Text: "Two methods for the same results: deterministic image method and Monte Carlo.", Head: []string{"quantity", "map", "trace", "difference"}}
	for _, x := range t.Agreement {
		dim := quantity.PPFD
		if x.Unit == "1" {
			dim = quantity.Ratio
		}
		a.Rows = append(a.Rows, []string{x.What, quantity.Format(x.Mapped, dim), plusMinus(x.Traced, dim), fmt.Sprintf("%+.1f standard errors", x.Sigmas)})
	}
	if len(t.Left) > 0 {
		a.Notes = append(a.Notes, "not modelled in the maps: "+commas(t.Left))
	}
	return append(out, l, a), nil
}
