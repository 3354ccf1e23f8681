package cli

import (
	"strings"
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

// print prints the table.
func (t *table) print() {
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

// widths returns the width of each column: the natural one, or less for the widest columns where the table is too wide. No column
// is narrower than its longest word.
func (t *table) widths() []int {
	natural, least := make([]int, len(t.head)), make([]int, len(t.head))
	for _, cells := range append([][]string{t.head}, t.rows...) {
		for i, cell := range cells {
			for line := range strings.SplitSeq(cell, "\n") {
				natural[i] = max(natural[i], displayWidth(line))
				for word := range strings.SplitSeq(wrap(line, 1, 0), "\n") {
					least[i] = max(least[i], displayWidth(word))
				}
			}
		}
	}
	total := -columnGap
	for _, w := range natural {
		total += w + columnGap
	}
	for ; total > t.run.width; total-- {
		widest := -1
		for i, w := range natural {
			if w > least[i] && (widest < 0 || w > natural[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break
		}
		natural[widest]--
	}
	return natural
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
