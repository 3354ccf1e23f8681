package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"lampwright/internal/bench"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
)

// benchLearned is what the readings teach together.
type benchLearned struct {
	Used   int              `json:"used"`   // values that are used
	Says   string           `json:"says"`   // whether they agree together
	Robust bool             `json:"robust"` // some disagree, and count for less
	Rows   []benchParameter `json:"rows"`   // of which the readings tell something, the best told first
	Silent []string         `json:"silent"` // parameters of which they tell nothing
	Pairs  []string         `json:"pairs"`  // of which they tell a combination only
	Untold []string         `json:"untold"` // directions that they do not tell
	Notes  []string         `json:"notes"`
	Tables []benchTable     `json:"tables"` // results before and after, ageing, next reading
}

// benchTable is a table of what the readings say of the lamp.
type benchTable struct {
	Title string     `json:"title"`
	Text  string     `json:"text"`
	Head  []string   `json:"head"`
	Rows  [][]string `json:"rows"`
}

// benchParameter is a parameter before and after the readings.
type benchParameter struct {
	Title  string     `json:"title"`
	OfLamp bool       `json:"of_lamp"` // not an error of an instrument
	Before string     `json:"before"`
	After  string     `json:"after"`
	Ratio  float64    `json:"sd_ratio"` // standard deviation after over before
	Moved  float64    `json:"moved"`    // by so many standard deviations of what was known before
	Told   bench.Told `json:"told"`
}

// learnedView returns what a review has learned, as text.
func learnedView(m *report.Measured) *benchLearned {
	r := m.Review
	v := &benchLearned{Used: r.Used, Robust: r.Robust, Pairs: pairTexts(r), Untold: r.Untold, Notes: r.Notes}
	switch {
	case r.PValue < 0.001:
		v.Says = "Together, the readings do not fit the lamp as designed with instruments as stated."
	case r.PValue < 0.05:
		v.Says = "Together, the readings fit the lamp as designed only just."
	default:
		v.Says = "Together, the readings fit the lamp as designed."
	}
	probability := "below 0.1 %"
	if r.PValue >= 0.001 {
		probability = fmt.Sprintf("%.2g %%", 100*r.PValue)
	}
	v.Says += fmt.Sprintf(" χ² is %.1f for %d values; probability of a larger one: %s.", finite(r.Chi2), r.Used,
		probability)
	for i := range r.Learned {
		p := &r.Learned[i]
		if p.Told == bench.ToldNothing {
			v.Silent = append(v.Silent, p.Title)
			continue
		}
		row := benchParameter{
			Title: p.Title, OfLamp: p.OfLamp, Ratio: finite(p.Ratio), Told: p.Told,
			Before: plusMinus(p.Prior, p.PriorSD), After: plusMinus(p.Value, p.SD),
		}
		if p.PriorSD > 0 {
			row.Moved = finite((p.Value - p.Prior) / p.PriorSD)
		}
		v.Rows = append(v.Rows, row)
	}
	for _, t := range m.Told() {
		v.Tables = append(v.Tables, benchTable{t.Title, t.Text, t.Head, t.Rows})
	}
	return v
}

// plusMinus returns a number with its standard deviation.
func plusMinus(x, sd float64) string {
	digits := digitsFor(sd)
	return trueMinus(fmt.Sprintf("%.*f", digits, finite(x))) + fmt.Sprintf("\u00a0±\u00a0%.*f", digits, finite(sd))
}

// allFull is the state in which a lamp is that nobody changes.
const allFull = "All channels at their levels of full day"

// stateOf returns a state of the lamp as a person brings it about.
func stateOf(result *figure.Evaluation, g *project.Campaign, s *project.LampState) benchState {
	v := benchState{Name: s.Name.S, Says: allFull, Steady: !s.After.Set, AfterS: s.After.SI}
	if !s.FullDay() {
		v.Says = levelsOf(result, s)
	}
	add := func(text string) { v.Rest = append(v.Rest, text) }
	if s.Lenses.S == project.Off {
		add("lenses off")
	}
	if s.Fan.S == project.Off {
		add("fan off")
	}
	off := s.Origin.S == project.FromSwitchOff
	switch {
	case off && s.After.Set:
		add(s.After.Text + " after switch-off")
	case off:
		v.Steady = false
		add("times count from switch-off")
	case s.After.Set:
		add(s.After.Text + " after switch-on from cold")
	default:
		add("steady state")
	}
	if s.Room.Set && s.Room.Text != g.Room.Text {
		add("room " + s.Room.Text)
	}
	if s.Note.S != "" {
		add(s.Note.S)
	}
	return v
}

