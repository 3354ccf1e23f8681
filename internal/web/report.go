package web

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"
	"sync"
	"unicode"

	"lampwright/docs"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/source"
)

// paper is a file about the lamp as shown that the page downloads or opens.
type paper struct {
	what, ending string // in messages, and after the name of the lamp
	kind         string // of the content
	write        func(w io.Writer, r *figure.Evaluation, findings []finding.Finding, unsaved string) error
}

const (
	kindHTML = "text/html; charset=utf-8"
	kindCSV  = "text/csv; charset=utf-8"
)

// papers are the files that the command line writes as well, by the end of their address.
var papers = map[string]paper{
	"report":      {"report", ".html", kindHTML, writeReport},
	"build-sheet": {"build sheet", "-build-sheet.html", kindHTML, writeBuildSheet},
	"order-list":  {"order list", "-order-list.csv", kindCSV, writeOrders},
	"placement":   {"placement", "-placement.csv", kindCSV, writePlacement},
}

func writeReport(w io.Writer, r *figure.Evaluation, f []finding.Finding, unsaved string) error {
	return report.HTML(w, r, f, report.Options{Sources: docs.Sources(), Made: unsaved})
}

func writeBuildSheet(w io.Writer, r *figure.Evaluation, f []finding.Finding, unsaved string) error {
	return report.BuildSheet(w, r, f, report.Options{Made: unsaved})
}

func writeOrders(w io.Writer, r *figure.Evaluation, _ []finding.Finding, _ string) error {
	p := r.Lamp.Project
	return report.OrdersCSV(w, project.BillOfMaterials(p.Library, &p.Design, project.Order{}))
}

func writePlacement(w io.Writer, r *figure.Evaluation, _ []finding.Finding, _ string) error {
	return report.PlacementCSV(w, r)
}

// paper answers with a file about the lamp of the file or of a preview; a sheet to be opened with its address, see
// sheets. Its text names the unsaved changes.
func (s *Server) paper(p paper) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var in struct {
			previewed
			Open bool `json:"open"` // answer with an address
		}
		if !decode(w, r, &in) {
			return
		}
		result, findings, err := s.work.wholeOf(w, r, in.Base, in.Changes)
		var problems source.Problems
		if errors.As(err, &problems) {
			one := problems[0]
			why := fmt.Sprintf("there is no %s of a lamp with problems; correct them first: %s: %s", p.what,
				one.At, one.Msg)
			answer(w, http.StatusUnprocessableEntity, failure{Error: why, Problems: first(problems)})
			return
		}
		if err != nil {
			s.fail(w, err)
			return
		}
		var b bytes.Buffer
		write := func() (any, error) { return nil, p.write(&b, result, findings, unsavedText(in.Changes)) }
		if _, err := guarded(write); err != nil {
			s.fail(w, err)
			return
		}
		if in.Open && p.kind == kindHTML {
			answer(w, http.StatusOK, openedSheet{s.all.sheets.keep(b.Bytes())})
			return
		}
		name := fileName(result.Name)
		if len(in.Changes) > 0 {
			name += "-unsaved"
		}
		name += "-" + s.work.o.Now().Format("2006-01-02") + p.ending
		w.Header().Set("Content-Type", p.kind)
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
		_, _ = w.Write(b.Bytes()) // the client has gone
	}
}

// openedSheet is where a sheet can be opened.
type openedSheet struct {
	Address string `json:"address"`
}

// maxSheets is the number of sheets that can be opened; the oldest is dropped.
const maxSheets = 8

// sheets are the last sheets that were made, each under an address that cannot be guessed.
type sheets struct {
	mu   sync.Mutex
	list []keptSheet
}

type keptSheet struct {
	name string
	data []byte
}

func (k *sheets) keep(data []byte) (address string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	name := NewToken()
	k.list = append(k.list, keptSheet{name, data})
	k.list = k.list[max(0, len(k.list)-maxSheets):]
	return "/sheets/" + name
}

// ServeHTTP answers with a sheet. It is a page of its own, with the policy that it states itself: no script, and the
// style that it holds.
func (k *sheets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	k.mu.Lock()
	i := slices.IndexFunc(k.list, func(s keptSheet) bool { return s.name == r.PathValue("name") })
	var data []byte
	if i >= 0 {
		data = k.list[i].data
	}
	k.mu.Unlock()
	if i < 0 {
		refuse(w, http.StatusNotFound, "this sheet is no longer kept; make it again in the workspace")
		return
	}
	w.Header().Set("Content-Type", kindHTML)
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; "+
		"form-action 'none'; frame-ancestors 'none'")
	_, _ = w.Write(data) // the client has gone
}

// unsavedText lists unsaved changes; empty without any.
func unsavedText(changes []change) string {
	if len(changes) == 0 {
		return ""
	}
	var edits []string
	for _, c := range changes {
		switch {
		case c.Text == gone:
			edits = append(edits, c.Path+" removed")
		case strings.HasPrefix(c.Text, asFile):
			edits = append(edits, "file "+strings.TrimSuffix(c.Path, "#"))
		default:
			edits = append(edits, c.Path+" = "+strings.TrimLeft(c.Text, asYAML+asBlock))
		}
	}
	return fmt.Sprintf("with %s: %s", counted(len(edits), "unsaved change"), strings.Join(edits, "; "))
}

// wholeOf returns the Result of the file with changes, with its ranges, and what the review says.
func (w *workspace) wholeOf(rw http.ResponseWriter, r *http.Request, base string,
	changes []change,
) (*figure.Evaluation, []finding.Finding, error) {
	text, changed, err := w.spliced(base, changes)
	if err != nil {
		return nil, nil, err
	}
	w.mu.Lock()
	hash := w.hashWith(changed)
	shown := w.shown
	if shown != nil && (shown.of != hash || shown.quick || w.job != nil || len(w.problems) > 0 || w.failed != "") {
		shown = nil
	}
	w.mu.Unlock()
	if shown != nil {
		return shown.result, shown.findings, nil
	}
	p, problems := w.load(text, changed)
	if p == nil {
		return nil, nil, problems
	}
	v, err := w.queued(rw, r, askedBy(r, "report", "design report"),
		func(ctx context.Context, progress func(done, total int)) (any, error) {
			result, findings, err := w.evaluate(ctx, p, 0, progress)
			return judged{result, findings}, err
		})
	if err != nil {
		return nil, nil, err
	}
	whole := v.(judged)
	return whole.result, whole.findings, nil
}

// judged is a lamp with what the review says of it.
type judged struct {
	result   *figure.Evaluation
	findings []finding.Finding
}

// fileName makes of a lamp's name one that every system takes.
func fileName(name string) string { return cmp.Or(slugOf(name), "lamp") }

// slugOf returns the ASCII letters and digits of a name, with hyphens between them; empty where it has none.
func slugOf(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 60 {
			break
		}
	}
	return strings.Trim(b.String(), "-")
}
