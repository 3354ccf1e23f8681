package colour

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"lampwright/internal/root"
	"lampwright/internal/spectrum"
)

// Channel is what one dimmable channel gives at full level.
type Channel struct {
	Name     string
	Spectrum spectrum.Spectrum // at level 1, on the lamp grid: in W/nm, or in W/m²/nm for what arrives on a plane
	// electrical power at level 1; 0 for every channel means that radiant power represents it
	PowerW float64
	Min    float64 // minimum level; 0 is off
	Max    float64 // largest level; 0 means 1

	// What counts as its amount at level 1, where that is not the light of Spectrum: on a plane further down, whose
	// colour the requirement is not about. 0 takes it from Spectrum.
	LuminousLm, PPFUmolS float64
}

func (c Channel) max() float64 {
	if c.Max == 0 {
		return 1
	}
	return c.Max
}

// Goal is what to make of the freedom that is left when the requirement is met.
type Goal int

// Goals.
const (
	MinPower Goal = iota // the fewest watts for the amount required, or the most light a watt where none is required
	MaxLight             // the brightest mix of that colour; the amount required is then ignored
	BestRa               // the largest Ra that the search finds
	BestRf               // the largest Rf that the search finds
)

// Requirement is what a mix should give. Light comes first in colour, then in amount, then in rendering, then in the
// goal.
type Requirement struct {
	CCT        Band    // colour temperature [K], with Duv; the zero value means that XY counts
	Duv        Band    // distance from the Planckian locus, positive above
	XY         XY      // chromaticity; used if CCT is the zero value
	LuminousLm float64 // lumens (lux on a plane); 0 means no requirement
	PPFUmolS   float64 // µmol/s between 400 nm and 700 nm (µmol/m²/s on a plane); 0 means no requirement; not both
	MinRa      float64 // minimum Ra; 0 means no requirement
	MinRf      float64 // minimum Rf; 0 means no requirement
	Goal       Goal
}

// MixResult is the answer to a Requirement.
type MixResult struct {
	Levels     []float64 // of each channel
	XY         XY
	CCT        Temperature
	LuminousLm float64
	PPFUmolS   float64
	PowerW     float64 // electrical, or radiant if no channel states its power
	Ra, Rf     float64 // 0 if not defined for this colour
	InGamut    bool    // whether the channels can make the colour: a point at any brightness, a band with their levels
	StepsOff   float64 // distance from the colour required, in steps of 0.0011 in CIE 1976 (u′, v′); 0 within a band
	NearestDuv float64 // the Duv nearest to the band that the levels reach within the band of CCT; NaN where none do
	AmountMet  bool    // whether the amount required is reached within 0.1 %
	RenderMet  bool    // whether MinRa and MinRf are reached
	Notes      []string
}

// mixer contains a problem in the numbers that the linear program works on.
type mixer struct {
	w        Requirement
	channels []Channel
	spectra  []spectrum.Spectrum
	coarse   []spectrum.Spectrum // every 5 nm, for the search by rendering
	xyz      []XYZ
	lm, umol []float64 // at level 1
	amount   []float64 // of the two, the one that is required
	powerW   []float64
	target   XY
	wantAmt  float64
}

