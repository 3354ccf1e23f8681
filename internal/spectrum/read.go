package spectrum

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"lampwright/internal/textpos"
)

// Limits of a spectrum file. A spectrometer writes some 2000 rows.
const (
	MaxFileBytes = 8 << 20
	maxRows      = 20000
	maxColumns   = 64
	maxProblems  = 20
	maxPower     = 1e100 // so that no sum overflows
)

// How much a reading is mended before it is refused.
const (
	noiseShare   = 0.01 // negative values down to this fraction of the peak are a spectrometer's dark noise
	noisyShare   = 1e-3 // of all light: more noise below zero than this is reported
	widestGapNM  = 20.0 // wider gaps hide whole emission bands, unless both ends are dark
	roughNM      = 10   // within such steps even narrow bands keep their sum
	finestGridNM = 5    // regular data this fine is summed as it is; coarser is brought to 1 nm
)

// Problem is one thing in a spectrum file that cannot be read.
type Problem = textpos.Problem

// Problems are all that is wrong with a spectrum file.
type Problems = textpos.Problems

// Named is one spectrum of a file.
type Named struct {
	Name     string
	Spectrum Spectrum
	Quantity string   // what the file says it is: "flux", "irradiance", "relative", …; empty if it does not
	Notes    []string // what was mended or assumed in reading
}

// Read returns the spectra of a file: either text in columns, wavelength first and then one column a spectrum, or XML
// after IES TM-27.
//
// Text may be separated by commas, semicolons, tabs or blanks, with decimal points or (unless commas separate) decimal
// commas; lines that start with # and a header are allowed; the last line before the numbers names the columns.
// Wavelengths may also be in micrometres, ångströms or metres, which no nanometres can be mistaken for. Notes say what
// was mended: order, equal duplicates, small gaps, negative noise. What cannot be mended is an error of type Problems
// that names lines. A file contains at most 8 MB, 20 000 rows and 64 spectra.
// Source: TM27-20 (XML elements); the rest is a rule of thumb (no source).
func Read(text []byte) ([]Named, error) {
	switch {
	case len(text) > MaxFileBytes:
		return nil, Problems{{Text: fmt.Sprintf("the file has %d bytes; a spectrum file has at most %d", len(text), MaxFileBytes)}}
	case bytes.HasPrefix(text, []byte{0xff, 0xfe}):
		text = utf16Text(text[2:], binary.LittleEndian)
	case bytes.HasPrefix(text, []byte{0xfe, 0xff}):
		text = utf16Text(text[2:], binary.BigEndian)
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return nil, Problems{{Text: "the file is empty"}}
	case bytes.IndexByte(text, 0) >= 0:
		return nil, Problems{{Text: "the file is not text"}}
	case bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")):
		return readXML(text)
	}
	t, problems := readColumns(text)
	if len(problems) > 0 {
		return nil, problems
	}
	return t.spectra()
}

// utf16Text returns UTF-16 text, as spreadsheets and instruments on some systems save it, as UTF-8.
func utf16Text(text []byte, order binary.ByteOrder) []byte {
	units := make([]uint16, len(text)/2)
	for i := range units {
		units[i] = order.Uint16(text[2*i:])
	}
	return []byte(string(utf16.Decode(units)))
}

// columns is a text file as numbers, before judging them.
type columns struct {
	names []string
	text  [][]byte // lines of the file
	style style
	lines []int       // line of each row
	nm    []float64   // wavelengths as written
	power [][]float64 // by spectrum, then row; NaN is a gap
	notes []string
}

// style is how the lines of a file are to be split.
type style struct {
	separator byte // ',', ';', '\t' or ' '
	header    []string
}

// cell is what is in one column of a line.
type cell struct {
	text   string
	quoted bool
	at     int // offset of the cell in its line [bytes]
}

