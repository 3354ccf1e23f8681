package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync"

	"lampwright/internal/bench"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/source"
)

// benchView is the readings of the built lamp beside what the design predicts.
type benchView struct {
	Exists      bool              `json:"exists"` // there is a readings file
	Hash        string            `json:"hash"`   // of it
	Quick       bool              `json:"quick"`  // without what the readings teach
	Problems    source.Problems   `json:"problems"`
	Count       int               `json:"problem_count"`
	Doubts      source.Problems   `json:"doubts"` // what can be read, and was perhaps not meant
	Wrong       string            `json:"wrong"`  // why nothing is predicted or learned
	ReadyS      float64           `json:"ready_s"`
	Instruments []benchInstrument `json:"instruments"`
	Campaigns   []benchCampaign   `json:"campaigns"`
	Readings    []benchReading    `json:"readings"`
	Learned     *benchLearned     `json:"learned"` // null before a value is read
	Form        benchForm         `json:"form"`
}

// MarshalJSON writes the readings with short numbers.
func (v *benchView) MarshalJSON() ([]byte, error) {
	type plain benchView
	return shortJSON((*plain)(v))
}

// benchInstrument is an instrument of the file.
type benchInstrument struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
}

// benchCampaign is the readings of one day.
type benchCampaign struct {
	Name   string       `json:"name"`
	Date   string       `json:"date"`
	Room   string       `json:"room"`
	Note   string       `json:"note"`
	Path   string       `json:"path"`
	Next   string       `json:"next"` // path of a further reading
	States []benchState `json:"states"`
}

// benchState is a state of the lamp as a person brings it about.
type benchState struct {
	Name   string   `json:"name"`
	Says   string   `json:"says"`   // what to switch
	Rest   []string `json:"rest"`   // fan, lenses, room, time
	Steady bool     `json:"steady"` // readings are made when temperatures have settled
	AfterS float64  `json:"after_s"`
}

// benchReading is one reading; its numbers are in Unit.
type benchReading struct {
	Path       string       `json:"path"`
	Campaign   int          `json:"campaign"`
	Label      string       `json:"label"`
	What       string       `json:"what"`
	Where      string       `json:"where"`
	Place      string       `json:"place"`
	State      int          `json:"state"` // in the campaign
	Instrument string       `json:"instrument"`
	Unit       string       `json:"unit"`
	Value      string       `json:"value"` // as written; empty where it is still to be read
	Typed      bool         `json:"typed"` // it has one value, which can be typed
	Note       string       `json:"note"`
	Doubted    bool         `json:"doubted"`
	By         string       `json:"by"` // of a series: time, angle or at
	Points     []benchPoint `json:"points"`
}

// benchPoint is one value beside its prediction.
type benchPoint struct {
	X         float64       `json:"x"` // time [s], angle [°], or place [m]
	Y         float64       `json:"y"`
	Pending   bool          `json:"pending"`
	Predicted float64       `json:"predicted"`
	ULamp     float64       `json:"u_lamp"`  // standard uncertainty of the prediction
	UMeter    float64       `json:"u_meter"` // of the reading
	Read      float64       `json:"read"`
	Zeta      float64       `json:"zeta"`
	After     float64       `json:"after"` // predicted after learning
	Weight    float64       `json:"weight"`
	Verdict   bench.Verdict `json:"verdict"`
	Expected  string        `json:"expected"`
	Range     string        `json:"range"` // in which readings agree
	Says      string        `json:"says"`
}

// benchAsked is the readings that the page asks for.
type benchAsked struct {
	previewed
	Readings string   `json:"readings"` // hash of the file that the page holds; empty for any
	Edits    []change `json:"edits"`    // of the readings file, not saved
	Quick    bool     `json:"quick"`    // compare only; learn nothing
}

// benchMemory keeps the model of the readings last asked for, so that a typed value is compared at once.
type benchMemory struct {
	mu     sync.Mutex
	of     string // hash of the lamp
	key    string // of the readings without their values
	model  *bench.Model
	readyS float64
}

