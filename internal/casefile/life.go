package casefile

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampwright/internal/life"
)

// lifeCase is a day of an LED package or of a lamp of several channels.
type lifeCase struct {
	lifeDay
	Lives        []float64     `json:"lives_h"`
	Shares       []float64     `json:"shares"`
	Channels     []lifeChannel `json:"channels"`
	At           []float64     `json:"at_h"`
	Compensation *lifeRaise    `json:"compensation"`
}

// lifeDay is one programme of one kind of package.
type lifeDay struct {
	Tests    *lifeTests    `json:"lm80"`
	Segments []lifeSegment `json:"segments_h_level"`
	RoomC    float64       `json:"T_room_C"`
	RcaKW    float64       `json:"R_ca_K_per_W"`
	HeatW    float64       `json:"heat_full_W"`
	Rule     remark        `json:"rule"`
	Remark   remark        `json:"convention"`
}

// rename lets a case call its segments by their plain name.
func (*lifeDay) rename() map[string]string { return map[string]string{"segments": "segments_h_level"} }

// lifeChannel is one channel; what it does not state is that of the lamp.
type lifeChannel struct {
	ID    string  `json:"id"`
	Share float64 `json:"share"`
	lifeDay
}

// lifeRaise keeps the light constant from a first level on.
type lifeRaise struct {
	Start float64 `json:"start_level"`
	Hours float64 `json:"hours_per_day"`
}

// remark is a key whose value changes nothing.
type remark struct{}

func (remark) decode(*decoder, *node, string) {}

// lifeSegment is a part of the day: a list of hours and level, or an object.
type lifeSegment struct {
	Hours, Level float64
	CaseC        float64 // in place of room, resistance and heat
	caseStated   bool
}

func (s *lifeSegment) decode(d *decoder, n *node, path string) {
	if n.kind == list {
		var pair [2]float64
		d.fill(n, &pair, path)
		s.Hours, s.Level = pair[0], pair[1]
		return
	}
	var in segmentObject
	d.fill(n, &in, path)
	s.Hours, s.Level = in.Hours, in.Level
	if in.CaseC != nil {
		s.CaseC, s.caseStated = *in.CaseC, true
	}
}

// segmentObject is a segment with its keys.
type segmentObject struct {
	Hours float64  `json:"hours"`
	Level float64  `json:"level"`
	CaseC *float64 `json:"T_case_C"`
}

// rename lists other names for the keys of a segment.
func (*segmentObject) rename() map[string]string {
	return map[string]string{"h": "hours", "duration_h": "hours", "duty": "level", "Tc_C": "T_case_C"}
}

// lifeTests are the results of tests at two case temperatures or more, by key (alpha_55, B or B_55) or as a list.
type lifeTests struct{ tests []life.Test }

// lifeTest is one test of a list.
type lifeTest struct {
	CaseC float64 `json:"T_C"`
	Alpha float64 `json:"alpha"`
	B     float64 `json:"B"`
}

func (t *lifeTests) decode(d *decoder, n *node, path string) {
	rows := n
	if n.kind == object && n.get("tests") != nil {
		rows = n.get("tests")
		path += ".tests"
	}
	if rows.kind != list {
		t.byKey(d, n, path)
		return
	}
	common := 1.0
	if b := n.get("B"); b != nil {
		d.fill(b, &common, path+".B")
	}
	for i, row := range rows.items {
		one := lifeTest{B: common}
		d.fill(row, &one, fmt.Sprintf("%s[%d]", path, i))
		t.add(one)
	}
}

func (t *lifeTests) add(one lifeTest) {
	t.tests = append(t.tests, life.Test{
		CaseK: one.CaseC + zeroC, Projection: life.Projection{AlphaPerH: one.Alpha, B: one.B},
	})
}

