package bench

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"lampwright/internal/estimate"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Verdict is the judgement of a reading beside its prediction.
type Verdict string

// The verdicts. Limits of ζ: ISO13528, 9.6.
const (
	Agrees       Verdict = "agrees"
	AgreesVague  Verdict = "agrees, prediction vague" // agrees only because the prediction is vague
	Questionable Verdict = "questionable"             // |ζ| above 2
	Differs      Verdict = "differs"                  // |ζ| above 3
	Pending      Verdict = "still to be read"
)

const (
	questionableZeta = 2.0
	differsZeta      = 3.0
	// vagueRatio is the uncertainty of the prediction over that of the reading from which an agreement proves little;
	// convention.
	vagueRatio = 3.0
)

// Row is a reading beside its prediction.
type Row struct {
	Label      string       `json:"label"`
	Campaign   string       `json:"campaign"`
	What       string       `json:"what"`
	Where      string       `json:"where"`
	State      string       `json:"state"`
	Instrument string       `json:"instrument,omitempty"`
	Dim        quantity.Dim `json:"-"`
	Dimension  string       `json:"dimension"`
	TimeS      float64      `json:"time_s,omitempty"` // of a point of a series over time
	Reading    int          `json:"reading"`          // position of the reading among those of its campaign
	Point      int          `json:"point"`            // of a series; −1 for none

	Predicted  float64 `json:"predicted"` // SI
	ULamp      float64 `json:"u_lamp"`    // standard uncertainty of the prediction by what varies of the lamp
	Read       float64 `json:"read"`
	UMeter     float64 `json:"u_meter"` // standard uncertainty of the reading: errors of the instrument, and its place
	Difference float64 `json:"difference"`
	Zeta       float64 `json:"zeta"`
	En         float64 `json:"e_n"`
	Verdict    Verdict `json:"verdict"`
	Doubted    bool    `json:"doubted,omitempty"`
	After      float64 `json:"after"`    // predicted after learning
	Residual   float64 `json:"residual"` // (read − after)/u of what is fresh in the reading
	Weight     float64 `json:"weight"`   // of the reading: 1, or less where readings disagree
}

// LearnedRow is what the readings tell of one parameter.
type LearnedRow struct {
	Name    string  `json:"name"`
	Title   string  `json:"title"`
	OfLamp  bool    `json:"of_lamp"`
	Prior   float64 `json:"prior"`
	PriorSD float64 `json:"prior_sd"`
	Value   float64 `json:"value"`
	SD      float64 `json:"sd"`
	Ratio   float64 `json:"sd_ratio"` // of z: standard deviation after over before
	Told    Told    `json:"told"`
}

// Told is how much the readings tell of a parameter.
type Told string

// The words of Told, by the ratio of the standard deviations after and before.
const (
	LearnedWell Told = "learned"     // below 0.5
	ToldPartly  Told = "partly"      // between
	ToldNothing Told = "not told"    // above 0.95
	Combined    Told = "with others" // |ρ| above 0.9 with another parameter
)

const (
	learnedRatio = 0.5
	untoldRatio  = 0.95
	pairRho      = 0.9
)

// PairRow is two parameters of which the readings tell only a combination.
type PairRow struct {
	A, B string  `json:"-"`
	Rho  float64 `json:"rho"`
	Text string  `json:"text"`
}

// FigureRow is a figure of the design before and after learning.
type FigureRow struct {
	Key      string       `json:"key"`
	Title    string       `json:"title"`
	Dim      quantity.Dim `json:"-"`
	Before   float64      `json:"before"`
	SDBefore float64      `json:"sd_before"`
	After    float64      `json:"after"`
	SDAfter  float64      `json:"sd_after"`
}

// Figure is a figure of a design as a function of what varies.
type Figure struct {
	Key, Title string
	Dim        quantity.Dim
	Value      func(p lamp.Params) float64
}

// Review is what the readings say.
type Review struct {
	Rows    []Row        `json:"rows"`
	Used    int          `json:"used"`
	Chi2    float64      `json:"chi2"`    // of all readings together, before learning
	PValue  float64      `json:"p_value"` // probability of a larger one
	Robust  bool         `json:"robust,omitempty"`
	Learned []LearnedRow `json:"learned"`
	Pairs   []PairRow    `json:"pairs,omitempty"`
	Untold  []string     `json:"untold,omitempty"` // directions that the readings do not tell
	Figures []FigureRow  `json:"figures,omitempty"`
	Drift   []DriftRow   `json:"drift,omitempty"`
	Faults  []Fault      `json:"faults,omitempty"`
	Notes   []string     `json:"notes,omitempty"`
}

