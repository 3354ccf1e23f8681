package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/bench"
	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// Measured is the readings of a lamp beside their predictions, and what they tell.
type Measured struct {
	Review   *bench.Review
	Readings *project.Readings
	Next     []bench.Next // readings to take next, the best first
	NextFor  string       // the figure that they determine
}

// nextShown is the number of next readings that are shown.
const nextShown = 5

// Tables returns the readings as tables: verdicts, series, what was learned, figures, explanations, next reading.
func (m *Measured) Tables() []Table {
	out := []Table{m.verdicts()}
	out = append(out, m.seriesTables()...)
	out = append(out, m.learned())
	return append(out, withRows(m.figures(), m.drift(), m.explanations(), m.next())...)
}

// Told returns what the readings say of the lamp, as tables that have rows: results before and after, ageing, next
// reading.
func (m *Measured) Told() []Table { return withRows(m.figures(), m.drift(), m.next()) }

// withRows returns the tables that have rows.
func withRows(tables ...Table) []Table {
	return slices.DeleteFunc(tables, func(t Table) bool { return len(t.Rows) == 0 })
}

// BenchFigures returns the results that readings determine where none are named: those of them that the lamp has.
func BenchFigures(result *figure.Evaluation) (out []bench.Figure) {
	for _, key := range []string{"lamp.junction", "target.ppfd", "mains.power"} {
		if f, ok := result.Figure(key); ok {
			out = append(out, bench.Figure{Key: key, Title: f.Title, Dim: f.Dim, Value: result.ValueOf(key)})
		}
	}
	return out
}

// verdicts is the table of all readings, without the points of series.
func (m *Measured) verdicts() Table {
	r := m.Review
	t := Table{
		Title: "Readings beside predictions", Text: m.summary(),
		Head: []string{
			"reading", "what, where", "predicted ± lamp", "read ± meter", "difference", "ζ", "E_n",
			"verdict",
		},
		Prose: []int{0, 1, 7},
		Notes: []string{
			"± is one standard uncertainty: of the lamp by its tolerances, of the reading by instrument and place. " +
				"ζ is the difference over both together; above 2 questionable, above 3 it differs. |E_n| ≤ 1 " +
				"agrees (k = 2).",
		},
		Picture: m.residuals("residuals", widePx),
	}
	vague := 0
	for i := range r.Rows {
		row := &r.Rows[i]
		if row.Verdict == bench.AgreesVague {
			vague++
		}
		if row.Point >= 0 {
			continue
		}
		t.Rows = append(t.Rows, m.verdictRow(row))
	}
	if vague > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("%s only because the prediction is vague: its uncertainty is more "+
			"than 3 times "+
			"that of the reading. Such an agreement proves little; the reading teaches the model.",
			counted(vague, "reading")+agrees(vague)))
	}
	return t
}

func agrees(n int) string {
	if n == 1 {
		return " agrees"
	}
	return " agree"
}

// verdictRow is a reading as a row of the table.
func (m *Measured) verdictRow(row *bench.Row) []string {
	predicted := quantity.FormatError(row.Predicted, row.ULamp, row.Dim)
	what := quantityName(row.What)
	if row.Where != "" {
		what += ", " + row.Where
	}
	if row.State != project.FullState {
		what += "; " + row.State
	}
	cells := []string{row.Label, what, predicted, "", "", "", "", string(row.Verdict)}
	if row.Verdict == bench.Pending {
		return cells
	}
	cells[3] = quantity.FormatError(row.Read, row.UMeter, row.Dim)
	cells[4] = difference(row.Difference, row.Predicted, math.Hypot(row.ULamp, row.UMeter), row.Dim)
	cells[5], cells[6] = quantity.Signed(row.Zeta, 1), quantity.Signed(row.En, 2)
	if row.Doubted {
		cells[7] += "; doubted, not used"
	}
	return cells
}