// split returns the cells of a line. In quotes a separator is text: "380","0,5" has two cells.
func (s style) split(line string) []cell {
	var out []cell
	add := func(from, to int) {
		c := strings.TrimLeftFunc(line[from:to], unicode.IsSpace)
		at := to - len(c)
		c = strings.TrimSpace(c)
		bare := strings.TrimSpace(strings.Trim(c, `"`))
		out = append(out, cell{bare, len(c) >= 2 && c[0] == '"' && c[len(c)-1] == '"', at})
	}
	if s.separator == ' ' {
		from := 0
		for _, c := range strings.Fields(line) {
			from += strings.Index(line[from:], c)
			add(from, from+len(c))
			from += len(c)
		}
		return out
	}
	from, quoted := 0, false
	for i := range len(line) {
		switch {
		case line[i] == '"':
			quoted = !quoted
		case line[i] == s.separator && !quoted:
			add(from, i)
			from = i + 1
		}
	}
	add(from, len(line))
	for len(out) > 2 && out[len(out)-1].text == "" { // trailing separators
		out = out[:len(out)-1]
	}
	return out
}

// names returns the texts of cells.
func names(cells []cell) (out []string) {
	for _, c := range cells {
		out = append(out, c.text)
	}
	return out
}

// linesOf cuts a text at any kind of line end.
func linesOf(text []byte) [][]byte {
	text = bytes.ReplaceAll(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")), []byte("\r"), []byte("\n"))
	return bytes.Split(text, []byte("\n"))
}

// line returns a line of the file without blanks at its ends, and the number of characters before it.
func (t *columns) line(n int) (line string, indent int) {
	raw := t.text[min(n, len(t.text))-1]
	if !utf8.Valid(raw) {
		raw = latin1(raw)
	}
	whole := strings.TrimRightFunc(string(raw), unicode.IsSpace)
	line = strings.TrimSpace(whole)
	return line, utf8.RuneCountInString(whole[:len(whole)-len(line)])
}

// problem returns what is wrong in a column of a line.
func (t *columns) problem(n, column int, format string, args ...any) Problem {
	line, indent := t.line(n)
	p := Problem{Line: n, Col: indent + 1, Text: fmt.Sprintf(format, args...)}
	if cells := t.style.split(line); column < len(cells) {
		p.Col += utf8.RuneCountInString(line[:cells[column].at])
	}
	p.Excerpt = strings.Repeat(" ", indent) + line
	return p
}

// readColumns reads the numbers of a text file.
func readColumns(text []byte) (columns, Problems) {
	var (
		t              columns
		problems       Problems
		st             *style
		last           string
		skipped        int
		points, commas int
		width          int
	)
	report := func(line, column int, format string, args ...any) {
		problems = append(problems, t.problem(line, column, format, args...))
	}
	t.text = linesOf(text)
	for n := range t.text {
		if len(problems) >= maxProblems {
			problems = append(problems, Problem{Text: "there are more problems after these"})
			break
		}
		line, _ := t.line(n + 1)
		if line == "" || line[0] == '#' {
			continue
		}
		if st == nil {
			sep, ok := separatorOf(line)
			if !ok {
				last = line
				skipped++
				continue
			}
			st = &style{separator: sep}
			t.style = *st
			if last != "" {
				st.header = names(st.split(last))
			}
			width = len(st.split(line))
			if len(st.header) > 0 && len(st.header) != width && sep == ',' && width > len(st.header) {
				report(n+1, 0, "this line has %d values and the header %d names; if commas are decimal commas, "+
					"separate the columns with semicolons", width, len(st.header))
				return t, problems
			}
			if width-1 > maxColumns {
				report(n+1, 0, "there are %d spectra; a file contains at most %d", width-1, maxColumns)
				return t, problems
			}
			t.power = make([][]float64, width-1)
		}
		cells := st.split(line)
		if len(cells) > width || len(cells) < width && st.separator == ' ' {
			report(n+1, 0, "this line has %d values, the first one %d", len(cells), width)
			continue
		}
		for len(cells) < width {
			cells = append(cells, cell{})
		}
		if len(t.nm) >= maxRows {
			report(n+1, 0, "there are more than %d rows", maxRows)
			return t, problems
		}
		row := make([]float64, width)
		good := true
		for j, c := range cells {
			v, kind := number(c.text, c.quoted || st.separator != ',')
			if j > 0 && st.separator == ',' && len(st.header) != width && decimals(c.text) {
				report(n+1, j, "%.40q looks like what is behind a decimal comma; separate the columns with "+
					"semicolons, or name them in a header", c.text)
				return t, problems
			}
			switch kind {
			case notNumber:
				report(n+1, j, "%.40q is not a number", c.text)
				good = false
			case gap:
				if j == 0 {
					report(n+1, 0, "the wavelength is missing")
					good = false
				}
				v = math.NaN()
			case withPoint:
				points++
			case withComma:
				commas++
			}
			row[j] = v
		}
		if !good {
			continue
		}
		t.lines = append(t.lines, n+1)
		t.nm = append(t.nm, row[0])
		for j := range t.power {
			t.power[j] = append(t.power[j], row[j+1])
		}
	}
	if st == nil {
		return t, Problems{{Text: "there is no line with a wavelength and a value; the first column is nm, then one " +
			"column a spectrum"}}
	}
	if points > 0 && commas > 0 {
		problems = append(problems, Problem{
			Text: "some numbers have decimal points and some decimal commas; write all alike",
		})
	} else if commas > 0 {
		t.notes = append(t.notes, "decimal commas were read as such")
	}
	for j := range t.power {
		name := fmt.Sprintf("column %d", j+2)
		if len(st.header) == width && st.header[j+1] != "" {
			name = label(st.header[j+1])
		}
		t.names = append(t.names, name)
	}
	if skipped > 1 {
		t.notes = append(t.notes, fmt.Sprintf("%d lines before the numbers were passed over", skipped-1))
	}
	return t, problems
}

// label returns a name fit to be printed: no control characters, at most 80 letters.
func label(name string) string {
	var out []rune
	for _, r := range name {
		if unicode.IsPrint(r) && len(out) < 80 {
			out = append(out, r)
		}
	}
	return string(out)
}

// decimals reports whether a cell is such as 05 or 0123, which nobody writes for a number of its own.
func decimals(text string) bool {
	return len(text) > 1 && text[0] == '0' && strings.Trim(text, "0123456789") == ""
}

// latin1 returns bytes of an old Western file as text, so that µ and Å in a header survive.
func latin1(raw []byte) []byte {
	var out []rune
	for _, c := range raw {
		out = append(out, rune(c))
	}
	return []byte(string(out))
}

// separatorOf reports what separates the columns of a line of numbers, and whether it is one.
func separatorOf(line string) (byte, bool) {
	try := func(sep byte, comma bool) bool {
		cells := style{separator: sep}.split(line)
		if len(cells) < 2 {
			return false
		}
		if _, kind := number(cells[0].text, comma || cells[0].quoted); kind == notNumber || kind == gap {
			return false
		}
		filled := false
		for _, c := range cells[1:] {
			_, kind := number(c.text, comma || c.quoted)
			if kind == notNumber {
				return false
			}
			filled = filled || kind != gap
		}
		return filled
	}
	for _, sep := range []byte{';', '\t', ' ', ','} {
		if try(sep, sep != ',') {
			return sep, true
		}
	}
	return 0, false
}

type numberKind int

const (
	notNumber numberKind = iota
	gap
	whole
	withPoint
	withComma
)

// number reads a cell. Only decimal digits, sign, point or comma and an exponent make a number.
func number(cell string, commaAllowed bool) (float64, numberKind) {
	switch strings.ToLower(cell) {
	case "", "-", "nan", "n/a", "na":
		return 0, gap
	}
	kind := whole
	for i, r := range cell {
		switch {
		case r >= '0' && r <= '9', r == '+', r == '-', r == 'e', r == 'E':
		case r == '.' && kind == whole:
			kind = withPoint
		case r == ',' && kind == whole && commaAllowed && i+1 < len(cell): // "380, 0.5" is separated by a comma
			kind = withComma
		default:
			return 0, notNumber
		}
	}
	v, err := strconv.ParseFloat(strings.Replace(cell, ",", ".", 1), 64)
	if err != nil || math.Abs(v) > maxPower {
		return 0, notNumber
	}
	return v, kind
}

// spectra judges the numbers and makes spectra of them.
func (t columns) spectra() ([]Named, error) {
	if len(t.nm) < 3 {
		return nil, Problems{{Text: fmt.Sprintf("there are %d rows of numbers; a spectrum needs three at least", len(t.nm))}}
	}
	if problem := t.toNM(); problem != nil {
		return nil, Problems{*problem}
	}
	t.sort()
	var out []Named
	var problems Problems
	for j := range t.power {
		s, bad := t.spectrum(j)
		problems = append(problems, bad...)
		out = append(out, s)
	}
	if len(problems) > 0 {
		if len(problems) > maxProblems {
			problems = append(problems[:maxProblems:maxProblems], Problem{Text: "there are more problems after these"})
		}
		return nil, problems
	}
	return out, nil
}

// toNM converts the wavelengths to nanometres by their size: 0.2 to 3 can only be micrometres, and so on.
func (t *columns) toNM() *Problem {
	lo, hi := slices.Min(t.nm), slices.Max(t.nm)
	for _, u := range []struct {
		name     string
		from, to float64
		nm       float64
	}{
		{"nanometres", 150, 2600, 1},
		{"micrometres", 0.15, 2.6, 1e3},
		{"ångströms", 2600, 26000, 0.1},
		{"metres", 1.5e-7, 2.6e-6, 1e9},
	} {
		if lo < u.from || hi > u.to {
			continue
		}
		if u.nm != 1 {
			t.notes = append(t.notes, fmt.Sprintf("wavelengths from %g to %g can only be %s; they were read as such", lo, hi, u.name))
			for i := range t.nm {
				t.nm[i] = tidy(t.nm[i] * u.nm)
			}
		}
		return nil
	}
	return &Problem{
		Text: fmt.Sprintf(
			"wavelengths run from %g to %g, which fits neither nanometres (such as 380 to 780) nor micrometres or "+
				"ångströms",
			lo, hi,
		),
	}
}

// tidy takes away the rounding error of a change of units.
func tidy(nm float64) float64 { return math.Round(nm*1e6) / 1e6 }

// sort puts the rows in order of wavelength, and notes it if they were not.
func (t *columns) sort() {
	if sort.Float64sAreSorted(t.nm) {
		return
	}
	order := make([]int, len(t.nm))
	for i := range order {
		order[i] = i
	}
	falling := sort.SliceIsSorted(order, func(i, j int) bool { return t.nm[order[i]] > t.nm[order[j]] })
	sort.SliceStable(order, func(i, j int) bool { return t.nm[order[i]] < t.nm[order[j]] })
	if falling {
		t.notes = append(t.notes, "wavelengths fall from row to row; the order was turned round")
	} else {
		first := 1
		for t.nm[first] >= t.nm[first-1] {
			first++
		}
		t.notes = append(t.notes, fmt.Sprintf("wavelengths are out of order from line %d; the rows were sorted", t.lines[first]))
	}
	nm, lines := t.nm, t.lines
	t.nm, t.lines = make([]float64, len(nm)), make([]int, len(nm))
	for i, k := range order {
		t.nm[i], t.lines[i] = nm[k], lines[k]
	}
	for j, p := range t.power {
		t.power[j] = make([]float64, len(p))
		for i, k := range order {
			t.power[j][i] = p[k]
		}
	}
}

// spectrum makes one spectrum of column j.
func (t columns) spectrum(j int) (Named, Problems) {
	out := Named{Name: t.names[j], Notes: slices.Clone(t.notes)}
	var problems Problems
	report := func(line int, format string, args ...any) {
		why := fmt.Sprintf("%.60s: ", out.Name) + fmt.Sprintf(format, args...)
		p := Problem{Text: why}
		if line > 0 {
			p = t.problem(line, j+1, "%s", why)
		}
		problems = append(problems, p)
	}
	note := func(format string, args ...any) { out.Notes = append(out.Notes, fmt.Sprintf(format, args...)) }

	var nm, power []float64
	var lines []int
	gaps, repeated := 0, 0
	for i, v := range t.power[j] {
		if math.IsNaN(v) {
			gaps++
			continue
		}
		if k := len(nm) - 1; k >= 0 && nm[k] == t.nm[i] {
			if power[k] != v {
				report(t.lines[i], "%g nm appears twice, with %g here and %g in line %d", nm[k], v, power[k], lines[k])
			}
			repeated++
			continue
		}
		nm, power, lines = append(nm, t.nm[i]), append(power, v), append(lines, t.lines[i])
	}
	if len(problems) > 0 {
		return out, problems
	}
	if len(nm) < 3 {
		report(0, "there are %d values; a spectrum needs three at least", len(nm))
		return out, problems
	}
	peak := slices.Max(power)
	if peak <= 0 {
		report(0, "no value is above zero")
		return out, problems
	}
	negative, worst, below, above := 0, 0.0, 0.0, 0.0
	for i, v := range power {
		if v >= 0 {
			above += v
			continue
		}
		below -= v
		if v < -noiseShare*peak {
			report(lines[i], "%g at %g nm is negative; a source radiates nothing or more", v, nm[i])
			continue
		}
		negative++
		worst = math.Min(worst, v)
		power[i] = 0
	}
	widest := 0.0
	for i := 1; i < len(nm); i++ {
		d := nm[i] - nm[i-1]
		if inRange := nm[i] > LoNM && nm[i-1] < HiNM; !inRange {
			continue
		}
		bright := power[i] > darkShare*peak || power[i-1] > darkShare*peak
		if d > widestGapNM && bright {
			report(lines[i], "there is no value between %g nm and %g nm; a gap may be %g nm wide", nm[i-1], nm[i], widestGapNM)
		}
		if bright {
			widest = math.Max(widest, d)
		}
	}
	if len(problems) > 0 {
		return out, problems
	}
	if repeated > 0 {
		note("%d wavelengths appear twice with the same value; one was taken", repeated)
	}
	if gaps > 0 {
		note("%d values are missing; the curve was drawn across", gaps)
	}
	if negative > 0 {
		note("%d values are negative down to %.2g %% of the peak, as dark noise is; they were taken as 0", negative, -100*worst/peak)
		if share := below / above; share > noisyShare {
			note(
				"the noise below zero sums to %.1f %% of the light, and as much above zero may be noise too: figures "+
					"of wide bands may be too high by that",
				100*share,
			)
		}
	}
	if nm[0] < LoNM || nm[len(nm)-1] > HiNM {
		note("what lies outside %d nm to %d nm was left aside", LoNM, HiNM)
	}
	s, how, err := fromRows(nm, power)
	if err != nil {
		report(0, "%v", err)
		return out, problems
	}
	if how != "" {
		note("%s", how)
	}
	if widest > finestGridNM {
		note("samples lie up to %g nm apart; narrow emission bands may be missed", widest)
		s.apartNM, s.rough = widest, roughness(nm, power) > roughShare
	}
	out.Spectrum = s
	return out, nil
}

// roughShare is how far a sample may lie off the line between its neighbours, over the peak, before widely spaced
// samples are said not to resolve the light (ours: a bell curve does so when its width at half power is less than three
// steps).
const roughShare = 0.3

// roughness returns the largest distance of a sample from the line between its neighbours, over the peak, where both
// are more than 10 nm off.
func roughness(nm, power []float64) float64 {
	worst := 0.0
	for i := 1; i+1 < len(power); i++ {
		before, after := nm[i]-nm[i-1], nm[i+1]-nm[i]
		if math.Min(before, after) > roughNM {
			worst = math.Max(worst, math.Abs(power[i]-(power[i-1]*after+power[i+1]*before)/(before+after)))
		}
	}
	return worst / slices.Max(power)
}

// fromRows returns the spectrum at its own step where that is regular, whole and fine, else on the lamp grid, and how
// it came there.
//
// Wider regular steps are filled in by Sprague's interpolation. Anything else is a monotone cubic through the samples,
// taken every nanometre, which for a smooth spectrum sums as its standard means it. Samples closer than 1 nm whose
// lines or noise fall between the nanometres are averaged about each by a triangle of 1 nm either way instead. Source:
// CIE167-2005 (interpolation).
func fromRows(nm, power []float64) (s Spectrum, how string, err error) {
	step := nm[1] - nm[0]
	whole := step == math.Trunc(step) && step >= 1 && step <= widestGapNM && nm[0] == math.Trunc(nm[0])
	widest := step
	for i := 1; i < len(nm); i++ {
		whole = whole && nm[i]-nm[i-1] == step
		if nm[i] > LoNM && nm[i-1] < HiNM {
			widest = math.Max(widest, nm[i]-nm[i-1])
		}
	}
	switch {
	case whole && step <= finestGridNM:
		s, err = OnGrid(int(nm[0]), int(step), power)
		return s, "", err
	case whole && len(nm) >= 6 && nm[0] <= HiNM && nm[len(nm)-1] >= LoNM:
		return fromCoarse(nm, power), fmt.Sprintf("the samples stand every %g nm; a smooth curve through them (CIE "+
			"167) was taken every 1 nm", step), nil
	}
	s, err = FromTable(nm, power)
	if err == nil && widest < 1 {
		if mean := fromFine(nm, power); !alike(s, mean) {
			return mean, "the samples stand closer than 1 nm, and lines or noise fall between whole nanometres; they " +
				"were averaged about every 1 nm", nil
		}
	}
	return s, "the samples are not a regular grid of whole nanometres; a smooth curve through them was taken every 1 " +
		"nm", err
}

// alike reports whether two spectra give each band of 20 nm the same light, to a thousandth of all of it.
func alike(a, b Spectrum) bool {
	const bandNM = 20
	all := a.RadiantW()
	for i := 0; i < Count; i += bandNM {
		d := 0.0
		for j := i; j < min(i+bandNM, Count); j++ {
			d += a.wPerNM[j] - b.wPerNM[j]
		}
		if math.Abs(d) > 1e-3*all {
			return false
		}
	}
	return true
}

// fromCoarse fills a regular grid of whole nanometres in on the lamp grid; what would dip below zero is dark, and the
// rest keeps the sum.
func fromCoarse(nm, power []float64) Spectrum {
	step := nm[1] - nm[0]
	r := spragueRow(power)
	s := dark()
	sum := 0.0
	for i := range s.wPerNM {
		x := (float64(LoNM+i) - nm[0]) / step
		if x < 0 || x > float64(len(nm)-1) {
			continue
		}
		j := min(int(x), len(nm)-2)
		v := sprague(r[j:j+6], x-float64(j))
		sum += v
		s.wPerNM[i] = math.Max(v, 0)
	}
	s = s.ScaleToW(math.Max(sum, 0))
	s.setKnown(nm[0], nm[len(nm)-1])
	return s
}

// fromFine averages samples closer than 1 nm about each nanometre.
func fromFine(nm, power []float64) Spectrum {
	s := dark()
	weight := make([]float64, Count)
	for k := 1; k < len(nm); k++ {
		// Cut each piece at whole nanometres: in between, the triangles are straight lines.
		for a := nm[k-1]; a < nm[k]; {
			b := math.Min(nm[k], math.Floor(a)+1)
			at := func(x float64) float64 { return power[k-1] + (power[k]-power[k-1])*(x-nm[k-1])/(nm[k]-nm[k-1]) }
			for _, i := range [2]int{int(math.Floor(a)) - LoNM, int(math.Floor(a)) - LoNM + 1} {
				if i < 0 || i >= Count {
					continue
				}
				hat := func(x float64) float64 { return 1 - math.Abs(x-float64(LoNM+i)) }
				// The product of two straight lines: Simpson's rule is exact.
				m := (a + b) / 2
				s.wPerNM[i] += (b - a) / 6 * (at(a)*hat(a) + 4*at(m)*hat(m) + at(b)*hat(b))
				weight[i] += (b - a) / 6 * (hat(a) + 4*hat(m) + hat(b))
			}
			a = b
		}
	}
	for i, w := range weight {
		if x := float64(LoNM + i); w > 0 && x >= nm[0] && x <= nm[len(nm)-1] {
			s.wPerNM[i] = math.Max(s.wPerNM[i]/w, 0)
		} else {
			s.wPerNM[i] = 0
		}
	}
	s.setKnown(math.Ceil(nm[0]), math.Floor(nm[len(nm)-1]))
	return s
}
