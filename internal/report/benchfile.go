package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"lampwright/internal/bench"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// BenchPlanCSV writes the readings of a plan, one per line, in the order of work; the unit is that of each row.
func BenchPlanCSV(w io.Writer, s *bench.PlanSheet) error {
	c := csv.NewWriter(w)
	number := func(x float64, d quantity.Dim, unit string) string {
		return strconv.FormatFloat(quantity.In(x, d, unit), 'g', 5, 64)
	}
	c.Write([]string{
		"id", "rank", "state", "what", "where", "instrument", "setting", "minutes", "expected", "low", "high", "unit",
		"value",
	})
	for _, r := range s.Readings() {
		rank := ""
		if r.Rank > 0 {
			rank = fmt.Sprint(r.Rank)
		}
		unit := quantity.UnitOf(r.Expected, r.Dim)
		c.Write([]string{
			cell(r.ID), rank, cell(r.Reading.State.Name.S), r.What, cell(r.Where), cell(r.Instrument), cell(r.Setting),
			fmt.Sprint(r.Minutes), number(r.Expected, r.Dim, unit), number(r.Lo(), r.Dim, unit), number(r.Hi(), r.Dim,
				unit), unit, "",
		})
	}
	for _, x := range []*bench.PlanSeries{s.Warmup, s.Map} {
		if x == nil {
			continue
		}
		for i, p := range x.Points {
			unit := quantity.UnitOf(p.Expected, x.Dim)
			c.Write([]string{
				cell(x.ID) + " " + fmt.Sprint(i+1), "", cell(x.Reading.State.Name.S), x.What, x.Where + ", " +
					pointPlace(p),
				cell(x.Instrument), "", "", number(p.Expected, x.Dim, unit), number(p.Expected-2*p.U, x.Dim, unit),
				number(p.Expected+2*p.U, x.Dim, unit), unit, "",
			})
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return fmt.Errorf("write bench plan as CSV: %w", err)
	}
	return nil
}

// pointPlace names a point of a series.
func pointPlace(p bench.PlanPoint) string {
	if p.TimeS > 0 {
		return Duration(p.TimeS)
	}
	return fmt.Sprintf("%.0f mm, %.0f mm", 1000*p.XM, 1000*p.YM)
}

// BenchPlanReadings writes a readings file with the planned readings: the expected values are comments, and each value
// is still to be entered. date is that of the campaign.
func BenchPlanReadings(w io.Writer, name, date string, s *bench.PlanSheet) error {
	f := &readingsWriter{}
	f.line(0, "# Readings of "+oneLine(name)+", as planned. Replace the # before value by the reading with its "+
		"unit, delete")
	f.line(0, "# what was not read, then run `lampwright bench review`. Expected: predicted value, ±2 standard "+
		"uncertainties.")
	f.line(0, "lampwright_readings: 1")
	f.line(0, "instruments:")
	for _, in := range s.Instruments {
		f.instrument(in)
	}
	f.line(0, "campaigns:")
	f.line(2, "- name: first bench")
	f.line(4, "date: "+date)
	f.line(4, "room: "+quantity.Format(s.RoomK, quantity.Temperature)+" # enter the air temperature that you read")
	if len(s.States) > 0 {
		f.line(4, "states:")
		for _, st := range s.States {
			f.state(st)
		}
	}
	f.line(4, "readings:")
	for _, r := range s.Readings() {
		f.reading(r)
	}
	for _, x := range []*bench.PlanSeries{s.Warmup, s.Map} {
		if x != nil {
			f.series(x)
		}
	}
	_, err := io.WriteString(w, f.b.String())
	return err
}

// readingsWriter collects the lines of a readings file.
type readingsWriter struct{ b strings.Builder }

func (f *readingsWriter) line(indent int, text string) {
	f.b.WriteString(strings.Repeat(" ", indent) + text + "\n")
}

// pair writes a key with a text, where there is one.
func (f *readingsWriter) pair(indent int, key, text string) {
	if text != "" {
		f.line(indent, key+": "+yamlText(text))
	}
}

// given is the text of a value as its file has it.
func given(v source.Value) string { return v.Text }

func (f *readingsWriter) instrument(in *project.Instrument) {
	f.line(2, "- name: "+yamlText(in.Name.S))
	f.pair(4, "kind", string(in.Kind.S))
	f.pair(4, "class", string(in.Class.S))
	f.pair(4, "accuracy", given(in.Accuracy))
	if in.AccuracyDigits.Set {
		f.line(4, fmt.Sprintf("accuracy_digits: %d", in.AccuracyDigits.N))
	}
	f.pair(4, "accuracy_offset", in.OffsetText.S)
	f.pair(4, "resolution", in.ResolutionText.S)
	if in.Range != nil {
		f.line(4, "range:")
		f.pair(6, "min", in.Range.MinText.S)
		f.pair(6, "max", in.Range.MaxText.S)
	}
	f.pair(4, "correction", given(in.Correction))
	f.pair(4, "correction_offset", in.CorrectionText.S)
	f.pair(4, "immersion_factor", given(in.Immersion))
	f.pair(4, "burden", given(in.Burden))
	f.pair(4, "note", in.Note.S)
	if !in.Accuracy.Set && !in.Offset.Set && !in.Class.Set {
		f.line(4, "# accuracy: not stated; usual errors of its kind are assumed")
	}
}

func (f *readingsWriter) state(st *project.LampState) {
	f.line(6, "- name: "+yamlText(st.Name.S))
	if st.Levels != nil {
		f.line(8, "levels:")
		for _, l := range st.Levels {
			f.line(10, "- channel: "+yamlText(l.Channel.S))
			f.line(12, fmt.Sprintf("level: %.4g %%", 100*l.Level.SI))
		}
	}
	f.pair(8, "lenses", string(st.Lenses.S))
	if st.After.Set {
		f.line(8, "after: "+seconds(st.After.SI))
	}
}

// head writes the keys of a reading that say what is read, and where.
func (f *readingsWriter) head(indent int, prefix string, r *project.Reading) {
	first := strings.Repeat(" ", indent) + prefix
	f.b.WriteString(first + "- id: " + yamlText(r.ID.S) + "\n")
	pair := func(key, text string) {
		if text != "" {
			f.b.WriteString(first + "  " + key + ": " + text + "\n")
		}
	}
	pair("what", string(r.What.S))
	pair("instrument", yamlText(r.Instrument.Name.S))
	pair("state", yamlText(r.State.Name.S))
	if r.Channel.Set && r.EmitterLabel.S == "" {
		pair("channel", yamlText(r.Channel.S))
	}
	pair("place", string(r.Place.S))
	pair("emitter", quotedOrEmpty(r.EmitterLabel.S))
	pair("spot", quotedOrEmpty(r.SpotName.S))
	if r.Distance.Set {
		pair("distance", quantity.Format(r.Distance.SI, quantity.Length))
	}
	if r.At.X.Set {
		pair("at", fmt.Sprintf("[%s, %s]", mm(r.At.X.SI), mm(r.At.Y.SI)))
	}
}

func quotedOrEmpty(s string) string {
	if s == "" {
		return ""
	}
	return yamlText(s)
}

// mm prints a length in millimetres, to a tenth.
func mm(m float64) string { return strconv.FormatFloat(math.Round(m*1e4)/10+0, 'f', -1, 64) + " mm" }

// seconds prints a time in whole seconds, or minutes.
func seconds(s float64) string {
	if s >= 120 && math.Mod(s, 60) == 0 {
		return fmt.Sprintf("%.0f min", s/60)
	}
	return fmt.Sprintf("%.0f s", s)
}

func (f *readingsWriter) reading(r *bench.PlanReading) {
	f.head(6, "", r.Reading)
	at, spread := expected(r.Expected, r.U, r.Dim)
	f.line(8, "# "+oneLine(r.Setting))
	if r.Reading.What.S == project.ReadJunctionTemperature {
		f.line(8, "# expected "+at+", "+spread+"; enter cold_voltage and steady_voltage, or value")
		f.line(8, "# cold_voltage:")
		f.line(8, "# steady_voltage:")
		return
	}
	f.line(8, "# expected "+at+", "+spread)
	f.line(8, "# value:")
}

// series writes a series as comments: each of its points needs a value.
func (f *readingsWriter) series(x *bench.PlanSeries) {
	f.line(6, "# Series "+x.ID+": remove the first # of the lines whose values you enter.")
	f.head(6, "# ", x.Reading)
	f.line(6, "#   series:")
	for _, p := range x.Points {
		at, spread := expected(p.Expected, p.U, x.Dim)
		key := "time: " + seconds(p.TimeS)
		if p.TimeS == 0 {
			key = "at: [" + mm(p.XM) + ", " + mm(p.YM) + "]"
		}
		f.line(6, "#     - {"+key+", value: } # expected "+at+", "+spread)
	}
}

var plainYAML = regexp.MustCompile(`^[\pL][\pL\pN_./-]*( [\pL\pN_.%/+-]+)*$|^[0-9][0-9.]* [^\s,:#\[\]{}"'\\&*!|>@` +
	"`" + `]+$`)

// words of YAML that are no text.
var yamlWords = regexp.MustCompile(`(?i)^(y|n|yes|no|on|off|true|false|null|~)$`)

// yamlText returns a text as a scalar of YAML.
func yamlText(s string) string {
	if plainYAML.MatchString(s) && !yamlWords.MatchString(s) {
		return s
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// oneLine returns a text for a comment.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
