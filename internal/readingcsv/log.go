package readingcsv

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// sample is a value of a log at a time.
type sample struct {
	s     float64
	value string // as written, with a decimal point
	at    place
}

// bin is a sum over the samples of an interval.
type bin struct {
	n    int
	s, v float64
	at   place // of its first sample
}

// series is a column of a log: its samples as long as they are few, and intervals.
type series struct {
	unit     string
	n        int
	few      []sample // empty once there are more than MaxPoints
	repeated bool     // two samples have the same time
	last     float64  // time of the last sample
	decimals int
	firstS   float64 // width of the first interval
	bins     [fineBins]bin
}

// fineBins is the number of intervals in which a log is summed while its length is not known.
const fineBins = 8 * MaxPoints

// startBin is the width of the first interval at the beginning [s]: below the step of any log. It grows by 4.
const startBin = 1e-6

// add takes one sample.
//
// Interval k is from firstS k² to firstS (k+1)²: short after switch-on, where temperatures change fastest. When a time
// lies beyond the last interval, firstS grows by the factor 4, and two neighbours become one.
func (q *series) add(x sample, value float64) {
	q.repeated = q.repeated || q.n > 0 && x.s <= q.last
	q.last = x.s
	if q.n++; q.n <= MaxPoints {
		q.few = append(q.few, x)
	} else {
		q.few = nil
	}
	if at := strings.IndexByte(x.value, '.'); at >= 0 {
		q.decimals = max(q.decimals, len(x.value)-at-1)
	}
	k := int(math.Sqrt(x.s / q.firstS))
	for ; k >= fineBins; k = int(math.Sqrt(x.s / q.firstS)) {
		for j := range fineBins / 2 {
			q.bins[j] = q.bins[2*j].with(q.bins[2*j+1])
		}
		clear(q.bins[fineBins/2:])
		q.firstS *= 4
	}
	q.bins[k] = q.bins[k].with(bin{1, x.s, value, x.at})
}

// with returns the sum of two intervals, the earlier one first.
func (b bin) with(c bin) bin {
	if b.n == 0 {
		b.at = c.at
	}
	return bin{b.n + c.n, b.s + c.s, b.v + c.v, b.at}
}

// maxDecimals is the greatest number of decimals of a mean.
const maxDecimals = 6

// points returns the samples, or where they are many the means of at most MaxPoints intervals, each of some fine ones;
// and the lengths of the shortest and the longest interval that has a sample [s], 0 where there are none.
func (q *series) points() (out []sample, shortest, longest float64) {
	if q.n <= MaxPoints && !q.repeated {
		return q.few, 0, 0
	}
	used := fineBins
	for used > 1 && q.bins[used-1].n == 0 {
		used--
	}
	group := (used + MaxPoints - 1) / MaxPoints
	for k := 0; k < used; k += group {
		var sum bin
		for _, b := range q.bins[k:min(k+group, used)] {
			sum = sum.with(b)
		}
		if sum.n == 0 {
			continue
		}
		n := float64(sum.n)
		mean := strconv.FormatFloat(sum.v/n, 'f', min(q.decimals+1, maxDecimals), 64)
		out = append(out, sample{sum.s / n, mean, sum.at})
		longest = q.firstS * float64(group*(2*k+group))
		if shortest == 0 {
			shortest = longest
		}
	}
	return out, shortest, longest
}

// clockwork reads the times of a log.
type clockwork struct {
	col, date int // columns; date is -1 where there is none
	unit      string
	first     instant
	zero      instant // the moment of switching
	stated    bool    // by the options
	last      float64
	lastText  string
	any       bool
	before    int    // lines before the moment of switching
	zones     string // a note about zones that change
}

