package report

import (
	"crypto/sha256"
	_ "embed" // page and its style
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"sync"

	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
)

// Options are the contents of a report beside the Result. The zero value is valid.
type Options struct {
	Made    string            // date to print; omitted if empty, so that equal designs give equal files
	Program string            // name and version of the program
	Sources map[string]string // full citations by their keys; keys alone where nil
	// Measured is the chapter of readings: nil without a readings file.
	Measured []Table
	More     []Table // further sections: warm-up, foldback, alternatives
}

// Table is a further section of a report.
type Table struct {
	Title   string
	Text    string // a sentence or two before it
	Head    []string
	Rows    [][]string // each as long as Head
	Notes   []string
	Picture draw.Picture // before its rows; may be empty
	Prose   []int        // columns of words: to the left, and broken into lines
}

// Class returns the class of a column.
func (t Table) Class(column int) string {
	switch {
	case slices.Contains(t.Prose, column):
		return "words"
	case column > 0:
		return "num"
	}
	return ""
}

// SVG returns the picture for the page.
func (t Table) SVG() template.HTML { return svg(t.Picture) }

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS string

var page = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{"prose": prose}).Parse(pageHTML))
})

// style is the whole style sheet. The policy of the page contains its hash, so no other style is applied.
var style = sync.OnceValue(func() string { return "\n" + draw.CSS() + pageCSS })

// HTML writes the report as one self-contained HTML file.
func HTML(w io.Writer, r *figure.Evaluation, findings []finding.Finding, o Options) error {
	v := newView(r, findings, o)
	css := style()
	sum := sha256.Sum256([]byte(css))
	v.Policy = "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"
	v.Style = template.HTML("<style>" + css + "</style>")
	if err := page().Execute(w, v); err != nil {
		return fmt.Errorf("write report of %q: %w", r.Name, err)
	}
	return nil
}