// Review compares the readings with the predictions, and learns.
func (m *Model) Review(ctx context.Context, figures []Figure) (*Review, *Learned, error) {
	z := make([]float64, len(m.Params))
	before, err := m.Predict(ctx, z)
	if err != nil {
		return nil, nil, err
	}
	prior, err := m.rowsAt(ctx, z)
	if err != nil {
		return nil, nil, err
	}
	prior = slices.Clone(prior)
	out := &Review{Notes: m.notes(m.cache)}
	for i := range m.Items {
		out.Rows = append(out.Rows, m.row(i, before[i], prior[i]))
	}
	fit, err := m.Learn(ctx)
	if err != nil {
		return nil, nil, err
	}
	after, err := m.Predict(ctx, fit.Z)
	if err != nil {
		return nil, nil, err
	}
	for i := range out.Rows {
		out.Rows[i].After = after[i]
		if out.Rows[i].Verdict != Pending {
			out.Rows[i].Residual = (out.Rows[i].Read - after[i]) / m.Items[i].U
		}
	}
	for k, i := range fit.Used {
		out.Rows[i].Weight = fit.Weights[k]
	}
	out.Used, out.Robust, out.Chi2 = len(fit.Used), fit.Robust, fit.Before.Chi2
	out.PValue = distuv.ChiSquared{K: float64(len(fit.Used))}.Survival(fit.Before.Chi2)
	m.addLearned(out, fit.Fit)
	m.addUntold(out, fit.Fit)
	out.Figures = m.figureRows(fit.Fit, figures)
	out.Drift = m.driftRows(fit.Fit)
	return out, fit, nil
}

// row returns a reading beside its prediction before learning; h is its row of the Jacobian.
func (m *Model) row(i int, predicted float64, h []float64) Row {
	it := &m.Items[i]
	r := it.Reading
	out := Row{
		Label: it.Label, Campaign: m.readings.Campaigns[it.Campaign].Name.S, What: string(r.What.S), Where: m.where(it),
		State: r.State.Name.S, Dim: it.Dim, Dimension: it.Dim.String(), Point: it.Point, Predicted: predicted,
		Read: it.Value, Doubted: it.Doubted, Weight: 1,
	}
	out.Reading = slices.IndexFunc(m.readings.Campaigns[it.Campaign].Readings, func(x project.Reading) bool {
		return x.Label == r.Label
	})
	if r.Instrument != nil {
		out.Instrument = r.Instrument.Name.S
	}
	if it.Point >= 0 && r.Series[it.Point].Time.Set {
		out.TimeS = r.Series[it.Point].Time.SI
	}
	lamp2, meter2 := 0.0, sq(it.U)
	for j, v := range h {
		if m.Params[j].Meter {
			meter2 += sq(v)
		} else {
			lamp2 += sq(v)
		}
	}
	out.ULamp, out.UMeter = math.Sqrt(lamp2), math.Sqrt(meter2)
	if math.IsNaN(it.Value) {
		out.Verdict, out.Read = Pending, 0
		return out
	}
	score := estimate.Scored(it.Value, out.UMeter, predicted, out.ULamp)
	out.Difference, out.Zeta, out.En = it.Value-predicted, score.Zeta, score.En
	out.Verdict = verdictOf(score.Zeta, out.ULamp, out.UMeter)
	return out
}

// verdictOf judges a reading by its ζ and by the uncertainties of prediction and reading.
func verdictOf(zeta, uLamp, uMeter float64) Verdict {
	switch z := math.Abs(zeta); {
	case z > differsZeta:
		return Differs
	case z > questionableZeta:
		return Questionable
	case uLamp > vagueRatio*uMeter:
		return AgreesVague
	}
	return Agrees
}

// addLearned adds what the readings tell of each parameter that they tell anything of, the best told first.
func (m *Model) addLearned(out *Review, f *estimate.Fit) {
	ratio := f.SDRatio()
	combined := m.addPairs(out, estimate.Correlations(f.Cov, pairRho))
	for j := range m.Params {
		p := &m.Params[j]
		row := LearnedRow{
			Name: p.Name, Title: p.Title, OfLamp: p.OfLamp(), Prior: p.Prior.Centre, PriorSD: p.Prior.SD(),
			Ratio: ratio[j],
		}
		row.Value, row.SD = m.Marginal(f, j)
		switch {
		case ratio[j] > untoldRatio:
			row.Told = ToldNothing
		case combined[j]:
			row.Told = Combined
		case ratio[j] < learnedRatio:
			row.Told = LearnedWell
		default:
			row.Told = ToldPartly
		}
		out.Learned = append(out.Learned, row)
	}
	slices.SortStableFunc(out.Learned, func(a, b LearnedRow) int {
		switch {
		case a.Ratio < b.Ratio:
			return -1
		case a.Ratio > b.Ratio:
			return 1
		}
		return 0
	})
}