// byKey reads tests whose case temperature is in the key.
func (t *lifeTests) byKey(d *decoder, n *node, path string) {
	if n.kind != object {
		d.problem(n.at, "%s is a JSON %s; it takes an object such as {\"alpha_55\": 1.8e-6, \"alpha_85\": 4.1e-6, "+
			"\"B\": 0.99}, or a list of tests {\"T_C\": …, \"alpha\": …, \"B\": …}", path, n.kind)
		return
	}
	common, b := 1.0, map[float64]float64{}
	for _, m := range n.members {
		word, celsius, known := testKey(m.key)
		var v float64
		if known {
			d.fill(m.value, &v, path+"."+m.key)
		}
		switch {
		case m.key == "B":
			d.fill(m.value, &common, path+".B")
		case word == "alpha":
			t.add(lifeTest{CaseC: celsius, Alpha: v})
		case word == "B":
			b[celsius] = v
		default:
			d.problem(m.at, "unknown key %q; use alpha_T and B or B_T with T in °C, such as alpha_55, or tests (%s)",
				m.key, d.guide)
		}
	}
	for i := range t.tests {
		celsius := t.tests[i].CaseK - zeroC
		t.tests[i].B = common
		for at, v := range b {
			if math.Abs(at-celsius) < 1e-6 {
				t.tests[i].B = v
			}
		}
	}
}

// testKey splits a key such as alpha_55 into its word and the temperature [°C].
func testKey(key string) (word string, celsius float64, ok bool) {
	word, digits, ok := strings.Cut(key, "_")
	if !ok || word != "alpha" && word != "B" {
		return "", 0, false
	}
	celsius, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSuffix(digits, "C"), "_"), 64)
	if err != nil {
		return "", 0, false
	}
	return word, celsius, true
}

// check returns an error for inputs outside what a day or a package can have; path ends with a point, or is empty.
func (c *lifeDay) check(path string) error {
	if len(c.Segments) > maxRows {
		return at(path+"segments_h_level", fmt.Errorf("%d segments; at most %d are read", len(c.Segments), maxRows))
	}
	all := []bounded{
		{path + "T_room_C", c.RoomC, -60, 150},
		{path + "R_ca_K_per_W", c.RcaKW, 0, 1e3},
		{path + "heat_full_W", c.HeatW, 0, 1e5},
	}
	hours := 0.0
	for i, s := range c.Segments {
		p := fmt.Sprintf("%ssegments_h_level[%d]", path, i)
		all = append(all, bounded{p, s.Hours, 0, 24}, bounded{p, s.Level, 0, 1})
		hours += s.Hours
	}
	if hours > 24*(1+1e-9) {
		return at(path+"segments_h_level", fmt.Errorf("the segments last %g h; a day has 24 h", hours))
	}
	if err := allWithin(all...); err != nil {
		return err
	}
	for i := range c.Segments {
		p := fmt.Sprintf("%ssegments_h_level[%d]", path, i)
		if err := allWithin(bounded{p + ".T_case_C", c.caseC(i), -60, 300}); err != nil {
			return err
		}
	}
	return nil
}

// caseC returns the case temperature of a segment [°C]: that of the level, or as stated.
func (c *lifeDay) caseC(i int) float64 {
	if s := &c.Segments[i]; s.caseStated {
		return s.CaseC
	}
	return c.atLevelC(c.Segments[i].Level)
}

// atLevelC returns the case temperature at a level [°C]: T_room + R_ca·P·level.
func (c *lifeDay) atLevelC(level float64) float64 { return c.RoomC + c.RcaKW*c.HeatW*level }

// law returns the lumen maintenance of the tests; it extrapolates, for a case compares programmes.
func (c *lifeDay) law(path string) (life.Law, error) {
	if c.Tests == nil {
		return life.Law{}, at(strings.TrimSuffix(path, "."), errors.New("lm80 is missing: rates of two tests or more"))
	}
	if n := len(c.Tests.tests); n < 2 || n > maxRows {
		return life.Law{}, at(path+"lm80", fmt.Errorf("%d tests; use 2 to %d at different temperatures", n, maxRows))
	}
	for _, t := range c.Tests.tests {
		if err := allWithin(
			bounded{path + "lm80", t.CaseK - zeroC, -60, 300}, bounded{path + "lm80", t.AlphaPerH, 1e-12, 1},
			bounded{path + "lm80", t.B, 0.1, 2},
		); err != nil {
			return life.Law{}, err
		}
	}
	l, err := life.NewLaw(true, c.Tests.tests...)
	return l, at(path+"lm80", err)
}