// levelsOf returns which channels a state switches on, and which off.
func levelsOf(result *figure.Evaluation, s *project.LampState) string {
	var on, off []string
	for i := range result.Lamp.Channels {
		name := result.Lamp.Channels[i].Name
		at := slices.IndexFunc(s.Levels, func(l project.StateLevel) bool {
			return l.Channel.S == name && l.Level.SI > 0
		})
		if at < 0 {
			off = append(off, name)
			continue
		}
		on = append(on, name+" at "+s.Levels[at].Level.Text)
	}
	switch {
	case len(on) == 0:
		return "Switch all channels off"
	case len(off) == 0:
		return "Switch on " + strings.Join(on, ", ")
	}
	return "Only " + strings.Join(on, ", ") + "; switch off " + strings.Join(off, ", ")
}

// benchForm is what a new reading can be made of.
type benchForm struct {
	Quantities []benchQuantity `json:"quantities"`
	Channels   []string        `json:"channels"`
	Emitters   []string        `json:"emitters"`
	Spots      []string        `json:"spots"`
}

// benchQuantity is a quantity that can be read.
type benchQuantity struct {
	Name    string   `json:"name"`
	Meters  []string `json:"meters"` // kinds of instruments
	Places  []string `json:"places"`
	Channel bool     `json:"channel"` // of one channel
}

// formOf returns what a new reading of a lamp can be made of.
func formOf(result *figure.Evaluation) benchForm {
	v := benchForm{}
	l := result.Lamp
	for _, q := range project.ReadingQuantities() {
		v.Quantities = append(v.Quantities, benchQuantity{
			string(q), textsOf(q.Meters()), textsOf(q.Places()), q.OfChannel(),
		})
	}
	for i := range l.Channels {
		v.Channels = append(v.Channels, l.Channels[i].Name)
	}
	for i := range l.Emitters {
		v.Emitters = append(v.Emitters, l.Emitters[i].Label)
	}
	for i := range l.Design.InfraredSpots {
		v.Spots = append(v.Spots, l.Design.InfraredSpots[i].Name.S)
	}
	return v
}

// textsOf returns words as texts.
func textsOf[T ~string](list []T) []string {
	out := []string{}
	for _, w := range list {
		out = append(out, string(w))
	}
	return out
}

// faultView is an explanation of the readings.
type faultView struct {
	Title       string  `json:"title"`
	Healthy     bool    `json:"healthy"`
	Probability float64 `json:"probability"`
	Odds        string  `json:"odds"` // to the lamp as designed, in words
	Factor      string  `json:"factor"`
	Action      string  `json:"action"`
	Decide      string  `json:"decide"` // the reading that decides
}

// faultsView is the explanations of the readings, the likeliest first.
type faultsView struct {
	Hash   string      `json:"hash"` // of the readings
	Faults []faultView `json:"faults"`
}

// faults answers with explanations of the readings by their evidence.
func (s *Server) faults(w http.ResponseWriter, r *http.Request) {
	var in benchAsked
	if !decode(w, r, &in) {
		return
	}
	result, _, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	file, v, err := s.work.readingsFile(in.Readings, in.Edits)
	if err == nil && file == nil {
		err = fmt.Errorf("%s cannot be read; see its problems", project.ReadingsFile)
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	readings, problems := project.LoadReadingsText(project.ReadingsFile, file.Text(), result.Lamp.Project)
	if readings == nil {
		s.fail(w, problems)
		return
	}
	work := func(ctx context.Context, progress func(done, total int)) (any, error) {
		list, err := faultsOf(ctx, result, readings, progress)
		return faultsView{v.Hash, list}, err
	}
	s.longer(w, r, "faults", "faults of the lamp", work)
}

// faultsOf compares explanations of readings.
func faultsOf(ctx context.Context, result *figure.Evaluation, r *project.Readings, progress func(done, total int)) (
	[]faultView, error,
) {
	m, err := bench.New(result.Sys, r)
	if err != nil {
		return nil, err
	}
	found, err := m.Explain(ctx, progress)
	if err != nil {
		return nil, err
	}
	out := []faultView{}
	for i := range found {
		f := &found[i]
		v := faultView{
			Title: f.Title, Healthy: f.Code == bench.Healthy, Probability: finite(f.Probability), Action: f.Action,
			Decide: f.Decide, Odds: oddsOf(f),
		}
		if f.Factor != 0 {
			v.Factor = f.FactorOf + ": " + plusMinus(f.Factor, f.FactorSD)
		}
		out = append(out, v)
	}
	return out, nil
}

// oddsOf returns how much better a fault explains the readings than the lamp as designed.
func oddsOf(f *bench.Fault) string {
	if f.Code == bench.Healthy {
		return ""
	}
	times := math.Exp(math.Abs(f.LogBayes))
	text := quantity.Format(times, quantity.None)
	if times >= 1e4 {
		text = "over 10 000"
	}
	if f.LogBayes < 0 {
		return text + " times worse than the lamp as designed"
	}
	return text + " times better than the lamp as designed"
}

// pairTexts returns the parameters of which the readings tell a combination only.
func pairTexts(r *bench.Review) (out []string) {
	for _, p := range r.Pairs {
		out = append(out, p.Text)
	}
	return out
}
