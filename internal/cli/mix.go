package cli

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

type mixCmd struct {
	Path      string            `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	CCT       string            `name:"cct" placeholder:"CCT" help:"CCT of the lamp, such as 5000K or \"5000 K ± 200 K\"; ± 5 % where no tolerance is given; default: the requirement of the design, with --sunrise its own levels."`
	Duv       string            `placeholder:"DUV" help:"Duv, such as -0.003 or \"0 ± 0.002\"; ± 0.006 where no tolerance is given; default: the requirement of the design, or 0 ± 0.006."`
	XY        string            `name:"xy" placeholder:"X,Y" help:"Chromaticity instead of a CCT, such as 0.31,0.33."`
	PPFD      string            `name:"ppfd" placeholder:"PPFD" help:"Mean PPFD at the target, such as \"60 µmol/m²/s\" or 60umol/m2/s; default: the requirement of the design."`
	Lux       string            `placeholder:"LUX" help:"Mean illuminance at the target instead of PPFD, such as 4000lx."`
	Ra        string            `name:"ra" placeholder:"RA" help:"Minimum Ra; default: the requirement of the design."`
	Rf        string            `name:"rf" placeholder:"RF" help:"Minimum Rf; default: the requirement of the design."`
	Objective string            `enum:"min-power,max-light,max-ra,max-rf" default:"min-power" help:"Quantity to optimise: min-power, max-light, max-ra or max-rf."`
	Min       map[string]string `placeholder:"CHANNEL=LEVEL" help:"Minimum level of a channel, such as white=20%."`
	Max       map[string]string `placeholder:"CHANNEL=LEVEL" help:"Maximum level of a channel, such as blue=50%."`
	Sunrise   bool              `help:"Print the steps of a sunrise up to the levels of the design, or to a colour and light level that are set; for a sunset use them in reverse order."`
	StartCCT  string            `name:"start-cct" default:"2200 K" help:"CCT at the start, for --sunrise."`
	Steps     int               `default:"12" help:"Number of steps, for --sunrise."`
	RampTime  string            `name:"ramp-time" placeholder:"TIME" help:"Time from off to full level, for --sunrise, such as 45min; default: that of the design, else 1 h."`
	MaxChange string            `name:"max-change" placeholder:"PERCENT" help:"Maximum change of a channel from step to step, relative to its full level, for --sunrise, such as 15%; default: twice an even rise."`
	JSON      bool              `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run prints the dimming levels nearest to the requirement; its status is 1 if the requirement is not met.
func (c *mixCmd) Run(r *run) error {
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	want, words, err := c.requirement(p.Design.Requirements)
	if err != nil {
		return err
	}
	sunrise, err := c.sunriseRequirement(want)
	if err != nil {
		return err
	}
	o, err := r.options(c.Path, p)
	if err != nil {
		return err
	}
	o.Samples = -1
	result, err := figure.Evaluate(r.ctx, p, o)
	if err != nil {
		return err
	}
	for _, limits := range []map[string]float64{want.Min, want.Max} {
		for name := range limits {
			if err := knownChannel(result, name); err != nil {
				return err
			}
		}
	}
	if c.Sunrise {
		return c.sunrise(r, result, sunrise, words)
	}
	m, err := study.FindMix(result, want)
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(r, m)
	} else {
		printMix(r, result, m, words)
	}
	if err == nil && !(m.InGamut && m.AmountMet && m.RenderMet) {
		return errFound
	}
	return err
}

func knownChannel(r *figure.Evaluation, name string) error {
	var names []string
	for _, ch := range r.Channels {
		if ch.Name == name {
			return nil
		}
		names = append(names, ch.Name)
	}
	hint := "its channels are " + strings.Join(names, ", ")
	if near, ok := quantity.Near(name, names); ok {
		hint = "did you mean " + near + "?"
	}
	return fmt.Errorf("this lamp has no channel %q; %s", name, hint)
}