// difference prints a difference with its sign in the unit of a value, with the digits that its standard uncertainty u
// supports; of temperatures in K.
func difference(v, of, u float64, d quantity.Dim) string {
	unit := quantity.UnitOf(of, d)
	in := func(x float64) float64 { return quantity.In(of+x, d, unit) - quantity.In(of, d, unit) }
	if d == quantity.Temperature {
		unit = "K"
	}
	decimals := 0
	if s := in(u); s > 0 && s < 10 {
		decimals = 1 - int(math.Floor(math.Log10(s)))
	}
	return strings.TrimSpace(quantity.Signed(in(v), min(decimals, 6)) + " " + unit)
}

// summary says how the readings agree as a whole.
func (m *Measured) summary() string {
	r := m.Review
	count := map[bench.Verdict]int{}
	for i := range r.Rows {
		count[r.Rows[i].Verdict]++
	}
	var parts []string
	for _, v := range []bench.Verdict{
		bench.Agrees, bench.AgreesVague, bench.Questionable, bench.Differs, bench.Pending,
	} {
		if n := count[v]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s: %d", v, n))
		}
	}
	text := fmt.Sprintf("%s; %s. All %d that are used, together: χ² = %.1f with %d degrees of freedom; "+
		"probability of a "+
		"larger value %s.", counted(len(r.Rows), "value"), strings.Join(parts, "; "), r.Used, r.Chi2, r.Used,
		probability(r.PValue))
	if r.Robust {
		text += " Readings disagree with each other beyond their uncertainties: single ones that do not fit count " +
			"for " +
			"little (Student t errors, ν = 4)."
	}
	return text
}

// probability prints a probability; small ones as such.
func probability(p float64) string {
	switch {
	case p < 1e-4:
		return "below 0.0001"
	case p > 0.9999:
		return "above 0.9999"
	case p < 0.01:
		return fmt.Sprintf("%.4f", p)
	}
	return fmt.Sprintf("%.2f", p)
}

// residuals draws the readings in units of the uncertainty of their differences.
func (m *Measured) residuals(id string, width float64) draw.Picture {
	p := draw.Residuals{ID: id, Title: "Readings beside predictions", Width: width}
	for i := range m.Review.Rows {
		row := &m.Review.Rows[i]
		if row.Point >= 0 || row.Verdict == bench.Pending {
			continue
		}
		name := row.Label + ": " + quantityName(row.What)
		if row.Where != "" {
			name += ", " + row.Where
		}
		p.Rows = append(p.Rows, draw.Residual{
			Name: name, Verdict: string(row.Verdict), Zeta: row.Zeta, ULamp: row.ULamp, UMeter: row.UMeter,
			Beyond: row.Verdict == bench.Differs || row.Verdict == bench.Questionable, Unused: row.Doubted,
		})
	}
	return draw.ResidualsPicture(p)
}

// seriesTables returns a table with its picture for each series.
func (m *Measured) seriesTables() (out []Table) {
	rows := m.Review.Rows
	for first := 0; first < len(rows); {
		end := first + 1
		for end < len(rows) && rows[end].Point > 0 && rows[end].Campaign == rows[first].Campaign &&
			rows[end].Reading == rows[first].Reading {
			end++
		}
		if rows[first].Point >= 0 {
			if reading := m.readingOf(&rows[first]); reading != nil {
				out = append(out, m.seriesTable(reading, rows[first:end], len(out)+1))
			}
		}
		first = end
	}
	return out
}

// readingOf returns the reading of a row; nil where there is none.
func (m *Measured) readingOf(row *bench.Row) *project.Reading {
	for c := range m.Readings.Campaigns {
		campaign := &m.Readings.Campaigns[c]
		if campaign.Name.S == row.Campaign && row.Reading >= 0 && row.Reading < len(campaign.Readings) {
			return &campaign.Readings[row.Reading]
		}
	}
	return nil
}