// Solve returns the dimming levels that come nearest to a requirement.
//
// A chromaticity is met exactly where the channels can make it; outside their gamut it becomes the nearest chromaticity
// of the gamut in CIE 1976 (u′, v′), and Notes say so. Bands of CCT and Duv leave the colour free within them: the best
// of all their colours is taken. Where no levels reach the bands, the colour becomes the one of the band of CCT with
// the nearest Duv. Next the amount is met or, if the levels do not allow, approached as near as they do without leaving
// the colour. Light being linear in the levels, this is a linear program, one for each thin slice of a band of CCT,
// solved exactly. Ra and Rf are not linear: they are climbed over the corners of the set of levels that meet colour and
// amount, which finds a good mix, not surely the best.
//
// It is an error if there is no channel, a limit or a requirement makes no sense, or no channel gives light.
// Source: CIE15-2018 for the colour; Dantzig1963 for linear programs; the order of requirements is ours.
func Solve(channels []Channel, w Requirement) (MixResult, error) {
	m, notes, err := newMixer(channels, w)
	if err != nil {
		return MixResult{}, err
	}
	levels, found, err := m.colourLevels()
	if err != nil {
		return MixResult{}, err
	}
	renderMet := true
	if w.MinRa > 0 || w.MinRf > 0 || w.Goal == BestRa || w.Goal == BestRf {
		levels, renderMet, err = m.climb(levels)
		if err != nil {
			return MixResult{}, err
		}
	}
	r := m.result(levels)
	r.InGamut, r.RenderMet, r.NearestDuv = found.inGamut, renderMet, r.CCT.Duv
	r.StepsOff = w.stepsFrom(r.XY)
	r.Notes = append(append(notes, found.notes...), r.Notes...)
	if w.banded() && !found.inGamut {
		r.NearestDuv = found.duv
	}
	if found.inGamut && r.StepsOff > 0.05 {
		r.Notes = append(
			r.Notes,
			fmt.Sprintf("the levels that must stay on keep the colour %.1f steps from the requirement", r.StepsOff),
		)
	}
	got := r.LuminousLm
	if w.PPFUmolS > 0 {
		got = r.PPFUmolS
	}
	r.AmountMet = m.wantAmt == 0 || math.Abs(got/m.wantAmt-1) < 1e-3
	if !r.AmountMet {
		r.Notes = append(
			r.Notes, fmt.Sprintf("the levels reach %.0f %% of the amount required at this colour", 100*got/m.wantAmt),
		)
	}
	if !renderMet {
		r.Notes = append(r.Notes, fmt.Sprintf("the search found no mix of this colour with the rendering required; "+
			"it comes to Ra %.0f, Rf %.0f", r.Ra, r.Rf))
	}
	return r, nil
}

// banded reports whether the colour is free within bands.
func (w Requirement) banded() bool {
	return w.CCT != (Band{}) && (w.CCT.Lo < w.CCT.Hi || w.Duv.Lo < w.Duv.Hi)
}

// target returns the required chromaticity; of bands, the middle.
func (w Requirement) target() XY {
	if w.CCT == (Band{}) {
		return w.XY
	}
	return PlanckXY(2/(1/w.CCT.Lo+1/w.CCT.Hi), (w.Duv.Lo+w.Duv.Hi)/2)
}

// stepsFrom returns how far a colour is from the requirement, in steps.
func (w Requirement) stepsFrom(c XY) float64 {
	if w.banded() {
		return w.stepsFromBand(c)
	}
	return Steps(c, w.target())
}

func (w Requirement) check() error {
	if w.CCT == (Band{}) {
		if !(w.XY.X > 0 && w.XY.Y > 0 && w.XY.X+w.XY.Y < 1) {
			return fmt.Errorf("mix: x = %g, y = %g is not a colour", w.XY.X, w.XY.Y)
		}
		return nil
	}
	if !(w.CCT.Lo >= minCCTK && w.CCT.Lo <= w.CCT.Hi && w.CCT.Hi <= maxCCTK) {
		return fmt.Errorf("mix: colour temperature of %g K to %g K; give two values in order, within 1000 K to "+
			"25 000 K", w.CCT.Lo, w.CCT.Hi)
	}
	if !(w.Duv.Lo >= -maxDuv && w.Duv.Lo <= w.Duv.Hi && w.Duv.Hi <= maxDuv) {
		return fmt.Errorf("mix: Duv of %g to %g; give two values in order, within ±0.05", w.Duv.Lo, w.Duv.Hi)
	}
	return nil
}

// colourFound is how far a colour is met.
type colourFound struct {
	inGamut bool
	duv     float64 // nearest Duv within the band of CCT; NaN where none is
	notes   []string
}

// edgeSteps is how far from a band, in steps, the nearest colour may lie and still count as in it: linear programs lose
// a colour at the very edge of the gamut to rounding.
const edgeSteps = 1e-4

