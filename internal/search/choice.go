package search

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// maxCompanions is the number of changes that go with a choice, and widest that of the sets of them that are continued
// where none clears a stop by itself: choices of this program.
const (
	maxCompanions = 4
	widest        = 3
)

// Choice is a change of a design with what it requires elsewhere, as one change.
type Choice struct {
	Sets       []source.Setting // the change and its companions
	Companions []Companion
	Before     Count // as the review lists them
	After      Count
	Clears     []Found // that were worse before
	Brings     []Found // that were better before
	PriceEUR   float64 // change of the parts cost
	Result     *figure.Evaluation
}

// Companion is a change that a choice requires.
type Companion struct {
	Words string           `json:"words"`
	Sets  []source.Setting `json:"sets"`
}

// Chooser computes choices for one design. Several goroutines may share it.
type Chooser struct {
	x      *searcher
	exact  engine.Options
	before *state // as it is compared with candidates
	now    *state // as it is compared with what is chosen
}

// NewChooser evaluates a design. The ranges of figures are borrowed from another lamp, which may be nil.
func NewChooser(ctx context.Context, p *project.Project, o engine.Options,
	ranges *figure.Evaluation,
) (*Chooser, error) {
	o.Samples, o.Preview, o.Progress = -1, true, nil
	c := &Chooser{x: &searcher{o: o, ranges: ranges}, exact: o}
	c.x.o.HeatRelErr = searchHeatErr
	var err error
	if c.before, err = c.x.evaluate(ctx, p, c.x.o); err != nil {
		return nil, err
	}
	c.now, err = c.x.evaluate(ctx, p, c.exact)
	return c, err
}

// Now returns the design as it is.
func (c *Chooser) Now() *Choice {
	return &Choice{Before: c.now.findings, After: c.now.findings, Clears: []Found{}, Brings: []Found{}, Result: c.now.r}
}

// Choose evaluates a change with the companions that clear the stops it brings: supplies, fuses, wires, drivers, switch
// of the mains, thickness of the board and what else a part requires. The error is that of the context, or states why
// the lamp cannot be built or computed.
func (c *Chooser) Choose(ctx context.Context, sets []source.Setting) (*Choice, error) {
	p, err := with(c.before.project, sets)
	if err != nil {
		return nil, err
	}
	first, err := c.x.evaluate(ctx, p, c.x.o)
	if err != nil {
		return nil, err
	}
	best, err := c.accompanied(ctx, sets, &bundle{to: first})
	if err != nil {
		return nil, err
	}
	to, err := c.x.evaluate(ctx, best.to.project, c.exact)
	if err != nil {
		return nil, err
	}
	out := &Choice{
		Sets: slices.Clone(sets), Before: c.now.findings, After: to.findings, Clears: difference(to, c.now),
		Brings: difference(c.now, to), PriceEUR: to.costEUR - c.now.costEUR, Result: to.r,
	}
	for _, m := range best.moves {
		out.Sets = append(out.Sets, m.sets...)
		out.Companions = append(out.Companions, Companion{m.words, m.sets})
	}
	return out, nil
}

// bundle is a choice with some companions, evaluated.
type bundle struct {
	moves []move
	to    *state
}

// brought returns the stops and warnings that a bundle has and the design has not.
func (c *Chooser) brought(b *bundle) (stops, warnings []matter) {
	for _, f := range difference(c.before, b.to) {
		if f.Severity == finding.Stop {
			stops = append(stops, matter{f.Check, f.Subject})
		} else {
			warnings = append(warnings, matter{f.Check, f.Subject})
		}
	}
	return stops, warnings
}

