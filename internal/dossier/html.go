package dossier

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"sync"

	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
)

// Options is what a dossier holds beside the Result. The zero Options suit.
type Options struct {
	Made    string            // when it was made, as it shall be printed; left out where empty, so that equal designs give equal files
	Program string            // which program made it, with its version
	Sources map[string]string // full citations by their keys; keys alone where nil
	More    []Table           // what was computed beside the Result: warm-up, foldback, alternatives
}

// Table is one more table of a dossier.
type Table struct {
	Title   string
	Text    string // a sentence or two before it
	Head    []string
	Rows    [][]string // each as long as Head
	Notes   []string
	Picture draw.Picture // before its rows; may be empty
}

// SVG returns the picture for the page.
func (t Table) SVG() template.HTML { return svg(t.Picture) }

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS string

var page = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Parse(pageHTML))
})

// style is the whole style sheet. Its hash stands in the page's policy, so that no other style can slip in.
var style = sync.OnceValue(func() string { return "\n" + draw.CSS() + pageCSS })

// HTML writes the dossier as one self-contained HTML file.
func HTML(w io.Writer, r *figure.Evaluation, findings []finding.Finding, o Options) error {
	v := newView(r, findings, o)
	css := style()
	sum := sha256.Sum256([]byte(css))
	v.Policy = "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"
	v.Style = template.HTML("<style>" + css + "</style>")
	if err := page().Execute(w, v); err != nil {
		return fmt.Errorf("write dossier of %q: %w", r.Name, err)
	}
	return nil
}