// colourLevels returns the levels that meet colour, amount and goal as far as these are linear.
func (m *mixer) colourLevels() (levels []float64, found colourFound, err error) {
	found.duv = math.NaN()
	if !m.w.banded() {
		found.inGamut, found.notes = m.intoGamut()
		levels, err = m.linear()
		return levels, found, err
	}
	levels, found.inGamut, err = m.bandLevels()
	if err != nil || found.inGamut {
		return levels, found, err
	}
	w := m.w
	xy, duv, ok, err := m.nearestToBand()
	if err != nil {
		return nil, found, err
	}
	if ok {
		found.duv, m.target = duv, xy
		found.inGamut = w.stepsFromBand(xy) < edgeSteps
	}
	switch {
	case found.inGamut:
	case ok:
		found.notes = append(found.notes, fmt.Sprintf("no levels reach the colour required, %.0f K to %.0f K with Duv "+
			"%s to %s; the nearest Duv at such a CCT is %s", w.CCT.Lo, w.CCT.Hi, duvText(w.Duv.Lo), duvText(w.Duv.Hi),
			duvText(duv)))
	default:
		_, notes := m.intoGamut()
		found.notes = append(notes, fmt.Sprintf("no levels have a CCT of %.0f K to %.0f K", w.CCT.Lo, w.CCT.Hi))
	}
	m.w.CCT, m.w.Duv, m.w.XY = Band{}, Band{}, m.target
	levels, err = m.linear()
	return levels, found, err
}

func newMixer(channels []Channel, w Requirement) (m *mixer, notes []string, err error) {
	if len(channels) == 0 {
		return nil, nil, errors.New("mix: there are no channels")
	}
	if w.LuminousLm > 0 && w.PPFUmolS > 0 {
		return nil, nil, errors.New("mix: lumens and photons are both required; give one of them")
	}
	for _, v := range []float64{w.LuminousLm, w.PPFUmolS, w.MinRa, w.MinRf} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return nil, nil, fmt.Errorf("mix: a requirement of %g is not a number of 0 or more", v)
		}
	}
	if w.Goal < MinPower || w.Goal > BestRf {
		return nil, nil, fmt.Errorf("mix: there is no goal %d", w.Goal)
	}
	if err := w.check(); err != nil {
		return nil, nil, err
	}
	m = &mixer{w: w, channels: channels, target: w.target(), wantAmt: math.Max(w.LuminousLm, w.PPFUmolS)}
	if w.Goal == MaxLight {
		m.wantAmt = 0
	}
	stated, lit := false, false
	for i, c := range channels {
		if !(c.Min >= 0 && c.Min <= c.max()) || math.IsInf(c.Max, 0) {
			return nil, nil, fmt.Errorf("mix: channel %d (%s) has levels from %g to %g; give 0 ≤ least ≤ most", i+1,
				c.Name, c.Min, c.max())
		}
		if !(c.PowerW >= 0) || math.IsInf(c.PowerW, 0) {
			return nil, nil, fmt.Errorf("mix: channel %d (%s) takes %g W", i+1, c.Name, c.PowerW)
		}
		stated = stated || c.PowerW > 0
		s := c.Spectrum.OnLampGrid()
		five, err := s.Pick(380, 780, 5)
		if err != nil {
			return nil, nil, fmt.Errorf("mix: channel %d (%s): %w", i+1, c.Name, err)
		}
		t := Tristimulus(s)
		if _, ok := t.XY(); ok && c.max() > 0 {
			lit = true
		}
		m.spectra, m.coarse, m.xyz = append(m.spectra, s), append(m.coarse, five), append(m.xyz, t)
		lm, umol := t.Y, s.PhotonUmolS(400, 700)
		for of, own := range map[*float64]float64{&lm: c.LuminousLm, &umol: c.PPFUmolS} {
			if !(own >= 0) || math.IsInf(own, 0) {
				return nil, nil, fmt.Errorf("mix: channel %d (%s) gives an amount of %g", i+1, c.Name, own)
			}
			if own > 0 {
				*of = own
			}
		}
		m.lm, m.umol = append(m.lm, lm), append(m.umol, umol)
	}
	m.amount = m.lm
	if w.PPFUmolS > 0 {
		m.amount = m.umol
	}
	for i, c := range channels {
		p := c.PowerW
		if !stated {
			p = m.spectra[i].RadiantW()
		}
		m.powerW = append(m.powerW, p)
	}
	if !stated {
		notes = append(notes, "no channel states its electrical power; radiant power represents it")
	}
	if !lit {
		return nil, nil, errors.New("mix: no channel gives light")
	}
	return m, notes, nil
}

// intoGamut moves the target to the nearest colour that the channels can make at any brightness, and reports whether it
// was one.
func (m *mixer) intoGamut() (inGamut bool, notes []string) {
	var points []UV
	for i, c := range m.channels {
		if xy, ok := m.xyz[i].XY(); ok && c.max() > 0 {
			points = append(points, prime(xy))
		}
	}
	required := m.target
	near, dist := nearestInHull(points, prime(required))
	if dist < 1e-9 {
		return true, nil
	}
	m.target = fromPrime(near)
	return false, []string{fmt.Sprintf(
		"the colour required, x = %.4f, y = %.4f, is out of gamut; the nearest possible is x = %.4f, y = %.4f, "+
			"%.1f steps off",
		required.X, required.Y, m.target.X, m.target.Y, dist/stepUV,
	)}
}