// accompanied adds companions while they clear stops that the choice brings, the one that clears most first. Where none
// leaves fewer of them, a few that exchange one for another are continued: a supply for a driver overfeeds the fan
// before the fan has its own.
func (c *Chooser) accompanied(ctx context.Context, chosen []source.Setting, first *bundle) (*bundle, error) {
	best, front := first, []*bundle{first}
	for range maxCompanions {
		fewest, _ := c.brought(best)
		if len(fewest) == 0 {
			break
		}
		var next []*bundle
		for _, b := range front {
			stops, _ := c.brought(b)
			more, err := c.continued(ctx, chosen, b, stops, nil)
			if err != nil {
				return nil, err
			}
			next = append(next, more...)
		}
		slices.SortStableFunc(next, c.compare)
		if len(next) == 0 {
			break
		}
		if stops, _ := c.brought(next[0]); len(stops) < len(fewest) {
			best, front = next[0], next[:1]
			continue
		}
		front = next[:min(widest, len(next))]
	}
	return c.protected(ctx, chosen, best)
}

// protective matches the paths of what protects supplies and wires.
var protective = regexp.MustCompile(`\b(fuse|wire\.part|mains\.switch)$`)

// protected adds fuses, wires and switches while they clear warnings that the choice brings and bring no stop.
func (c *Chooser) protected(ctx context.Context, chosen []source.Setting, best *bundle) (*bundle, error) {
	for range maxCompanions {
		_, warnings := c.brought(best)
		next, err := c.continued(ctx, chosen, best, warnings, protective)
		if err != nil {
			return nil, err
		}
		slices.SortStableFunc(next, c.compare)
		if len(next) == 0 || c.compare(next[0], best) > 0 {
			break
		}
		stops, fewer := c.brought(next[0])
		if before, _ := c.brought(best); len(stops) > len(before) || len(fewer) >= len(warnings) {
			break
		}
		best = next[0]
	}
	return best, nil
}

// unswitched is how many values a lamp that stays on in the mains counts for: a change of use, not of parts.
const unswitched = 10

// compare orders bundles: fewer stops, fewer warnings, fewer values, a lower price.
func (c *Chooser) compare(a, b *bundle) int {
	sets := func(b *bundle) (n int) {
		for _, m := range b.moves {
			if n += len(m.sets); m.sets[0].Text == noSwitch {
				n += unswitched
			}
		}
		return n
	}
	stopsA, warnA := c.brought(a)
	stopsB, warnB := c.brought(b)
	return cmp.Or(
		cmp.Compare(len(stopsA), len(stopsB)), cmp.Compare(len(warnA), len(warnB)), cmp.Compare(sets(a), sets(b)),
		cmp.Compare(a.to.costEUR, b.to.costEUR),
	)
}

// continued returns a bundle with each further companion that clears one of the matters that it brings and does not
// leave more stops. only matches the paths of the companions; nil means all.
func (c *Chooser) continued(ctx context.Context, chosen []source.Setting, b *bundle, bad []matter,
	only *regexp.Regexp,
) ([]*bundle, error) {
	if len(bad) == 0 {
		return nil, nil
	}
	moves := slices.DeleteFunc(companionsOf(b.to.r), func(m move) bool {
		return !m.concerns(bad) || slices.ContainsFunc(m.sets, func(s source.Setting) bool {
			return touches(s, chosen) || only != nil && !only.MatchString(s.Path)
		})
	})
	steps, err := c.x.try(ctx, b.to, moves)
	if err != nil {
		return nil, err
	}
	stops, _ := c.brought(b)
	var out []*bundle
	for _, s := range steps {
		next := &bundle{append(slices.Clone(b.moves), s.move), s.to}
		left, _ := c.brought(next)
		after := next.to.bad
		clears := slices.ContainsFunc(bad, func(m matter) bool {
			now, there := after[m]
			return !there || now > b.to.bad[m]
		})
		if clears && len(left) <= len(stops) {
			out = append(out, next)
		}
	}
	return out, nil
}

// touches reports whether a setting changes what was chosen.
func touches(s source.Setting, chosen []source.Setting) bool {
	within := func(a, b string) bool {
		rest, ok := strings.CutPrefix(a, b)
		return ok && (rest == "" || rest[0] == '.' || rest[0] == '[')
	}
	return slices.ContainsFunc(chosen, func(c source.Setting) bool {
		return within(s.Path, c.Path) || within(c.Path, s.Path)
	})
}

