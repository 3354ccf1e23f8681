package web

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/source"
)

// failure is the answer to a request that was not carried out.
type failure struct {
	Error    string          `json:"error"`
	Problems source.Problems `json:"problems,omitempty"` // of the files, as they would be
	Path     string          `json:"path,omitempty"`     // of the value that could not be put in
	Hash     string          `json:"hash,omitempty"`     // of the file as it is now, at a conflict
	Clashes  []clash         `json:"clashes,omitempty"`  // values that another program changed as well
}

// maxBody bounds a request: a design file, escaped.
const maxBody = 3 << 20

func (s *Server) routes(mux *http.ServeMux) {
	mux.HandleFunc("GET /api/state", s.state)
	mux.HandleFunc("GET /api/versions", s.versions)
	mux.HandleFunc("GET /api/projects", s.listProjects)
	mux.HandleFunc("POST /api/variant", s.makeVariant)
	mux.HandleFunc("POST /api/project", s.makeProject)
	mux.HandleFunc("POST /api/variants", s.compareVariants)
	mux.HandleFunc("GET /api/pictures", s.pictures)
	mux.HandleFunc("POST /api/preview", s.preview)
	mux.HandleFunc("POST /api/why", s.why)
	mux.HandleFunc("POST /api/cut", s.cut)
	mux.HandleFunc("POST /api/levels", s.levels)
	mux.HandleFunc("POST /api/channel-light", s.channelLight)
	mux.HandleFunc("POST /api/board", s.board)
	mux.HandleFunc("POST /api/room-surfaces", s.roomSurfaces)
	mux.HandleFunc("POST /api/check", s.check)
	mux.HandleFunc("POST /api/save", s.save)
	mux.HandleFunc("POST /api/undo", func(w http.ResponseWriter, r *http.Request) { s.step(w, r, true) })
	mux.HandleFunc("POST /api/redo", func(w http.ResponseWriter, r *http.Request) { s.step(w, r, false) })
	mux.HandleFunc("POST /api/begin", s.begin)
	mux.HandleFunc("POST /api/answers", s.answers)
	mux.HandleFunc("POST /api/new", s.newLamp)
	mux.HandleFunc("POST /api/cancel", s.cancel)
	mux.HandleFunc("POST /api/compute", s.compute)
	mux.HandleFunc("POST /api/compare", s.compare)
	mux.HandleFunc("POST /api/differences", s.differences)
	mux.HandleFunc("POST /api/mix", s.mix)
	mux.HandleFunc("POST /api/choose", s.choose)
	mux.HandleFunc("POST /api/plan", s.plan)
	mux.HandleFunc("POST /api/keys", s.keys)
	mux.HandleFunc("POST /api/day", s.day)
	mux.HandleFunc("POST /api/sunrise", s.sunrise)
	mux.HandleFunc("POST /api/bench", s.readings)
	mux.HandleFunc("POST /api/bench-faults", s.faults)
	mux.HandleFunc("POST /api/bench-save", s.saveReadings)
	mux.HandleFunc("POST /api/bench-start", s.startReadings)
	mux.HandleFunc("POST /api/warmup", s.warmup)
	mux.HandleFunc("POST /api/foldback", s.foldback)
	for name, p := range papers {
		mux.HandleFunc("POST /api/"+name, s.paper(p))
	}
	mux.HandleFunc("GET /api/file", s.file)
	mux.HandleFunc("GET /api/help", s.help)
	mux.HandleFunc("GET /api/help/pictures/{name}", s.helpPicture)
	mux.HandleFunc("GET /api/parts", s.parts)
	mux.HandleFunc("POST /api/copy", s.copyPart)
	mux.HandleFunc("POST /api/table", s.table)
	mux.HandleFunc("POST /api/drop", s.drop)
}