func duvText(duv float64) string { return strings.Replace(fmt.Sprintf("%+.4f", duv), "-", "−", 1) }

// prime returns (u′, v′) as a UV; fromPrime goes back.
func prime(c XY) UV {
	u, v := c.UVPrime()
	return UV{u, v}
}

func fromPrime(p UV) XY { return UV{p.U, p.V / 1.5}.XY() }

// linear solves the part of a requirement that is linear in the levels, at the colour of the target.
func (m *mixer) linear() ([]float64, error) {
	goal := m.powerGoal()
	want := m.wantAmt
	free := want == 0
	if free {
		if m.w.Goal == MinPower && !m.mustStayOn() {
			return m.maxPerWatt(goal)
		}
		goal = m.brightest()
	}
	return m.program(goal, want, !free, true)
}

// powerGoal is the goal of least power.
func (m *mixer) powerGoal() []float64 {
	goal := make([]float64, len(m.channels))
	scale := 0.0
	for i, c := range m.channels {
		scale += m.powerW[i] * c.max()
	}
	for i := range goal {
		goal[i] = m.powerW[i] / math.Max(scale, 1e-300)
	}
	return goal
}

func (m *mixer) mustStayOn() bool {
	for _, c := range m.channels {
		if c.Min > 0 {
			return true
		}
	}
	return false
}

// brightest is the goal of most light.
func (m *mixer) brightest() []float64 {
	goal := make([]float64, len(m.channels))
	total := 0.0
	for i, c := range m.channels {
		total += m.amount[i] * c.max()
	}
	for i := range goal {
		goal[i] = -m.amount[i] / math.Max(total, 1e-300)
	}
	return goal
}

// maxPerWatt returns the mix of the colour with the most light per watt, as bright as the levels allow.
func (m *mixer) maxPerWatt(power []float64) ([]float64, error) {
	total := 0.0
	for i, c := range m.channels {
		total += m.amount[i] * c.max()
	}
	levels, err := m.program(power, total, true, false)
	if err != nil {
		return nil, err
	}
	return m.upToLimits(levels), nil
}

// upToLimits scales levels to the brightest that the limits allow.
func (m *mixer) upToLimits(levels []float64) []float64 {
	room := math.Inf(1)
	for i, c := range m.channels {
		if levels[i] > 0 {
			room = math.Min(room, c.max()/levels[i])
		}
	}
	if math.IsInf(room, 0) {
		return levels
	}
	for i := range levels {
		levels[i] *= room
	}
	return levels
}

// What an error of colour, an error of amount and the goal cost against each other, each as a fraction of the whole.
// The steps are so great that colour and amount are met exactly wherever they can be, and so small that at the very
// edge of the gamut a billionth of colour is not bought with all the light.
const (
	colourWeight = 1e3
	amountWeight = 1
	goalWeight   = 1e-3
)