// requirement reads the flags, completes them from the design, and returns the requirement with its text.
func (c *mixCmd) requirement(w project.Requirements) (out study.MixRequirement, words string, err error) {
	var said []string
	number := func(flag, text string, dim quantity.Dim, own source.Value, to *float64, say string) {
		if err != nil {
			return
		}
		switch {
		case text != "":
			if *to, err = quantity.ParseUnambiguous(text, dim); err != nil {
				err = fmt.Errorf("--%s: %w", flag, err)
			} else if *to <= 0 {
				err = fmt.Errorf("--%s: %s is not above zero", flag, text)
			}
			said = append(said, fmt.Sprintf(say, quantity.Format(*to, dim)))
		case own.Set:
			*to = own.SI
			said = append(said, fmt.Sprintf(say, quantity.Format(*to, dim))+" (from the design)")
		}
	}
	none := source.Value{}
	if err = c.colour(w, &out, &said); err != nil {
		return out, "", err
	}
	if c.Lux != "" && c.PPFD != "" {
		return out, "", fmt.Errorf("--lux and --ppfd exclude each other; set one of them")
	}
	number("lux", c.Lux, quantity.Illuminance, none, &out.Lux, "%s at the target")
	wantPPFD := w.PPFD
	if c.Lux != "" || c.Objective == "max-light" {
		wantPPFD = none
	}
	number("ppfd", c.PPFD, quantity.PPFD, wantPPFD, &out.PPFD, "%s at the target")
	number("ra", c.Ra, quantity.None, w.Ra, &out.MinRa, "Ra ≥ %s")
	number("rf", c.Rf, quantity.None, w.Rf, &out.MinRf, "Rf ≥ %s")
	out.Goal = map[string]colour.Goal{"min-power": colour.MinPower, "max-light": colour.MaxLight, "max-ra": colour.BestRa, "max-rf": colour.BestRf}[c.Objective]
	said = append(said, map[string]string{"min-power": "minimum power", "max-light": "maximum light", "max-ra": "maximum Ra", "max-rf": "maximum Rf"}[c.Objective])
	if err == nil {
		var limits []string
		limits, err = c.limits(&out)
		said = append(said, limits...)
	}
	return out, strings.Join(said, ", "), err
}

// colour reads the required colour.
func (c *mixCmd) colour(w project.Requirements, out *study.MixRequirement, said *[]string) (err error) {
	if c.XY != "" {
		if c.CCT != "" || c.Duv != "" {
			return fmt.Errorf("--xy replaces --cct and --duv; set one of them")
		}
		x, y, ok := strings.Cut(c.XY, ",")
		var errX, errY error
		out.XY.X, errX = strconv.ParseFloat(strings.TrimSpace(x), 64)
		out.XY.Y, errY = strconv.ParseFloat(strings.TrimSpace(y), 64)
		if !ok || errX != nil || errY != nil {
			return fmt.Errorf("--xy: %q is not a chromaticity; write --xy 0.31,0.33", c.XY)
		}
		*said = append(*said, fmt.Sprintf("x = %.4g, y = %.4g", out.XY.X, out.XY.Y))
		return nil
	}
	// band reads a flag in place of a requirement of the design, and returns where a value comes from.
	band := func(flag, text string, dim quantity.Dim, to *source.Value) (from string, err error) {
		if text == "" {
			return " (from the design)", nil
		}
		if to.SI, to.Lo, to.Hi, err = quantity.ParseTolerance(text, dim); err != nil {
			return "", fmt.Errorf("--%s: %w", flag, err)
		}
		to.Set = true
		return "", nil
	}
	cctFrom, err := band("cct", c.CCT, quantity.CCT, &w.CCT)
	if err != nil {
		return err
	}
	duvFrom, err := band("duv", c.Duv, quantity.None, &w.Duv)
	if err != nil {
		return err
	}
	if !w.CCT.Set {
		if c.Sunrise && c.Duv == "" {
			return nil // the levels of the design
		}
		return fmt.Errorf("colour not stated; set --cct 5000K or --xy 0.31,0.33, or cct in the requirements of the " +
			"design")
	}
	cct := w.Colour()
	duv, stated := w.Whiteness()
	if !stated {
		duvFrom = " (not stated, assumed: ANSI C78.377)"
	}
	out.CCT, out.Duv = colour.Band{Lo: cct.Lo, Hi: cct.Hi}, colour.Band{Lo: duv.Lo, Hi: duv.Hi}
	*said = append(*said, fmt.Sprintf("CCT %s to %s%s", quantity.Format(cct.Lo, quantity.CCT),
		quantity.Format(cct.Hi, quantity.CCT), cctFrom),
		fmt.Sprintf("Duv %s to %s%s", quantity.Signed(duv.Lo, 4), quantity.Signed(duv.Hi, 4), duvFrom))
	return nil
}