// stages returns the day as the sum of damage reads it.
func (c *lifeDay) stages() (out []life.Stage) {
	for i, s := range c.Segments {
		out = append(out, life.Stage{Hours: s.Hours, Duty: s.Level, CaseK: c.caseC(i) + zeroC})
	}
	return out
}

// weightings are the two conventions by the name of their results.
var weightings = map[string]life.Weighting{"on_time": life.OnTime, "duty_weighted": life.DutyWeighted}

// answerLife answers what the inputs allow: a mix of lives, a day, a lamp of channels, a compensation.
func answerLife(c *lifeCase) (map[string]any, error) {
	out := map[string]any{}
	if c.Lives != nil {
		if err := c.mix(out); err != nil {
			return nil, err
		}
	}
	if c.Segments != nil && len(c.Channels) == 0 {
		law, err := c.answer("", out)
		if err != nil {
			return nil, err
		}
		cool, _ := law.Tested()
		out["Ea_over_k_K"] = law.EaOverKK(cool)
	}
	if len(c.Channels) > 0 {
		if err := c.lamp(out); err != nil {
			return nil, err
		}
	}
	if c.Compensation != nil {
		if err := c.raise(out); err != nil {
			return nil, err
		}
	}
	if len(out) == 0 {
		return nil, errors.New("the inputs state neither segments_h_level nor lives_h, channels or compensation")
	}
	return out, nil
}

// answer adds the results of one programme.
func (c *lifeDay) answer(path string, out map[string]any) (life.Law, error) {
	if err := c.check(path); err != nil {
		return life.Law{}, err
	}
	law, err := c.law(path)
	if err != nil {
		return law, err
	}
	levels := make([]float64, len(c.Segments))
	for i := range c.Segments {
		levels[i] = c.caseC(i)
	}
	out["levels_C"] = levels
	for name, w := range weightings {
		d := law.Damage(c.stages(), w)
		if d.PerCalendarH <= 0 {
			return law, at(path+"segments_h_level", errors.New("no segment has hours and a level above 0"))
		}
		one := lives(d.CalendarH)
		one["mean_alpha_per_calendar_h"], one["mean_alpha_per_on_h"] = d.PerCalendarH, d.PerOnH
		one["equivalent_C"] = d.EquivalentK - zeroC
		out[name] = one
		out["on_hours_per_day"], out["extrapolated"] = d.OnHours, d.Below || d.Above
	}
	return law, nil
}

// lives returns the calendar lives to the usual shares of the light, in hours and years.
func lives(calendarH func(share float64) float64) map[string]any {
	out := map[string]any{}
	for _, percent := range []int{50, 60, 70, 75, 80, 85, 90, 95} {
		h := calendarH(float64(percent) / 100)
		if math.IsInf(h, 0) {
			continue
		}
		out[fmt.Sprintf("L%d_calendar_h", percent)], out[fmt.Sprintf("L%d_years", percent)] = h, h/life.YearH
	}
	return out
}