// readings answers with the readings beside what the design predicts: those of the file, or with values that are typed.
func (s *Server) readings(w http.ResponseWriter, r *http.Request) {
	var in benchAsked
	if !decode(w, r, &in) {
		return
	}
	result, of, err := s.work.resultOf(w, r, in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	text, v, err := s.work.readingsFile(in.Readings, in.Edits)
	if err != nil {
		s.fail(w, err)
		return
	}
	v.Quick, v.Form = in.Quick, formOf(result)
	if text != nil {
		ctx, done, err := s.work.brief(w, r)
		if err != nil {
			s.fail(w, err)
			return
		}
		_, err = guarded(func() (any, error) { return nil, s.work.bench.fill(ctx, v, result, of, text) })
		done()
		if err != nil {
			s.fail(w, err)
			return
		}
	}
	if v.Quick {
		v.keepEdited(in.Edits)
	}
	fillLists(v)
	answer(w, http.StatusOK, v)
}

// keepEdited leaves only the readings that are edited.
func (v *benchView) keepEdited(edits []change) {
	v.Readings = slices.DeleteFunc(v.Readings, func(r benchReading) bool {
		return !slices.ContainsFunc(edits, func(c change) bool { return strings.HasPrefix(c.Path, r.Path+".") })
	})
}

// readingsFile returns the readings file with edits, and the view of it, still empty. The file is nil where there is
// none, or where it cannot be read, which the view says.
func (w *workspace) readingsFile(hash string, edits []change) (*source.File, *benchView, error) {
	w.mu.Lock()
	text, unread := w.readings, w.unread
	w.mu.Unlock()
	v := &benchView{Exists: text != nil || unread != "", Wrong: unread}
	if text == nil {
		if hash != "" {
			return nil, v, errConflict
		}
		return nil, v, nil
	}
	if v.Hash = hashOf(text); hash != "" && hash != v.Hash {
		return nil, v, errConflict
	}
	file, problems := w.files.read(project.ReadingsFile, text)
	if file == nil {
		v.Problems, v.Count = first(problems), len(problems)
		return nil, v, nil
	}
	file, err := editedReadings(file, edits)
	return file, v, err
}

// editedReadings returns a readings file with changes; everything else in it stays byte for byte.
func editedReadings(f *source.File, edits []change) (*source.File, error) {
	if len(edits) > maxChanges {
		return nil, fmt.Errorf("%d changes at once; at most %d are taken", len(edits), maxChanges)
	}
	for _, c := range inOrder(edits) {
		if len(f.Problems()) > 0 {
			return nil, &badChange{c.Path, fmt.Errorf("%s has problems; correct them first", project.ReadingsFile)}
		}
		next, err := changedFile(f, c.Path, c.Text)
		if err != nil {
			return nil, &badChange{c.Path, err}
		}
		f = next
	}
	return f, nil
}

// readingValue is the paths of what may change in a reading while the model of all readings stays.
var readingValue = regexp.MustCompile(
	`^campaigns\[\d+\]\.readings\[\d+\](\.series\[\d+\])?\.(value|doubted|note)$`)

// structureOf returns what of a readings file the model depends on: all but the values.
func structureOf(f *source.File) string {
	var b strings.Builder
	for _, l := range f.Leaves("") {
		if !readingValue.MatchString(l.Path) {
			b.WriteString(l.Path + "\x00" + l.Text + "\x00")
		}
	}
	return hashOf([]byte(b.String()))
}

// fill compares the readings of a file with a lamp, and learns from them unless the view is to be quick.
func (m *benchMemory) fill(ctx context.Context, v *benchView, result *figure.Evaluation, of string,
	f *source.File,
) error {
	r, problems := project.LoadReadingsText(project.ReadingsFile, f.Text(), result.Lamp.Project)
	if r == nil {
		v.Problems, v.Count = first(problems), len(problems)
		return nil
	}
	v.Doubts = first(slices.DeleteFunc(slices.Clone(r.Doubts), func(p source.Problem) bool {
		return strings.HasPrefix(p.Msg, "no value yet: ") // the page shows what is still to be read
	}))
	v.addCampaigns(result, r)
	m.mu.Lock()
	defer m.mu.Unlock()
	key := structureOf(f)
	if m.model == nil || m.of != of || m.key != key || !m.model.SetValues(r) {
		model, err := bench.New(result.Sys, r)
		if err != nil {
			v.Wrong = err.Error() // a file without readings has nothing to compare
			v.addReadings(r, nil)
			return nil
		}
		if m.of != of {
			m.readyS = steadyAfter(ctx, result)
		}
		m.of, m.key, m.model = of, key, model
	}
	v.ReadyS = m.readyS
	rows, learned, err := reviewed(ctx, m.model, result, r, v.Quick)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		v.Wrong = err.Error()
	}
	v.addReadings(r, rows)
	v.Learned = learned
	return nil
}