// program returns the levels that come nearest to the colour and then to the amount, and among those have the minimum
// goal·levels.
//
// Each equation has a shortfall and an excess with a price, so that there is always a solution.
func (m *mixer) program(goal []float64, want float64, withAmount, bounded bool) ([]float64, error) {
	n := len(m.channels)
	rows := 2
	if withAmount {
		rows++
	}
	slack := 0
	if bounded {
		slack = n
	}
	p := newProgram(rows+slack, n+2*rows+slack)
	size := 0.0
	for i, ch := range m.channels {
		t := m.xyz[i]
		size += (t.X + t.Y + t.Z) * ch.max()
	}
	// The unknowns are levels above the lowest one, as shares of the range, so that all numbers are near 1.
	ranges := make([]float64, n)
	for i, ch := range m.channels {
		t := m.xyz[i]
		s := t.X + t.Y + t.Z
		least := 0.0
		ranges[i] = ch.max()
		if bounded {
			least = ch.Min
			ranges[i] -= least
		}
		dx, dy := t.X-m.target.X*s, t.Y-m.target.Y*s
		// A requirement for the very colour of a channel would be a knife edge: a millionth of x and y, far less than
		// anyone can see, counts as nothing.
		if math.Hypot(dx, dy) < 1e-6*s {
			dx, dy = 0, 0
		}
		coef := [3]float64{dx / size, dy / size, m.amount[i] / math.Max(want, 1e-300)}
		for r := range rows {
			p.a[r][i] = coef[r] * ranges[i]
			p.b[r] -= coef[r] * least
		}
		p.cost[i] = goalWeight * goal[i] * ranges[i]
	}
	if withAmount && want > 0 {
		p.b[2]++
	}
	for r := range rows {
		if p.b[r] < 0 { // the start is all shortfall, which must not be negative
			p.b[r] = -p.b[r]
			for i := range n {
				p.a[r][i] = -p.a[r][i]
			}
		}
		short, over, weight := n+2*r, n+2*r+1, colourWeight
		if r == 2 {
			weight = amountWeight
		}
		p.a[r][short], p.a[r][over] = 1, -1
		p.cost[short], p.cost[over] = weight, weight
		p.basis[r] = short
	}
	for i := range slack {
		p.a[rows+i][i], p.a[rows+i][n+2*rows+i] = 1, 1
		p.b[rows+i] = 1
		p.basis[rows+i] = n + 2*rows + i
	}
	x, err := p.solve()
	if err != nil {
		return nil, fmt.Errorf("mix: solve the linear program of %d channels: %w", n, err)
	}
	levels := make([]float64, n)
	for i, ch := range m.channels {
		levels[i] = math.Max(0, x[i]) * ranges[i]
		if bounded {
			levels[i] = math.Min(levels[i]+ch.Min, ch.max())
		}
	}
	return levels, nil
}

// result returns the figures of a mix.
func (m *mixer) result(levels []float64) MixResult {
	s := spectrum.Mix(levels, m.spectra)
	r := MixResult{Levels: levels}
	for i, l := range levels {
		r.LuminousLm += l * m.lm[i]
		r.PPFUmolS += l * m.umol[i]
		r.PowerW += l * m.powerW[i]
	}
	xy, ok := Tristimulus(s).XY()
	if !ok {
		r.Notes = append(r.Notes, "the mix is dark")
		return r
	}
	r.XY, r.CCT = xy, CCT(xy)
	if !r.CCT.Valid {
		r.Notes = append(r.Notes, r.CCT.Note)
		return r
	}
	if c, err := rendering(s, r.CCT); err == nil {
		r.Ra = c.Ra
	}
	if f, err := fidelity(s, r.CCT); err == nil {
		r.Rf = f.Rf
	}
	return r
}

// climb raises the rendering of a mix while colour and amount stay, as far as the requirement asks.
func (m *mixer) climb(start []float64) ([]float64, bool, error) {
	w := m.w
	score := func(levels []float64) float64 { return m.score(w, levels) }
	best, bestScore := start, score(start)
	wanted := w.MinRa > 0 || w.MinRf > 0
	forItself := w.Goal == BestRa || w.Goal == BestRf
	if !forItself && bestScore >= 0 {
		return start, true, nil
	}
	corners, err := m.corners(start)
	if err != nil {
		return nil, false, err
	}
	for range 12 {
		before := bestScore
		for _, corner := range corners {
			from := best
			for _, t := range []float64{1, 0.5, 0.25, 0.12, 0.05, 0.02} {
				v := between(from, corner, t)
				if s := score(v); s > bestScore {
					best, bestScore = v, s
				}
			}
		}
		if bestScore-before < 0.02 {
			break
		}
	}
	if forItself {
		return best, !wanted || m.shortOf(w, best) >= 0, nil
	}
	if bestScore < 0 {
		return best, false, nil
	}
	// The cheapest mix of the colour lies at start and power changes evenly on the way: go no further than needed.
	enough := root.Boundary(func(t float64) bool { return score(between(start, best, t)) >= 0 }, 1, 0, 1e-6)
	return between(start, best, enough), true, nil
}