// seriesTable is a series beside its prediction.
func (m *Measured) seriesTable(reading *project.Reading, rows []bench.Row, number int) Table {
	place := string(reading.Place.S)
	t := Table{
		Title: capital(strings.TrimSuffix(quantityName(string(reading.What.S))+", "+place, ", ")) + " (" +
			reading.Label + ")",
		Head:  []string{"at", "predicted ± lamp", "read ± meter", "difference", "ζ", "verdict"},
		Prose: []int{5},
	}
	worst := 0.0
	for i := range rows {
		cells := m.verdictRow(&rows[i])
		at := ""
		if rows[i].Point < len(reading.Series) {
			at = seriesPlace(&reading.Series[rows[i].Point])
		}
		t.Rows = append(t.Rows, []string{at, cells[2], cells[3], cells[4], cells[5], cells[7]})
		if math.Abs(rows[i].Zeta) > math.Abs(worst) {
			worst = rows[i].Zeta
		}
	}
	t.Text = fmt.Sprintf("%s in state %s; largest difference ζ %s.", counted(len(rows), "value"), rows[0].State,
		quantity.Signed(worst, 1))
	id := fmt.Sprintf("series-%d", number)
	if first := &reading.Series[0]; first.At.X.Set {
		t.Picture = gridPicture(id, t.Title, reading, rows)
	} else {
		t.Picture = bandPicture(id, t.Title, reading, rows)
	}
	return t
}

// seriesPlace names a point of a series.
func seriesPlace(p *project.SeriesPoint) string {
	switch {
	case p.Time.Set:
		return seconds(p.Time.SI)
	case p.Angle.Set:
		return quantity.Format(p.Angle.SI, quantity.Angle)
	}
	return strings.ReplaceAll(fmt.Sprintf("%s, %s", mm(p.At.X.SI), mm(p.At.Y.SI)), "-", "−")
}

// bandPicture draws a series by time or angle over the band of its prediction.
func bandPicture(id, title string, reading *project.Reading, rows []bench.Row) draw.Picture {
	b := draw.Band{ID: id, Title: title, Along: "minutes", Width: widePx}
	unit := quantity.UnitOf(rows[len(rows)-1].Predicted, rows[0].Dim)
	b.What = quantityName(string(reading.What.S)) + ", " + unit + ": line and band: predicted ±2u; circles: read ±2u"
	in := func(v float64) float64 { return quantity.In(v, rows[0].Dim, unit) }
	scale := in(1) - in(0)
	for i := range rows {
		row := &rows[i]
		x := row.TimeS / 60
		if p := &reading.Series[row.Point]; p.Angle.Set {
			x, b.Along = p.Angle.SI*180/math.Pi, "angle of the lamp, degrees"
		}
		b.Predicted = append(b.Predicted, draw.BandPoint{X: x, Y: in(row.Predicted), U: scale * row.ULamp})
		if row.Verdict != bench.Pending {
			b.Read = append(b.Read, draw.BandPoint{X: x, Y: in(row.Read), U: scale * row.UMeter})
		}
	}
	return draw.BandPicture(b)
}

// gridPicture draws a series over a plane: the predicted map with the readings on it. It is empty where the points are
// not a grid of at least 2 × 2.
func gridPicture(id, title string, reading *project.Reading, rows []bench.Row) draw.Picture {
	var xs, ys []float64
	for i := range rows {
		p := &reading.Series[rows[i].Point]
		xs, ys = append(xs, p.At.X.SI), append(ys, p.At.Y.SI)
	}
	gx, gy := distinct(xs), distinct(ys)
	if len(gx) < 2 || len(gy) < 2 || len(gx)*len(gy) != len(rows) {
		return draw.Picture{}
	}
	pitch := func(g []float64) float64 { return (g[len(g)-1] - g[0]) / float64(len(g)-1) }
	unit := quantity.UnitOf(rows[0].Predicted, rows[0].Dim)
	in := func(v float64) float64 { return quantity.In(v, rows[0].Dim, unit) }
	m := draw.Map{
		ID: id, Title: title, What: quantityName(string(reading.What.S)) + ", predicted", Unit: unit, NX: len(gx),
		NY:      len(gy),
		LengthM: pitch(gx) * float64(len(gx)), WidthM: pitch(gy) * float64(len(gy)), Cells: make([]float64, len(rows)),
		Edge: "grid of the readings", Width: widePx,
	}
	midX, midY := (gx[0]+gx[len(gx)-1])/2, (gy[0]+gy[len(gy)-1])/2
	for i := range rows {
		at := slices.Index(gy, ys[i])*len(gx) + slices.Index(gx, xs[i])
		m.Cells[at] = in(rows[i].Predicted)
		note := draw.MapReading{XM: xs[i] - midX, YM: ys[i] - midY}
		if rows[i].Verdict != bench.Pending {
			read := quantity.FormatWithin(rows[i].Read, rows[i].Read-rows[i].UMeter, rows[i].Read+rows[i].UMeter,
				rows[0].Dim)
			note.Text = strings.TrimSuffix(read, " "+unit)
			if rows[i].Predicted != 0 {
				note.Below = quantity.Signed(100*rows[i].Difference/rows[i].Predicted, 0) + " %"
			}
		}
		m.Readings = append(m.Readings, note)
	}
	return draw.LightMap(m)
}