// reviewed returns the readings beside their predictions, and what they teach where some are made.
func reviewed(ctx context.Context, m *bench.Model, result *figure.Evaluation, r *project.Readings, quick bool) (
	[]bench.Row, *benchLearned, error,
) {
	if quick || len(m.Used()) == 0 {
		rows, err := m.Compare(ctx)
		return rows, nil, err
	}
	figures := report.BenchFigures(result)
	review, fit, err := m.Review(ctx, figures)
	if err == nil {
		told := report.Measured{Review: review, Readings: r}
		if len(figures) > 0 {
			told.NextFor = figures[0].Title
			if told.Next, err = m.Best(ctx, fit.Fit, figures[0]); err != nil {
				review.Notes = append(review.Notes, "no next reading is proposed: "+err.Error())
			}
		}
		return review.Rows, learnedView(&told), nil
	}
	rows, other := m.Compare(ctx)
	if other != nil {
		return nil, nil, other
	}
	return rows, nil, err
}

// addCampaigns adds campaigns with their states.
func (v *benchView) addCampaigns(result *figure.Evaluation, r *project.Readings) {
	for i := range r.Instruments {
		v.Instruments = append(v.Instruments, benchInstrument{r.Instruments[i].Name.S, string(r.Instruments[i].Kind.S)})
	}
	for c := range r.Campaigns {
		g := &r.Campaigns[c]
		out := benchCampaign{
			Name: g.Name.S, Date: g.Date.S, Room: g.Room.Text, Note: g.Note.S, Path: fmt.Sprintf("campaigns[%d]", c),
			Next: fmt.Sprintf("campaigns[%d].readings[%d]", c, len(g.Readings)),
		}
		for i := range g.States {
			out.States = append(out.States, stateOf(result, g, &g.States[i]))
		}
		v.Campaigns = append(v.Campaigns, out)
	}
}

// addReadings adds the readings, with what each is beside its prediction; rows are nil where nothing is predicted.
func (v *benchView) addReadings(r *project.Readings, rows []bench.Row) {
	for c := range r.Campaigns {
		g := &r.Campaigns[c]
		for i := range g.Readings {
			reading := &g.Readings[i]
			n := max(1, len(reading.Series))
			out := benchReading{
				Path: fmt.Sprintf("campaigns[%d].readings[%d]", c, i), Campaign: c, Label: reading.Label,
				What: string(reading.What.S), Place: string(reading.Place.S), Instrument: reading.InstrumentName.S,
				Value: reading.ValueText.S, Note: reading.Note.S, Doubted: reading.Doubted.On,
				Typed: len(reading.Series) == 0 && !reading.ColdVoltage.Set,
			}
			out.State = v.stateIndex(c, reading.State)
			if len(rows) >= n {
				out.fill(reading, rows[:n])
				rows = rows[n:]
			}
			v.Readings = append(v.Readings, out)
		}
	}
}

// stateIndex returns the position of a state in its campaign, to which one that is not declared is added.
func (v *benchView) stateIndex(campaign int, s *project.LampState) int {
	g := &v.Campaigns[campaign]
	for i := range g.States {
		if g.States[i].Name == s.Name.S {
			return i
		}
	}
	g.States = append(g.States, benchState{Name: s.Name.S, Says: allFull, Steady: true})
	return len(g.States) - 1
}

// shownUnit returns the unit in which a reading is shown: that in which it is written, else the one that suits the
// prediction.
func shownUnit(written string, predicted float64, dim quantity.Dim) string {
	return cmp.Or(unitOf(written, dim), unitOf(quantity.Format(predicted, dim), dim))
}

// fill sets the numbers of a reading by its rows.
func (out *benchReading) fill(r *project.Reading, rows []bench.Row) {
	dim := rows[0].Dim
	out.Where = rows[0].Where
	if len(r.Series) > 0 {
		out.Where = strings.TrimSuffix(strings.TrimSuffix(out.Where, pointOf(&r.Series[0])), ", ")
	}
	out.Unit = shownUnit(out.Value, rows[0].Predicted, dim)
	if len(r.Series) > 0 {
		out.Unit = shownUnit(r.Series[0].ValueText.S, rows[0].Predicted, dim)
	}
	for k := range rows {
		row := &rows[k]
		p := pointView(row, out.Unit)
		if len(r.Series) > 0 {
			s := &r.Series[k]
			switch {
			case s.Time.Set:
				out.By, p.X = "time", s.Time.SI
			case s.Angle.Set:
				out.By, p.X = "angle", s.Angle.SI*180/math.Pi
			default:
				out.By, p.X, p.Y = "at", s.At.X.SI, s.At.Y.SI
			}
		}
		out.Points = append(out.Points, p)
	}
}