// mix adds the harmonic and the arithmetic mean of lives.
func (c *lifeCase) mix(out map[string]any) error {
	if len(c.Lives) == 0 || len(c.Lives) > maxRows {
		return at("lives_h", fmt.Errorf("%d lives; use 1 to %d", len(c.Lives), maxRows))
	}
	shares := c.Shares
	if shares == nil {
		for range c.Lives {
			shares = append(shares, 1)
		}
	}
	if len(shares) != len(c.Lives) {
		return at("shares", fmt.Errorf("%d shares for %d lives", len(shares), len(c.Lives)))
	}
	sum, mean := 0.0, 0.0
	for i, l := range c.Lives {
		if err := allWithin(
			bounded{fmt.Sprintf("lives_h[%d]", i), l, 1e-3, 1e15},
			bounded{fmt.Sprintf("shares[%d]", i), shares[i], 1e-9, 1e9},
		); err != nil {
			return err
		}
		sum, mean = sum+shares[i], mean+shares[i]*l
	}
	out["harmonic_mean_h"], out["arithmetic_mean_h"] = life.HarmonicMean(c.Lives, shares), mean/sum
	return nil
}

// lamp adds the results of a lamp of several channels.
func (c *lifeCase) lamp(out map[string]any) error {
	if len(c.Channels) > maxRows || len(c.At) > maxRows {
		return at("channels", fmt.Errorf("more than %d channels or times", maxRows))
	}
	of := map[string][]life.ChannelDamage{}
	each := map[string]any{}
	for i := range c.Channels {
		ch := &c.Channels[i]
		ch.inherit(&c.lifeDay)
		path := fmt.Sprintf("channels[%d].", i)
		if err := allWithin(bounded{path + "share", ch.Share, 1e-9, 1e9}); err != nil {
			return err
		}
		id := ch.ID
		if id == "" {
			id = strconv.Itoa(i + 1)
		}
		if each[id] != nil {
			return at(path+"id", fmt.Errorf("two channels are called %q", id))
		}
		one := map[string]any{}
		law, err := ch.answer(path, one)
		if err != nil {
			return err
		}
		each[id] = one
		for name, w := range weightings {
			of[name] = append(of[name], life.ChannelDamage{Share: ch.Share, Damage: law.Damage(ch.stages(), w)})
		}
	}
	out["channels"] = each
	for name, channels := range of {
		one := lives(func(share float64) float64 { return life.LampCalendarH(channels, share) })
		if len(c.At) > 0 {
			light := make([]float64, len(c.At))
			for i, h := range c.At {
				if err := allWithin(bounded{fmt.Sprintf("at_h[%d]", i), h, 0, 1e12}); err != nil {
					return err
				}
				light[i] = life.LampLight(channels, h)
			}
			one["light"] = light
		}
		out[name] = one
	}
	return nil
}

// inherit takes what a channel does not state from the lamp.
func (c *lifeDay) inherit(from *lifeDay) {
	if c.Tests == nil {
		c.Tests = from.Tests
	}
	if c.Segments == nil {
		c.Segments = from.Segments
	}
	for _, x := range []struct{ own, lamps *float64 }{
		{&c.RoomC, &from.RoomC}, {&c.RcaKW, &from.RcaKW}, {&c.HeatW, &from.HeatW},
	} {
		if *x.own == 0 {
			*x.own = *x.lamps
		}
	}
}

// raise adds how long raising the level keeps the light constant.
func (c *lifeCase) raise(out map[string]any) error {
	r := c.Compensation
	if err := c.check(""); err != nil {
		return err
	}
	law, err := c.law("")
	if err != nil {
		return err
	}
	hours := r.Hours
	if hours == 0 {
		for _, s := range c.Segments {
			hours += s.Hours
		}
	}
	if err := allWithin(
		bounded{"compensation.start_level", r.Start, 1e-3, 1}, bounded{"compensation.hours_per_day", hours, 1e-3, 24},
	); err != nil {
		return err
	}
	first := law.At(c.atLevelC(r.Start) + zeroC)
	k := life.Compensate(r.Start, first.B, func(level float64) float64 {
		return law.At(c.atLevelC(level)+zeroC).AlphaPerH * hours / 24
	})
	out["compensation"] = map[string]any{
		"calendar_h": k.CalendarH, "years": k.CalendarH / life.YearH, "constant_rate_h": k.ConstantH,
		"mean_energy_ratio": k.MeanLevel,
	}
	return nil
}
