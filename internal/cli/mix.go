package cli

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/design"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

type mixCmd struct {
	Path     string            `arg:"" optional:"" default:"." help:"Project folder or design file; the folder you are in if not given."`
	CCT      string            `name:"cct" help:"Colour temperature of the lamp, such as 5000K; that of the design's wishes if not given."`
	Duv      string            `help:"Distance from the Planckian locus, such as -0.003, below it; the nominal colour of lamps if not given."`
	XY       string            `name:"xy" help:"Chromaticity in place of a colour temperature, such as 0.31,0.33."`
	PPFD     string            `name:"ppfd" help:"Mean photon flux density at the target, such as \"60 µmol/m²/s\" (umol/m2/s does, too); that of the design's wishes if not given."`
	Lux      string            `help:"Mean illuminance at the target in place of PPFD, such as 4000lx."`
	Ra       string            `name:"ra" help:"Least colour rendering; that of the design's wishes if not given."`
	Rf       string            `name:"rf" help:"Least colour fidelity; that of the design's wishes if not given."`
	Best     string            `enum:"power,light,ra,rf" default:"power" help:"What to make of the freedom that is left: least power, most light, best ra or best rf."`
	Least    map[string]string `placeholder:"CHANNEL=LEVEL" help:"Least level of a channel, such as white=20%."`
	Most     map[string]string `placeholder:"CHANNEL=LEVEL" help:"Greatest level of a channel, such as blue=50%."`
	Dawn     bool              `help:"Print the path from dawn to noon; for dusk read it backwards."`
	FirstCCT string            `name:"first" default:"2200 K" help:"Colour temperature of first light, for --dawn."`
	Steps    int               `default:"12" help:"Mixes on the way, for --dawn."`
	JSON     bool              `name:"json" help:"Print as JSON."`
}