func answer(w http.ResponseWriter, status int, v any) {
	data, err := json.Marshal(v)
	if err != nil { // a number that is none; see finite
		status, data = http.StatusInternalServerError, []byte(`{"error":"the answer cannot be written down"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Length", strconv.Itoa(len(data)))
	w.WriteHeader(status)
	_, _ = w.Write(data) // the client has gone
}

// fail answers an error with what a page needs to show it.
func (s *Server) fail(w http.ResponseWriter, err error) {
	var problems source.Problems
	var bad *badChange
	var both clashes
	var full *fullError
	var fields answersError
	switch {
	case errors.As(err, &both):
		answer(w, http.StatusConflict, failure{Error: err.Error(), Hash: s.work.present(), Clashes: both})
	case errors.Is(err, atomicfile.ErrBusy):
		answer(w, http.StatusServiceUnavailable, failure{Error: err.Error() + "; nothing was written, save again"})
	case errors.As(err, &full):
		answer(w, http.StatusTooManyRequests, failure{Error: err.Error()})
	case errors.Is(err, errReplaced), errors.Is(err, errStopped): // at 408 a browser would ask again
		answer(w, http.StatusConflict, failure{Error: err.Error()})
	case errors.Is(err, errConflict):
		answer(w, http.StatusConflict, failure{Error: err.Error(), Hash: s.work.present()})
	case errors.As(err, &problems):
		why := counted(len(problems), "problem")
		answer(w, http.StatusUnprocessableEntity, failure{Error: why, Problems: first(problems)})
	case errors.As(err, &fields):
		answer(w, http.StatusUnprocessableEntity, failure{Error: err.Error(), Path: fields[0].Field})
	case errors.As(err, &bad):
		answer(w, http.StatusUnprocessableEntity, failure{Error: err.Error(), Path: bad.Path})
	case errors.Is(err, context.DeadlineExceeded):
		why := fmt.Sprintf("stopped after %g min", solveTime.Minutes())
		answer(w, http.StatusServiceUnavailable, failure{Error: why})
	case errors.Is(err, context.Canceled): // nobody waits
		answer(w, http.StatusRequestTimeout, failure{Error: "stopped"})
	default:
		answer(w, http.StatusBadRequest, failure{Error: err.Error()})
	}
}

// maxShown is the number of problems that a page gets; the others are counted.
const maxShown = 20

// first returns the first problems of a list, and an empty list in place of nil.
func first(list source.Problems) source.Problems {
	return append(source.Problems{}, list[:min(len(list), maxShown)]...)
}

// checkedView is what is wrong with a text.
type checkedView struct {
	Problems source.Problems `json:"problems"`
	Count    int             `json:"count"` // of all of them
}

func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// decode reads the body of a request; it answers itself where it cannot.
func decode(w http.ResponseWriter, r *http.Request, v any) bool { return decodeUpTo(w, r, v, maxBody) }

// decodeUpTo is decode of a body of at most so many bytes.
func decodeUpTo(w http.ResponseWriter, r *http.Request, v any, most int64) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, most))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil {
		if _, err = d.Token(); err == io.EOF {
			return true
		}
		err = errors.New("more than one value")
	}
	status := http.StatusBadRequest
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		status = http.StatusRequestEntityTooLarge
	}
	refuse(w, status, "the request cannot be read: "+strings.TrimPrefix(err.Error(), "json: "))
	return false
}

// state answers with the project as it is: the text, its problems, and the last result.
func (s *Server) state(w http.ResponseWriter, r *http.Request) {
	s.work.reload()
	answer(w, http.StatusOK, s.work.state())
}

// check says what is wrong with a text, and computes nothing.
func (s *Server) check(w http.ResponseWriter, r *http.Request) {
	var in struct {
		File string `json:"file"` // empty means the design file
		Text string `json:"text"`
	}
	if !decode(w, r, &in) {
		return
	}
	name := cmp.Or(in.File, s.work.name)
	if name != s.work.name && !s.work.has(name) {
		s.fail(w, fmt.Errorf("there is no file %q in this project", name))
		return
	}
	problems := s.work.problemsOf(texts{name: []byte(in.Text)})
	elsewhere := func(p source.Problem) int { // those of this file come first
		if p.At.File == name {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(problems, func(a, b source.Problem) int { return elsewhere(a) - elsewhere(b) })
	answer(w, http.StatusOK, checkedView{first(problems), len(problems)})
}

// has reports whether a file exists and can be edited.
func (w *workspace) has(name string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	_, ok := w.textOf(name)
	return ok
}

// save writes changes, or a whole text, into the file.
func (s *Server) save(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Tried  map[string]string `json:"tried"` // hash of the project on which each value was tried first, by path
		File   string            `json:"file"`  // of a whole text, whose hash base then is; empty means the design file
		Text   *string           `json:"text"`
		Anyway bool              `json:"anyway"` // save a text that has problems
	}
	if !decode(w, r, &in) {
		return
	}
	var whole *fileText
	if in.Text != nil {
		whole = &fileText{cmp.Or(in.File, s.work.name), in.Base, *in.Text}
	}
	if err := s.work.save(in.Base, in.Changes, in.Tried, whole, in.Anyway); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

func (s *Server) step(w http.ResponseWriter, r *http.Request, back bool) {
	var in struct {
		Base string `json:"base"`
	}
	if !decode(w, r, &in) {
		return
	}
	if err := s.work.step(in.Base, back); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

// begin fills an empty folder with a project.
func (s *Server) begin(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Key string `json:"key"`
	}
	if !decode(w, r, &in) {
		return
	}
	if err := s.work.fill(in.Key); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

// cancel stops the computation of the file, or a long one that runs or waits; what was shown stays.
func (s *Server) cancel(w http.ResponseWriter, r *http.Request) {
	var in struct {
		ID int `json:"id"`
	}
	if !decode(w, r, &in) {
		return
	}
	k := s.work
	k.queue.stop(in.ID)
	k.mu.Lock()
	if k.job != nil && k.job.ID == in.ID {
		k.stopJob()
		k.changed()
	}
	k.mu.Unlock()
	answer(w, http.StatusOK, k.state())
}

// compute begins the computation of the file again, after it was stopped or failed.
func (s *Server) compute(w http.ResponseWriter, r *http.Request) {
	if !decode(w, r, &struct{}{}) {
		return
	}
	k := s.work
	k.mu.Lock()
	if k.exists && k.job == nil && (k.shown == nil || k.shown.of != k.hash || k.shown.quick) {
		k.begin()
	}
	k.mu.Unlock()
	answer(w, http.StatusOK, k.state())
}