// log reads a file with a column of time.
func (r *reader) log() {
	t := clockwork{date: -1}
	var values []int
	all := make([]series, len(r.columns))
	for i := range r.columns {
		c := &r.columns[i]
		switch c.role {
		case timeColumn:
			t.col, t.unit = i, c.unit
		case dateColumn:
			t.date = i
		case valueColumn:
			values = append(values, i)
			all[i] = series{unit: c.unit, firstS: startBin}
		case keyColumn, xColumn, yColumn, unitColumn:
			r.add(c.at, "state it by --set, or leave it out by --skip",
				"a log has no column %q: each of its columns of values is one series", c.head)
		case skipColumn:
		}
		if c.role == valueColumn && c.what != "" && !c.what.Logged() {
			r.add(c.at, "leave it out by --skip", "%s is not read over time", c.what)
		}
	}
	if len(r.problems) > 0 || !r.switchOn(&t) {
		return
	}
	empty := 0
	for cells := r.record(); cells != nil && !r.full(); cells = r.record() {
		if !r.sameCells(cells) {
			continue
		}
		s, ok := r.timeOf(&t, cells)
		for _, i := range values {
			switch {
			case !ok:
			case strings.TrimSpace(cells[i]) == "":
				empty++
			default:
				r.sampleOf(&all[i], cells, i, s)
			}
		}
	}
	r.logNotes(&t, empty)
	for _, i := range values {
		r.seriesOf(&r.columns[i], &all[i])
	}
}

// switchOn reads the moment of switching from the options.
func (r *reader) switchOn(t *clockwork) bool {
	if r.o.SwitchOn == "" {
		return true
	}
	t.stated = true
	if at, ok := clockTime(r.o.SwitchOn); ok {
		t.zero = at
		return true
	}
	s, err := quantity.Parse(r.o.SwitchOn, quantity.Time)
	if err != nil {
		r.whole(fmt.Sprintf("%q is not a time", r.o.SwitchOn),
			"write it as the log has it: 90 s, 10:00:00 or 2031-09-12 10:00:00")
		return false
	}
	t.zero = instant{s: s, form: "number"}
	return true
}

// timeOf returns the time of a line, from the moment of switching [s]; false where it is before that, or wrong.
func (r *reader) timeOf(t *clockwork, cells []string) (float64, bool) {
	text := strings.TrimSpace(cells[t.col])
	if t.date >= 0 {
		text = strings.TrimSpace(cells[t.date]) + " " + text
	}
	at, ok := r.instantOf(t, text)
	if !ok {
		return 0, false
	}
	if !t.any {
		t.any, t.first = true, at
		if !t.stated {
			t.zero = at
		}
		if !t.stated && at.form == "number" {
			t.zero.s = 0 // elapsed times count from switch-on
		}
	}
	switch {
	case at.form != t.zero.form:
		r.add(r.cellPlace(t.col), "write all times, and that of --switch-on, in one form",
			"%q is a time of another form than that before it", text)
		return 0, false
	case at.zoned != t.zero.zoned:
		r.add(r.cellPlace(t.col), "write all times, and that of --switch-on, with a time zone, or none",
			"of two times one has a time zone: %q", text)
		return 0, false
	case at.s < t.last && t.lastText != "":
		r.add(r.cellPlace(t.col), "sort the log; across midnight or a change of the clock write date and time zone",
			"the time goes back: %s after %s", text, t.lastText)
		return 0, false
	}
	if at.zone != t.first.zone && t.zones == "" {
		t.zones = fmt.Sprintf("the time zone changes from %s to %s at line %d; times are compared in UTC", t.first.zone,
			at.zone, r.cellPlace(t.col).line)
	}
	t.last, t.lastText = at.s, text
	if at.s < t.zero.s {
		t.before++
		return 0, false
	}
	return at.s - t.zero.s, true
}