// score is what climb raises: the rendering itself, or how far it lies above the requirement where that is all that
// counts.
func (m *mixer) score(w Requirement, levels []float64) float64 {
	s := spectrum.Mix(levels, m.coarse)
	xy, ok := Chromaticity(s)
	if !ok || w.banded() && !m.inBand(levels) {
		return math.Inf(-1)
	}
	t := CCT(xy)
	ra := func() float64 {
		r, err := rendering(s, t)
		if err != nil {
			return math.Inf(-1)
		}
		return r.Ra
	}
	rf := func() float64 {
		f, err := fidelity(s, t)
		if err != nil {
			return math.Inf(-1)
		}
		return f.Rf
	}
	switch w.Goal {
	case BestRa:
		return ra()
	case BestRf:
		return rf()
	}
	out := math.Inf(1)
	if w.MinRa > 0 {
		out = ra() - w.MinRa
	}
	if w.MinRf > 0 {
		out = math.Min(out, rf()-w.MinRf)
	}
	return out
}

// shortOf returns how far a mix lies above the rendering required.
func (m *mixer) shortOf(w Requirement, levels []float64) float64 {
	w.Goal = MinPower
	return m.score(w, levels)
}

// corners returns mixes of the same colour and amount as start that lie far apart: each channel as weak and as strong
// as can be.
func (m *mixer) corners(start []float64) ([][]float64, error) {
	amount := 0.0
	for i, l := range start {
		amount += l * m.amount[i]
	}
	if amount <= 0 {
		return nil, nil
	}
	var out [][]float64
	for i := range m.channels {
		for _, sign := range []float64{1, -1} {
			goal := make([]float64, len(m.channels))
			goal[i] = sign / m.channels[i].max()
			v, err := m.corner(goal, amount)
			if err != nil {
				return nil, err
			}
			if v != nil {
				out = append(out, v)
			}
		}
	}
	return out, nil
}

// corner returns the levels of the least goal of all that have the colour and the amount; nil where none have.
func (m *mixer) corner(goal []float64, amount float64) ([]float64, error) {
	if !m.w.banded() {
		return m.program(goal, amount, true, true)
	}
	levels, _, err := m.leastOf(slicesOf(m.w.CCT), m.w.Duv, linearQuestion{goal: goal, wantAmt: amount})
	return levels, err
}

func between(a, b []float64, t float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + t*(b[i]-a[i])
	}
	return out
}

// nearestInHull returns the point of the convex hull of some points that is nearest to p, and its distance.
//
// Mixing moves along straight lines in (u′, v′) as in (x, y), so the hull is the gamut of the channels.
func nearestInHull(points []UV, p UV) (near UV, dist float64) {
	h := Hull(points)
	if len(h) == 1 {
		return h[0], math.Hypot(p.U-h[0].U, p.V-h[0].V)
	}
	inside := len(h) > 2
	dist = math.Inf(1)
	for i, a := range h {
		b := h[(i+1)%len(h)]
		eu, ev := b.U-a.U, b.V-a.V
		if eu*(p.V-a.V)-ev*(p.U-a.U) < 0 {
			inside = false
		}
		t := ((p.U-a.U)*eu + (p.V-a.V)*ev) / (eu*eu + ev*ev)
		t = math.Min(math.Max(t, 0), 1)
		q := UV{a.U + t*eu, a.V + t*ev}
		if d := math.Hypot(p.U-q.U, p.V-q.V); d < dist {
			near, dist = q, d
		}
	}
	if inside {
		return p, 0
	}
	return near, dist
}

// Hull returns the corners of the convex hull of colours, counter-clockwise: the outline of all that can be mixed of
// them. Source: Andrew1979 (monotone chain).
func Hull(points []UV) []UV {
	p := append([]UV(nil), points...)
	sort.Slice(p, func(i, j int) bool {
		if p[i].U != p[j].U {
			return p[i].U < p[j].U
		}
		return p[i].V < p[j].V
	})
	unique := p[:0]
	for i, q := range p {
		if i == 0 || math.Hypot(q.U-unique[len(unique)-1].U, q.V-unique[len(unique)-1].V) > 1e-12 {
			unique = append(unique, q)
		}
	}
	if len(unique) < 3 {
		return unique
	}
	var out []UV
	half := func(next func(i int) UV) {
		base := len(out)
		for i := range unique {
			q := next(i)
			for len(out) >= base+2 {
				a, b := out[len(out)-2], out[len(out)-1]
				if (b.U-a.U)*(q.V-a.V)-(b.V-a.V)*(q.U-a.U) > 0 {
					break
				}
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		out = out[:len(out)-1] // the next half starts with it
	}
	half(func(i int) UV { return unique[i] })
	half(func(i int) UV { return unique[len(unique)-1-i] })
	return out
}