// Run prints the dimming levels that come nearest to a wish; its status is 1 where the wish is not met.
func (c *mixCmd) Run(r *run) error {
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	wish, words, err := c.wish(p.Design.Requirements)
	if err != nil {
		return err
	}
	first, err := quantity.Parse(c.FirstCCT, quantity.CCT)
	if err != nil {
		return fmt.Errorf("--first: %w", err)
	}
	if c.Dawn && wish.CCTK == 0 {
		return fmt.Errorf("--dawn needs a colour temperature at noon; give --cct, such as --cct 5500K")
	}
	result, err := design.Evaluate(r.ctx, p, design.Options{Samples: -1, Store: r.store(c.Path)})
	if err != nil {
		return err
	}
	for _, limits := range []map[string]float64{wish.Least, wish.Most} {
		for name := range limits {
			if err := knownChannel(result, name); err != nil {
				return err
			}
		}
	}
	if c.Dawn {
		return c.dawn(r, result, wish, words, first)
	}
	m, err := result.Mix(wish)
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

func knownChannel(r *design.Result, name string) error {
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

// wish reads the flags, and takes from the design what they leave open; words say it again.
func (c *mixCmd) wish(w project.Requirements) (out design.MixWish, words string, err error) {
	var said []string
	number := func(flag, text string, dim quantity.Dim, own source.Value, to *float64, say string) {
		if err != nil {
			return
		}
		switch {
		case text != "":
			if *to, err = quantity.Parse(text, dim); err != nil {
				err = fmt.Errorf("--%s: %w", flag, err)
			} else if *to <= 0 {
				err = fmt.Errorf("--%s: %s is not above zero", flag, text)
			}
			said = append(said, fmt.Sprintf(say, quantity.Format(*to, dim)))
		case own.Set:
			*to = own.SI
			said = append(said, fmt.Sprintf(say, quantity.Format(*to, dim))+" (as the design wants)")
		}
	}
	none := source.Value{}
	out.Duv = math.NaN()
	if c.XY != "" {
		if c.CCT != "" || c.Duv != "" {
			return out, "", fmt.Errorf("--xy stands in place of --cct and --duv; give one of them")
		}
		x, y, ok := strings.Cut(c.XY, ",")
		var errX, errY error
		out.XY.X, errX = strconv.ParseFloat(strings.TrimSpace(x), 64)
		out.XY.Y, errY = strconv.ParseFloat(strings.TrimSpace(y), 64)
		if !ok || errX != nil || errY != nil {
			return out, "", fmt.Errorf("--xy: %q is no chromaticity; write --xy 0.31,0.33", c.XY)
		}
		said = append(said, fmt.Sprintf("x = %.4g, y = %.4g", out.XY.X, out.XY.Y))
	} else {
		number("cct", c.CCT, quantity.CCT, w.CCT, &out.CCTK, "%s")
		if err == nil && out.CCTK == 0 {
			return out, "", fmt.Errorf("say which colour you want: --cct 5000K, or --xy 0.31,0.33, or cct under wanted in the design")
		}
	}
	if c.Duv != "" && err == nil {
		if out.Duv, err = quantity.Parse(c.Duv, quantity.None); err != nil {
			return out, "", fmt.Errorf("--duv: %w", err)
		}
		said = append(said, fmt.Sprintf("Duv %+.4f", out.Duv))
	}
	if c.Lux != "" && c.PPFD != "" {
		return out, "", fmt.Errorf("--lux and --ppfd both say how much; give one of them")
	}
	number("lux", c.Lux, quantity.Illuminance, none, &out.Lux, "%s at the target")
	wantPPFD := w.PPFD
	if c.Lux != "" || c.Best == "light" {
		wantPPFD = none
	}
	number("ppfd", c.PPFD, quantity.PPFD, wantPPFD, &out.PPFD, "%s at the target")
	number("ra", c.Ra, quantity.None, w.Ra, &out.MinRa, "Ra of %s or more")
	number("rf", c.Rf, quantity.None, w.Rf, &out.MinRf, "Rf of %s or more")
	out.Goal = map[string]colour.Goal{"power": colour.LeastPower, "light": colour.MostLight, "ra": colour.BestRa, "rf": colour.BestRf}[c.Best]
	said = append(said, map[string]string{"power": "the least power", "light": "the most light", "ra": "the best Ra", "rf": "the best Rf"}[c.Best])
	for _, limits := range []struct {
		flag string
		from map[string]string
		to   *map[string]float64
	}{{"least", c.Least, &out.Least}, {"most", c.Most, &out.Most}} {
		*limits.to = map[string]float64{}
		for _, name := range slices.Sorted(maps.Keys(limits.from)) {
			if err != nil {
				break
			}
			var level float64
			if level, err = quantity.Parse(limits.from[name], quantity.Ratio); err == nil && (level < 0 || level > 1) {
				err = fmt.Errorf("%s lies outside 0 %% to 100 %%", limits.from[name])
			}
			if err != nil {
				err = fmt.Errorf("--%s %s: %w", limits.flag, name, err)
			}
			(*limits.to)[name] = level
			said = append(said, fmt.Sprintf("%s at %s %s", name, limits.flag, percent(level)))
		}
	}
	for name, level := range out.Least {
		if most, ok := out.Most[name]; ok && most < level && err == nil {
			err = fmt.Errorf("--least and --most of %s contradict each other", name)
		}
	}
	return out, strings.Join(said, ", "), err
}

// printMix prints levels in a form that can be put into the design.
func printMix(r *run, result *design.Result, m design.Mix, words string) {
	r.println("wish: " + wrap(words, textWidth, 6))
	r.println("")
	t := newTable("channel", "level", "now", "light", "driver, while on")
	for _, ch := range m.Channels {
		level := percent(ch.Level)
		if ch.Level == 0 {
			level = "off"
		}
		how := quantity.Format(ch.Amps, quantity.Current)
		if ch.Dimming != "" {
			how += ", dims by " + ch.Dimming
		}
		if ch.Level == 0 {
			how = "–"
		}
		t.Row(ch.Name, level, percent(ch.Designs), percent(ch.Light), how)
	}
	r.println(t.String())
	r.println("so: " + wrap(mixText(result, m), textWidth, 4))
	for _, n := range m.Notes {
		r.println(marksNote(n))
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

// mixText says what a mix does.
func mixText(result *design.Result, m design.Mix) string {
	colourText := fmt.Sprintf("x = %.4f, y = %.4f, no colour temperature", m.XY.X, m.XY.Y)
	if m.CCTK > 0 {
		colourText = fmt.Sprintf("%s with Duv %+.4f (x = %.4f, y = %.4f), Ra %.0f, Rf %.0f", quantity.Format(m.CCTK, quantity.CCT), m.Duv, m.XY.X, m.XY.Y, m.Ra, m.Rf)
	}
	return fmt.Sprintf("%s; %s and %s at the %s; %s at the wall; hottest junction on the usual day %s",
		colourText, quantity.Format(m.PPFD, quantity.PPFD), quantity.Format(m.Lux, quantity.Illuminance), result.Target.Title, quantity.Format(m.WallW, quantity.Power), temp(m.JunctionK))
}

// dawn prints the path from first light to noon.
func (c *mixCmd) dawn(r *run, result *design.Result, w design.MixWish, words string, firstK float64) error {
	path, err := result.Dawn(w, firstK, c.Steps)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, path)
	}
	r.println("noon: " + wrap(words, textWidth, 6))
	r.println("")
	head := []string{"step", "colour", "Duv", "off by", "Ra", "PPFD", "lux"}
	for _, ch := range path[0].Channels {
		head = append(head, ch.Name)
	}
	t := newTable(head...)
	off := false
	for i, m := range path {
		colourText := "–"
		if m.CCTK > 0 {
			colourText = quantity.Format(m.CCTK, quantity.CCT)
		}
		steps := ""
		if m.StepsOff > 0.5 {
			steps, off = fmt.Sprintf("%.0f steps", m.StepsOff), true
		}
		row := []string{fmt.Sprint(i + 1), colourText, fmt.Sprintf("%+.4f", m.Duv), steps, fmt.Sprintf("%.0f", m.Ra), quantity.Format(m.PPFD, quantity.PPFD), quantity.Format(m.Lux, quantity.Illuminance)}
		for _, ch := range m.Channels {
			row = append(row, percent(ch.Level))
		}
		t.Row(row...)
	}
	r.println(t.String())
	if off {
		r.println(marksNote("where it says that a colour is off by some steps of visible difference, the channels cannot make it; the nearest is shown"))
	}
	if !slices.ContainsFunc(path, func(m design.Mix) bool { return !m.AmountMet }) {
		return nil
	}
	r.println(marksNote("at some steps the channels do not reach their part of noon's light without leaving the colour; what they reach is shown"))
	return nil
}