// pointOf returns a point of a series as bench adds it to a place.
func pointOf(p *project.SeriesPoint) string {
	switch {
	case p.Time.Set:
		return quantity.Format(p.Time.SI, quantity.Time)
	case p.Angle.Set:
		return quantity.Format(p.Angle.SI, quantity.Angle)
	}
	return quantity.Format(p.At.X.SI, quantity.Length) + ", " + quantity.Format(p.At.Y.SI, quantity.Length)
}

// agreeing is the number of standard uncertainties within which readings agree.
const agreeing = 2

// pointView returns a row in the unit in which its reading is shown.
func pointView(row *bench.Row, unit string) benchPoint {
	dim := row.Dim
	in := func(si float64) float64 { return finite(quantity.In(si, dim, unit)) }
	scale := in(1) - in(0)
	u := math.Hypot(row.ULamp, row.UMeter) * scale
	p := benchPoint{
		Pending: row.Verdict == bench.Pending, Predicted: in(row.Predicted), ULamp: finite(row.ULamp * scale),
		UMeter: finite(row.UMeter * scale), Zeta: finite(row.Zeta), After: in(row.After), Weight: row.Weight,
		Verdict: row.Verdict,
	}
	digits := digitsFor(u)
	write := func(x float64) string { return trueMinus(fmt.Sprintf("%.*f", digits, x)) }
	p.Expected = write(p.Predicted) + " " + unit
	p.Range = write(p.Predicted-agreeing*u) + " to " + write(p.Predicted+agreeing*u) + " " + unit
	if p.Pending {
		p.After = p.Predicted
		return p
	}
	p.Read = in(row.Read)
	p.Says = saidOf(&p, unit, write)
	return p
}

// digitsFor returns the decimals of a value of which u is the standard uncertainty: two digits of u.
func digitsFor(u float64) int {
	if u <= 0 || math.IsNaN(u) || math.IsInf(u, 0) {
		return 2
	}
	return min(6, max(0, 1-int(math.Floor(math.Log10(u)))))
}

// saidOf returns a verdict in words, with numbers.
func saidOf(p *benchPoint, unit string, write func(float64) string) string {
	side, d := "above", p.Read-p.Predicted
	if d < 0 {
		side = "below"
	}
	if unit == "°C" {
		unit = "K" // of a difference
	}
	off := fmt.Sprintf("%s %s %s the prediction", write(math.Abs(d)), unit, side)
	switch p.Verdict {
	case bench.Agrees:
		return off + ", within its range."
	case bench.AgreesVague:
		return fmt.Sprintf("%s, within its range; but the prediction is known to ± %s %s only, so it confirms little.",
			off, write(agreeing*p.ULamp), unit)
	case bench.Questionable:
		return off + ". One correct reading in 20 lies this far off: check state, place and unit, and read again."
	}
	return off + ". Neither the meter nor the tolerances of the lamp explain it: check state, place and unit, and " +
		"read again; if it stays, find faults."
}

// steadyAfter returns the time after a cold start at which the heat sink has made 98 % of its rise at full day [s]; 0
// where it is not known.
func steadyAfter(ctx context.Context, result *figure.Evaluation) float64 {
	const share, longest = 0.98, 12 * 3600
	var times []float64
	for t := 60.0; t < longest; t *= 1.25 {
		times = append(times, t)
	}
	in := engine.Conditions{RoomK: result.Lamp.Design.Installation.Ambient.Typical.SI}
	steady, err := result.Sys.Measure(result.Base, in, nil)
	if err != nil {
		return 0
	}
	course, err := result.Sys.MeasureOver(ctx, result.Base, in, times, false)
	if err != nil {
		return 0
	}
	for i, m := range course {
		if m.SinkK()-m.AirK() >= share*(steady.SinkK()-steady.AirK()) {
			return 60 * math.Ceil(times[i]/60)
		}
	}
	return 0
}