// companion matches the paths of what may go with a choice. Emitters and light stay as they are.
var companion = regexp.MustCompile(`^(supplies\b.*|channels\[\d+\]\.(driver|fuse|wire\.part)|` +
	`mains\.switch|board\.thickness|fan\.(part|speed)|thermal_interface\.part|sink\.contact)$`)

// companionsOf returns the changes that may go with a choice.
func companionsOf(r *figure.Evaluation) []move {
	l := r.Lamp
	v := mover{l: l, d: l.Design, lib: l.Project.Library, r: r}
	v.all()
	v.list = slices.DeleteFunc(v.list, func(m move) bool {
		return slices.ContainsFunc(m.sets, func(s source.Setting) bool {
			return !companion.MatchString(s.Path)
		})
	})
	for i := range l.Channels {
		v.ownSupply(i)
		v.currentInRange(i)
	}
	for j := range v.d.Supplies {
		v.fusesWithWire(j)
	}
	return v.list
}

// fusesWithWire adds the smallest fuses of a supply with a thicker wire at its output: a fuse that conducts the load
// may not protect the wire that does.
func (v *mover) fusesWithWire(supply int) {
	u := &v.d.Supplies[supply]
	if u.Wire == nil {
		return
	}
	now := v.lib.Wires.Get(u.Wire.Part.S)
	own, at, each, ahead := v.fusesFor(supply, 1)
	about := []string{u.Part.S, "channel"}
	for _, id := range v.lib.Wires.IDs() {
		if v.lib.Wires.Get(id).Resistance.SI >= now.Resistance.SI {
			continue
		}
		wire := set(fmt.Sprintf("supplies[%d].wire.part", supply), id)
		words := fmt.Sprintf("wire of %s: %s → %s, time-lag fuse of %s", u.Part.S, u.Wire.Part.S, id, at)
		v.add(words, electric, about, own, wire)
		v.add(words+", and "+ahead, electric, about, append(slices.Clone(each), own, wire)...)
	}
}

// ownSupply adds a supply for one channel of several that share one.
func (v *mover) ownSupply(channel int) {
	ch := &v.l.Channels[channel]
	var others []string
	for i := range v.l.Channels {
		if i != channel && ch.Supply >= 0 && v.l.Channels[i].Supply == ch.Supply {
			others = append(others, v.l.Channels[i].Name)
		}
	}
	if len(others) == 0 {
		return
	}
	about := []string{"channel " + ch.Name, v.d.Supplies[ch.Supply].Part.S}
	for _, id := range v.lib.Supplies.IDs() {
		v.add(fmt.Sprintf("%s added for channel %s alone", id, ch.Name), electric, about,
			set(fmt.Sprintf("supplies[%d].feeds", ch.Supply), project.FeedsText(others)),
			set(fmt.Sprintf("supplies[%d]", len(v.d.Supplies)),
				fmt.Sprintf("{part: %s, feeds: %s}", id, project.FeedsText([]string{ch.Name}))))
	}
}

// currentInRange adds the nearest current that the driver of a channel delivers, where the present one is outside.
func (v *mover) currentInRange(channel int) {
	ch := &v.l.Channels[channel]
	to := ch.CurrentA
	if d := ch.Driver; d.CurrentMin.Set {
		to = math.Max(to, d.CurrentMin.SI)
	}
	if d := ch.Driver; d.CurrentMax.Set {
		to = math.Min(to, d.CurrentMax.SI)
	}
	if to == ch.CurrentA {
		return
	}
	text := fmt.Sprintf("%g mA", math.Round(1e6*to)/1e3)
	v.add(fmt.Sprintf("channel %s: current %s → %s, range of %s", ch.Name,
		quantity.Format(ch.CurrentA, quantity.Current), text, ch.Driver.ID.S), electric, []string{"channel " + ch.Name},
		set(fmt.Sprintf("channels[%d].current", channel), text))
}