// distinct returns the values in rising order, each once.
func distinct(v []float64) []float64 {
	out := slices.Clone(v)
	slices.Sort(out)
	return slices.Compact(out)
}

// learned is the table of the parameters that the readings tell.
func (m *Measured) learned() Table {
	t := Table{
		Title: "What the readings tell", Text: "Parameters of lamp and instruments before and after, ± one " +
			"standard deviation.",
		Head: []string{"parameter", "before", "after", "remaining", "told"}, Prose: []int{0, 4},
	}
	silent := 0
	for _, p := range m.Review.Learned {
		if p.Told == bench.ToldNothing {
			silent++
			continue
		}
		t.Rows = append(t.Rows, []string{
			p.Title, plusMinus(p.Prior, p.PriorSD), plusMinus(p.Value, p.SD), fmt.Sprintf("%.0f %%", 100*p.Ratio),
			string(p.Told),
		})
	}
	if silent > 0 {
		t.Notes = append(t.Notes, fmt.Sprintf("The readings tell nothing about %s: the standard deviation stays "+
			"above 95 %%.",
			counted(silent, "further parameter")))
	}
	for _, p := range m.Review.Pairs {
		t.Notes = append(t.Notes, capital(p.Text)+".")
	}
	for _, p := range m.Review.Untold {
		t.Notes = append(t.Notes, "Not told, only together: "+p+".")
	}
	for _, n := range m.Review.Notes {
		t.Notes = append(t.Notes, sentence(n))
	}
	return t
}

// plusMinus prints a plain number with its standard deviation.
func plusMinus(v, sd float64) string {
	if !(sd > 0) || bad(v) || bad(sd) {
		return fmt.Sprintf("%.4g", v)
	}
	power := 0
	if size := math.Max(math.Abs(v), sd); size < 0.001 {
		power = 3 * int(math.Floor(math.Log10(size)/3))
	}
	scale := math.Pow10(-power)
	decimals := max(0, 1-int(math.Floor(math.Log10(sd*scale))))
	text := fmt.Sprintf("%.*f ± %.*f", decimals, v*scale, decimals, sd*scale)
	if power != 0 {
		text = fmt.Sprintf("(%s)·10^%d", text, power)
	}
	return strings.ReplaceAll(text, "-", "−")
}

func (m *Measured) figures() Table {
	t := Table{Title: "Results before and after", Head: []string{
		"result", "predicted", "with the readings",
		"remaining",
	}, Prose: []int{0}}
	for _, f := range m.Review.Figures {
		remaining := ""
		if f.SDBefore > 0 {
			remaining = fmt.Sprintf("%.0f %%", 100*f.SDAfter/f.SDBefore)
		}
		t.Rows = append(t.Rows, []string{
			f.Title, quantity.FormatError(f.Before, f.SDBefore, f.Dim), quantity.FormatError(f.After, f.SDAfter,
				f.Dim), remaining,
		})
	}
	return t
}

