package cli

import (
	"slices"
	"strings"

	"lampwright/internal/report"
)

// gap is the number of blanks between two columns.
const columnGap = 2

// table is a table with a rule below its head. It fits the width of the run: wide columns are wrapped at blanks.
type table struct {
	run  *run
	head []string
	rows [][]string // a cell may have several lines
}

func (r *run) table(head ...string) *table { return &table{run: r, head: head} }

// row appends a row; missing cells are empty.
func (t *table) row(cells ...string) { t.rows = append(t.rows, cells) }

// print prints the table, without columns that have no cell; it prints nothing if no column has one.
func (t *table) print() {
	t.dropEmpty()
	if len(t.head) == 0 {
		return
	}
	widths := t.widths()
	total := -columnGap
	for _, w := range widths {
		total += w + columnGap
	}
	t.printRow(t.head, widths, bold)
	t.run.println(strings.Repeat("─", min(total, t.run.width)))
	for _, cells := range t.rows {
		t.printRow(cells, widths, "")
	}
}

// dropEmpty removes the columns that are empty in every row.
func (t *table) dropEmpty() {
	for i := len(t.head) - 1; i >= 0 && len(t.rows) > 0; i-- {
		empty := func(cells []string) bool { return i >= len(cells) || cells[i] == "" }
		if slices.ContainsFunc(t.rows, func(cells []string) bool { return !empty(cells) }) {
			continue
		}
		t.head = slices.Delete(slices.Clone(t.head), i, i+1)
		for k, cells := range t.rows {
			if i < len(cells) {
				t.rows[k] = slices.Delete(slices.Clone(cells), i, i+1)
			}
		}
	}
}

// widths returns the width of each column: the natural one, or less where the table is too wide. Heads are wrapped before cells, and
// the widest column first. No column is narrower than its longest word.
func (t *table) widths() []int {
	width, word := t.measure(t.head)
	cells, cellWord := t.measure(t.rows...)
	total := -columnGap
	for i := range width {
		word[i] = max(word[i], cellWord[i])
		cells[i] = max(cells[i], word[i])
		width[i] = max(width[i], cells[i])
		total += width[i] + columnGap
	}
	for _, least := range [][]int{cells, word} {
		for total > t.run.width {
			widest := -1
			for i, w := range width {
				if w > least[i] && (widest < 0 || w > width[widest]) {
					widest = i
				}
			}
			if widest < 0 {
				break
			}
			width[widest]--
			total--
		}
	}
	return width
}

// measure returns the widest line and the widest unbreakable word of each column.
func (t *table) measure(rows ...[]string) (line, word []int) {
	line, word = make([]int, len(t.head)), make([]int, len(t.head))
	for _, cells := range rows {
		for i, cell := range cells {
			for text := range strings.SplitSeq(cell, "\n") {
				line[i] = max(line[i], displayWidth(text))
				for one := range strings.SplitSeq(wrap(text, 1, 0), "\n") {
					word[i] = max(word[i], displayWidth(one))
				}
			}
		}
	}
	return line, word
}

// printRow prints one row, in as many lines as its highest cell needs.
func (t *table) printRow(cells []string, widths []int, s style) {
	lines := make([][]string, len(cells))
	height := 1
	for i, cell := range cells {
		for line := range strings.SplitSeq(cell, "\n") {
			if displayWidth(line) > widths[i] {
				line = wrap(line, widths[i], 0)
			}
			lines[i] = append(lines[i], strings.Split(line, "\n")...)
		}
		height = max(height, len(lines[i]))
	}
	for k := range height {
		var b strings.Builder
		pending := 0 // blanks that the next cell needs before it
		for i := range cells {
			text := ""
			if k < len(lines[i]) {
				text = lines[i][k]
			}
			if text != "" {
				b.WriteString(strings.Repeat(" ", pending) + t.run.paint(s, text))
				pending = 0
			}
			pending += widths[i] - displayWidth(text) + columnGap
		}
		t.run.println(b.String())
	}
}

// printTable prints the rows of a table of a report, and its notes.
func (r *run) printTable(table report.Table) {
	r.printRows(table)
	for _, n := range table.Notes {
		r.note(n)
	}
}

// printRows prints the rows of a table of a report.
func (r *run) printRows(table report.Table) {
	t := r.table(table.Head...)
	for _, row := range table.Rows {
		t.row(row...)
	}
	t.print()
}