// addPairs adds the parameters of which the readings tell only a combination, those that hang together in one row, and
// returns them.
func (m *Model) addPairs(out *Review, pairs []estimate.Pair) map[int]bool {
	group := map[int]int{} // of a parameter: the row
	var members [][]int
	for _, p := range pairs {
		a, hasA := group[p.A]
		b, hasB := group[p.B]
		switch {
		case !hasA && !hasB:
			group[p.A], group[p.B] = len(members), len(members)
			members = append(members, []int{p.B, p.A})
			out.Pairs = append(out.Pairs, PairRow{A: m.Params[p.A].Name, B: m.Params[p.B].Name, Rho: p.Rho})
		case hasA && !hasB:
			group[p.B] = a
			members[a] = append(members[a], p.B)
		case hasB && !hasA:
			group[p.A] = b
			members[b] = append(members[b], p.A)
		}
	}
	combined := map[int]bool{}
	for i, list := range members {
		out.Pairs[i].Text = m.pairText(list, out.Pairs[i].Rho)
		for _, j := range list {
			combined[j] = true
		}
	}
	return combined
}

// pairText says in words what the readings tell of some parameters together.
func (m *Model) pairText(list []int, rho float64) string {
	titles := make([]string, len(list))
	for i, j := range list {
		titles[i] = m.Params[j].Title
	}
	last := len(titles) - 1
	what := strings.Join(titles[:last], "; ") + "; and " + titles[last]
	if last > 1 {
		return fmt.Sprintf("%s: the readings determine combinations only; correlations up to %.2f", what, rho)
	}
	kind := "difference (or ratio)"
	if rho < 0 {
		kind = "sum (or product)"
	}
	return fmt.Sprintf("%s: the readings determine their %s only; correlation %.2f", what, kind, rho)
}

// addUntold adds the directions of the parameters of the lamp that no reading tells, of those that a reading would
// change: the parts of each beyond a third of the largest.
func (m *Model) addUntold(out *Review, f *estimate.Fit) {
	for _, d := range f.Directions() {
		if d.Singular >= estimate.Untold || d.Singular < silentDirection {
			continue
		}
		var parts []string
		largest := 0.0
		for _, v := range d.Parts {
			largest = math.Max(largest, math.Abs(v))
		}
		for j, v := range d.Parts {
			if math.Abs(v) > largest/3 {
				parts = append(parts, m.Params[j].Title)
			}
		}
		if len(parts) > 1 && len(parts) <= maxParts {
			out.Untold = append(out.Untold, strings.Join(parts, "; "))
		}
	}
}

const (
	silentDirection = 0.01 // below it no reading depends on the direction at all
	maxParts        = 4    // a direction of more parameters says little
)

// figureRows returns figures of the design before and after learning, with their standard deviations to first order.
func (m *Model) figureRows(f *estimate.Fit, figures []Figure) (out []FigureRow) {
	zero := make([]float64, len(f.Z))
	for _, g := range figures {
		before, gradient0 := m.gradient(g, zero)
		after, gradient := m.gradient(g, f.Z)
		row := FigureRow{Key: g.Key, Title: g.Title, Dim: g.Dim, Before: before, After: after}
		v0, v1 := 0.0, 0.0
		for j := range gradient {
			v0 += sq(gradient0[j])
			for k := range gradient {
				v1 += gradient[j] * f.Cov.At(j, k) * gradient[k]
			}
		}
		row.SDBefore, row.SDAfter = math.Sqrt(v0), math.Sqrt(math.Max(0, v1))
		out = append(out, row)
	}
	return out
}

// gradient returns a figure at z, and its change with each z.
func (m *Model) gradient(g Figure, z []float64) (at float64, out []float64) {
	at = g.Value(m.lampParams(m.theta(z)))
	out = make([]float64, len(z))
	for j := range m.Params {
		if !m.Params[j].OfLamp() {
			continue
		}
		moved := slices.Clone(z)
		moved[j] += stepZ
		out[j] = (g.Value(m.lampParams(m.theta(moved))) - at) / stepZ
	}
	return at, out
}

// where names the place of an item.
func (m *Model) where(it *Item) string {
	r := it.Reading
	l := m.Sys.Lamp
	var parts []string
	add := func(format string, a ...any) { parts = append(parts, fmt.Sprintf(format, a...)) }
	switch {
	case r.EmitterIndex >= 0:
		add("%s", l.Emitters[r.EmitterIndex].Label)
	case r.ChannelIndex >= 0:
		add("%s", l.Channels[r.ChannelIndex].Name)
	}
	if r.Place.Set {
		add("%s", string(r.Place.S))
	}
	if r.Place.S == project.AtSpot && r.SpotName.Set {
		add("%s", r.SpotName.S)
	}
	if r.Distance.Set {
		add("%s", quantity.Format(r.Distance.SI, quantity.Length))
	}
	if it.Point >= 0 {
		add("%s", pointText(&r.Series[it.Point]))
	}
	return strings.Join(parts, ", ")
}
