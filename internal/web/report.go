package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"strings"
	"unicode"

	"lampwright/docs"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/report"
	"lampwright/internal/source"
)

// report answers with the design report of the file or of a preview, as a file. It is the same that the command line
// writes, with a list of the unsaved changes.
func (s *Server) report(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	k := s.work
	result, findings, err := k.wholeOf(w, r, in.Base, in.Changes)
	var problems source.Problems
	if errors.As(err, &problems) {
		p := problems[0]
		why := fmt.Sprintf("there is no report of a lamp with problems; correct them first: %s: %s", p.At, p.Msg)
		answer(w, http.StatusUnprocessableEntity, failure{Error: why, Problems: first(problems)})
		return
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	o := report.Options{Sources: docs.Sources()}
	if len(in.Changes) > 0 {
		var edits []string
		for _, c := range in.Changes {
			if c.Text == gone {
				edits = append(edits, c.Path+" removed")
				continue
			}
			edits = append(edits, c.Path+" = "+strings.TrimPrefix(c.Text, asYAML))
		}
		o.Made = fmt.Sprintf("with %s: %s", counted(len(edits), "unsaved change"), strings.Join(edits, "; "))
	}
	var b bytes.Buffer
	if _, err := guarded(func() (any, error) { return nil, report.HTML(&b, result, findings, o) }); err != nil {
		s.fail(w, err)
		return
	}
	name := fileName(result.Name)
	if len(in.Changes) > 0 {
		name += "-unsaved"
	}
	name += "-" + k.o.Now().Format("2006-01-02") + ".html"
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = w.Write(b.Bytes()) // the client has gone
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
func fileName(name string) string {
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
	if out := strings.Trim(b.String(), "-"); out != "" {
		return out
	}
	return "lamp"
}