// limits reads --min and --max into the requirement, and returns them as text.
func (c *mixCmd) limits(out *study.MixRequirement) (said []string, err error) {
	for _, limits := range []struct {
		flag string
		from map[string]string
		to   *map[string]float64
	}{{"min", c.Min, &out.Min}, {"max", c.Max, &out.Max}} {
		*limits.to = map[string]float64{}
		for _, name := range slices.Sorted(maps.Keys(limits.from)) {
			if err != nil {
				break
			}
			var level float64
			if level, err = quantity.Parse(limits.from[name], quantity.Ratio); err == nil && (level < 0 || level > 1) {
				err = fmt.Errorf("%s is outside 0 %% to 100 %%", limits.from[name])
			}
			if err != nil {
				err = fmt.Errorf("--%s %s: %w", limits.flag, name, err)
			}
			(*limits.to)[name] = level
			said = append(said, fmt.Sprintf("%s %s %s", name, limits.flag, percent(level)))
		}
	}
	for name, level := range out.Min {
		if most, ok := out.Max[name]; ok && most < level && err == nil {
			err = fmt.Errorf("--min of %s is above its --max", name)
		}
	}
	return said, err
}

// printMix prints levels as YAML for the design, too.
func printMix(r *run, result *figure.Evaluation, m study.Mix, words string) {
	r.prose("required: ", words)
	r.println("")
	t := r.table("channel", "level", "in design", "light", "driver output, on-state")
	for _, ch := range m.Channels {
		level := percent(ch.Level)
		if ch.Level == 0 {
			level = "off"
		}
		how := quantity.Format(ch.Amps, quantity.Current)
		if ch.Dimming != "" {
			how += ", dimming: " + ch.Dimming
		}
		if ch.Level == 0 {
			how = "–"
		}
		t.row(ch.Name, level, percent(ch.Designs), percent(ch.Light), how)
	}
	t.print()
	r.prose("result: ", mixText(result, m))
	for _, n := range m.Notes {
		r.note(n)
	}
	r.println("")
	r.println("for the design:")
	for _, ch := range m.Channels {
		r.println("  - name: " + ch.Name)
		r.println("    level: " + percent(ch.Level))
	}
}

func percent(share float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(100*share, 'f', 1, 64), ".0") + " %"
}

// mixText describes the light of a mix.
func mixText(result *figure.Evaluation, m study.Mix) string {
	colourText := fmt.Sprintf("x = %.4f, y = %.4f, CCT undefined", m.XY.X, m.XY.Y)
	if m.CCTK > 0 {
		colourText = fmt.Sprintf("%s with Duv %s (x = %.4f, y = %.4f), Ra %.0f, Rf %.0f",
			quantity.Format(m.CCTK, quantity.CCT), quantity.Signed(m.Duv, 4), m.XY.X, m.XY.Y, m.Ra, m.Rf)
		if m.Tint != colour.NoTint {
			colourText += " (visibly " + string(m.Tint) + ")"
		}
	}
	return fmt.Sprintf("%s; %s and %s at the %s; mains input power %s; maximum T_j %s (typical ambient)",
		colourText, quantity.Format(m.PPFD, quantity.PPFD), quantity.Format(m.Lux, quantity.Illuminance), result.Target.Title, quantity.Format(m.WallW, quantity.Power), temp(m.JunctionK))
}

// sunriseRequirement reads the flags of a sunrise. Full level is that of the design, or a mix where a colour or a light
// level is set.
func (c *mixCmd) sunriseRequirement(full study.MixRequirement) (out study.SunriseRequirement, err error) {
	out.Steps, out.Max = c.Steps, full.Max
	if c.CCT != "" || c.Duv != "" || c.XY != "" || c.PPFD != "" || c.Lux != "" {
		out.Full = &full
	}
	if out.StartK, err = quantity.Parse(c.StartCCT, quantity.CCT); err != nil {
		return out, fmt.Errorf("--start-cct: %w", err)
	}
	if c.RampTime != "" {
		out.RampS, err = quantity.ParseUnambiguous(c.RampTime, quantity.Time)
		if err == nil && !(out.RampS > 0 && out.RampS <= 86400) {
			err = fmt.Errorf("%s is outside 0 h to 24 h", c.RampTime)
		}
		if err != nil {
			return out, fmt.Errorf("--ramp-time: %w", err)
		}
	}
	if c.MaxChange != "" {
		if out.Change, err = quantity.Parse(c.MaxChange, quantity.Ratio); err == nil && !(out.Change > 0) {
			err = fmt.Errorf("%s is not above zero", c.MaxChange)
		}
		if err != nil {
			return out, fmt.Errorf("--max-change: %w", err)
		}
	}
	return out, nil
}

// sunrise prints the steps from off to full level.
func (c *mixCmd) sunrise(r *run, result *figure.Evaluation, w study.SunriseRequirement, words string) error {
	path, err := study.FindSunrise(result, w)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, path)
	}
	if w.Full == nil {
		words = "levels of the design"
	}
	r.prose("full level: ", words)
	r.println("")
	table := report.SunriseTable(&path)
	r.printTable(table)
	return nil
}