// drift is the light of each channel in later campaigns beside the predicted ageing.
func (m *Measured) drift() Table {
	t := Table{
		Title: "Light over the operating time", Text: "Light of each channel over that when new: predicted ageing " +
			"beside the readings.",
		Head: []string{"campaign", "channel", "operating time", "predicted", "measured", "ζ", "verdict"},
	}
	for _, d := range m.Review.Drift {
		t.Rows = append(t.Rows, []string{
			d.Campaign, d.Channel, fmt.Sprintf("%.0f h", d.Hours), fmt.Sprintf("%.1f %%", 100*d.Predicted),
			quantity.FormatError(d.Measured, d.SD, quantity.Ratio), quantity.Signed(d.Zeta, 1), string(d.Verdict),
		})
	}
	return t
}

// explanations is the table of faults: those with a probability of at least 0.1 %, at least the two likeliest.
func (m *Measured) explanations() Table {
	faults := m.Review.Faults
	t := Table{
		Title: "Explanations", Head: []string{"explanation", "probability", "ln Bayes factor", "size", "do"},
		Prose: []int{0, 3, 4},
		Text: "Lamp as designed against single faults, by their evidence. A fault has a probability of 10 % " +
			"before any reading.",
	}
	for i, f := range faults {
		if i > 1 && f.Probability < 0.001 || i >= 6 {
			break
		}
		size, action := "", ""
		if f.FactorOf != "" {
			size = fmt.Sprintf("%s: %s", f.FactorOf, plusMinus(f.Factor, f.FactorSD))
		}
		if i == 0 || f.LogBayes > bench.LikelyLogBayes {
			action = f.Action
		}
		t.Rows = append(t.Rows, []string{
			f.Title, probability(f.Probability), quantity.Signed(f.LogBayes, 1), size,
			action,
		})
	}
	if len(faults) == 0 {
		return t
	}
	t.Notes = append(t.Notes, FaultText(faults))
	if d := faults[0].Decide; d != "" {
		t.Notes = append(t.Notes, "To decide: "+d+".")
	}
	return t
}

// FaultText says which explanation is the likeliest, and by which odds.
func FaultText(faults []bench.Fault) string {
	first := faults[0]
	if len(faults) < 2 || faults[1].Probability <= 0 {
		return "Likeliest: " + first.Title + "."
	}
	odds := first.Probability / faults[1].Probability
	text := fmt.Sprintf("Likeliest: %s; runner-up: %s; odds %s to 1.", first.Title, faults[1].Title, oddsText(odds))
	if first.Code == bench.Healthy {
		return text
	}
	switch {
	case first.LogBayes > bench.StrongLogBayes:
		text += " Evidence against the lamp as designed: strong."
	case first.LogBayes > bench.LikelyLogBayes:
		text += " Evidence against the lamp as designed: likely."
	default:
		text += " Evidence against the lamp as designed: weak."
	}
	return text
}

func oddsText(odds float64) string {
	switch {
	case odds > 1000:
		return "above 1000"
	case odds >= 10:
		return fmt.Sprintf("%.0f", odds)
	}
	return fmt.Sprintf("%.1f", odds)
}

func (m *Measured) next() Table {
	t := Table{
		Title: "Next reading", Text: fmt.Sprintf("What determines %s best, per minute of work.", m.NextFor),
		Head: []string{"reading", "state", "expected ± u", "minutes", "variance removed", "setting"}, Prose: []int{
			0,
			1, 5,
		},
	}
	for i, n := range m.Next {
		if i == nextShown || n.Reduction < 0.005 {
			break
		}
		what := quantityName(n.What)
		if n.Where != "" {
			what += ", " + n.Where
		}
		t.Rows = append(t.Rows, []string{
			what, n.State, quantity.FormatError(n.Expected, n.U, n.Dim), fmt.Sprintf("%.0f", n.Minutes),
			fmt.Sprintf("%.0f %%", 100*n.Reduction), n.Setting,
		})
	}
	return t
}