// instantOf reads one time.
func (r *reader) instantOf(t *clockwork, text string) (instant, bool) {
	if strings.IndexByte(text, ':') >= 0 {
		at, ok := clockTime(text)
		if !ok {
			r.add(r.cellPlace(t.col), "write hours:minutes:seconds, such as 00:12:30, or 2031-09-12 10:00:00",
				"%q is not a time that can be read in one way", text)
		}
		return at, ok
	}
	number, unit, ok := r.number(text, t.col)
	if !ok {
		return instant{}, false
	}
	if unit == "" {
		unit = t.unit
	}
	if unit == "" {
		r.add(r.cellPlace(t.col), `write it into the header, such as "t (s)"`, "the time %s has no unit", number)
		return instant{}, false
	}
	s := 0.0
	if unit == "s" { // the way of nearly all logs, and fast
		s, _ = strconv.ParseFloat(number, 64)
	} else {
		var err error
		if s, err = quantity.Parse(number+" "+unit, quantity.Time); err != nil {
			r.add(r.cellPlace(t.col), "", "%s", err.Error())
			return instant{}, false
		}
	}
	if math.Abs(s) > maxTime {
		r.add(r.cellPlace(t.col), "", "a time of %s %s is too long for a log", number, unit)
		return instant{}, false
	}
	return instant{s: s, form: "number"}, true
}

// maxTime bounds the elapsed time of a log: a year [s].
const maxTime = 366 * 86400

// sampleOf takes a value of a series.
func (r *reader) sampleOf(q *series, cells []string, i int, s float64) {
	number, unit, ok := r.number(strings.TrimSpace(cells[i]), i)
	if !ok {
		return
	}
	unit = plainUnit(unit)
	switch {
	case unit == "":
	case q.unit == "":
		q.unit = unit
	case unit != q.unit:
		r.add(r.cellPlace(i), "write one unit in the whole column", "the unit is %s here, and %s before", unit, q.unit)
		return
	}
	if q.unit == "" {
		r.add(r.cellPlace(i), fmt.Sprintf("write it into the header, such as %q", r.columns[i].head+" ("+
			unitOf(&r.columns[i])+")"), "%s has no unit", number)
		return
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		r.add(r.cellPlace(i), "", "%s is too large a number", number)
		return
	}
	q.add(sample{s, number, r.cellPlace(i)}, v)
}

// logNotes states how the times were read.
func (r *reader) logNotes(t *clockwork, empty int) {
	if !t.any {
		return
	}
	note := func(format string, args ...any) { r.notes = append(r.notes, fmt.Sprintf(format, args...)) }
	switch {
	case t.stated:
		note("times count from %s", r.o.SwitchOn)
	case t.first.form != "number":
		note("times count from the first line; if the lamp was switched at another time, state it by --switch-on")
	}
	if t.before > 0 {
		note("%d lines before that are not used", t.before)
	}
	if t.zones != "" {
		note("%s", t.zones)
	}
	if empty > 0 {
		note("%d cells are empty", empty)
	}
}

// seriesOf adds the reading that a column of a log is.
func (r *reader) seriesOf(c *column, q *series) {
	if q.n == 0 {
		if len(r.problems) == 0 {
			r.add(c.at, "", "the column %q has no values", c.head)
		}
		return
	}
	points, shortest, longest := q.points()
	it := item{at: c.at, keys: map[string]place{"what": c.at}}
	parts := make([]string, len(points))
	for i, p := range points {
		it.points = append(it.points, p.at)
		parts[i] = "{time: " + seconds(p.s) + ", value: " + source.FlowText(p.value+" "+q.unit) + "}"
	}
	texts := map[string]string{"series": "[" + strings.Join(parts, ", ") + "]"}
	r.complete(texts, c.what)
	it.text = itemOf(texts)
	r.items = append(r.items, it)
	c.unit = q.unit
	r.notes = append(r.notes, r.describe(c)+fmt.Sprintf(", %d values", q.n))
	if longest > 0 {
		r.notes = append(r.notes, fmt.Sprintf("column %q: means of %d intervals of %s to %s", c.head, len(points),
			quantity.Format(shortest, quantity.Time), quantity.Format(longest, quantity.Time)))
	}
}

// seconds writes a time in seconds with at most 4 decimals.
func seconds(s float64) string {
	text := strconv.FormatFloat(s, 'f', 4, 64)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".") + " s"
}
