package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// Bounds of the computations that pages wait for.
const (
	maxRunning = 1  // long ones at a time; the rest of the processor is for the values that are tried
	maxWaiting = 6  // long ones that wait for their turn
	maxBrief   = 16 // brief ones that run or wait
)

// Reasons for the end of a long computation, as its page reads them.
var (
	errReplaced = errors.New("replaced by a newer request of the same kind")
	errStopped  = errors.New("stopped")
)

// fullError refuses a computation because too many wait.
type fullError struct{ text string }

func (e *fullError) Error() string { return e.text }

// question is what a long computation answers.
type question struct {
	key  string // of its kind; a page has one computation of each
	name string // in words
	page string // that asks
}

// task is a long computation, running or waiting for its turn.
type task struct {
	job
	turn     chan struct{} // closed when it may run
	cancel   context.CancelCauseFunc
	replaced bool // it is at its end, and not listed any longer
}

// queue runs long computations one after another, in the order in which they were asked for. A question that a page
// asks again replaces the one before it; different questions wait.
type queue struct {
	mu      sync.Mutex
	tasks   []*task // in their order
	running int
	send    func(list []job) // informs every page; called with the lock held
}

// enter adds a computation. Its context ends with ctx, with a newer one of its question, and when it is stopped; the
// cause says which.
func (q *queue) enter(ctx context.Context, id int, of question) (*task, context.Context, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	t := &task{
		job: job{ID: id, For: of.key, Name: of.name, Page: of.page, Waiting: true},

		turn: make(chan struct{}), cancel: cancel,
	}
	q.mu.Lock()
	defer q.mu.Unlock()
	at := len(q.tasks)
	for i, old := range q.tasks {
		if !old.replaced && old.For == of.key && old.Page == of.page {
			old.replaced = true
			old.cancel(errReplaced)
			at = i + 1
		}
	}
	if list := q.list(); len(list) >= maxRunning+maxWaiting {
		cancel(nil)
		var names []string
		for _, j := range list {
			names = append(names, j.Name)
		}
		return nil, nil, &fullError{fmt.Sprintf("%d computations are running or waiting (%s); wait for one, "+
			"or stop one", len(names), strings.Join(names, ", "))}
	}
	q.tasks = slices.Insert(q.tasks, at, t)
	q.proceed()
	return t, ctx, nil
}

// proceed starts what may run, and informs the pages.
func (q *queue) proceed() {
	for _, t := range q.tasks {
		if q.running < maxRunning && t.Waiting && !t.replaced {
			t.Waiting = false
			q.running++
			close(t.turn)
		}
	}
	q.send(q.list())
}

// list returns the computations in their order; the lock must be held.
func (q *queue) list() []job {
	out := []job{}
	for _, t := range q.tasks {
		if !t.replaced {
			out = append(out, t.job)
		}
	}
	return out
}

// jobs returns the computations in their order.
func (q *queue) jobs() []job {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.list()
}

// leave removes a computation that ended.
func (q *queue) leave(t *task) {
	q.mu.Lock()
	defer q.mu.Unlock()
	t.cancel(nil)
	q.tasks = slices.DeleteFunc(q.tasks, func(other *task) bool { return other == t })
	if !t.Waiting {
		q.running--
	}
	q.proceed()
}

// stop ends a computation by its number; it is false if there is none.
func (q *queue) stop(id int) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	for _, t := range q.tasks {
		if t.ID == id && !t.replaced {
			t.cancel(errStopped)
			return true
		}
	}
	return false
}

// progress records the progress of a computation and returns it.
func (q *queue) progress(t *task, done, total int) job {
	q.mu.Lock()
	defer q.mu.Unlock()
	t.Done, t.Total = done, total
	return t.job
}

// askedBy returns a question of the page that sent a request.
func askedBy(r *http.Request, key, name string) question {
	page := r.Header.Get("X-Lampwright-Page")
	return question{key, name, page[:min(len(page), 64)]}
}

// queued runs a long computation in its turn, while the page waits and gets its progress; a page that no longer waits
// ends it. A panic becomes errFault.
func (w *workspace) queued(rw http.ResponseWriter, r *http.Request, of question,
	work func(ctx context.Context, progress func(done, total int)) (any, error),
) (v any, err error) {
	out := http.NewResponseController(rw)
	_ = out.SetWriteDeadline(time.Time{}) // a test's recorder has none
	t, ctx, err := w.queue.enter(r.Context(), w.nextJob(), of)
	if err != nil {
		_ = out.SetWriteDeadline(time.Now().Add(answerTime))
		return nil, err
	}
	defer func() {
		w.queue.leave(t)
		_ = out.SetWriteDeadline(time.Now().Add(answerTime))
	}()
	defer context.AfterFunc(w.ctx, func() { t.cancel(errStopped) })()
	select {
	case <-t.turn:
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
	ctx, stop := context.WithTimeout(ctx, solveTime)
	defer stop()
	select {
	case w.busy <- struct{}{}:
		defer func() { <-w.busy }()
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
	progress := func(done, total int) { w.hub.send("progress", w.queue.progress(t, done, total)) }
	v, err = guarded(func() (any, error) { return work(ctx, progress) })
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	return v, err
}

// longer answers with a long computation.
func (s *Server) longer(w http.ResponseWriter, r *http.Request, key, name string,
	work func(ctx context.Context, progress func(done, total int)) (any, error),
) {
	v, err := s.work.queued(w, r, askedBy(r, key, name), work)
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, v)
}

// brief waits for room among the computations of the workspace and returns a context that ends with the page. It is for
// what takes a second: a page has one of them and ends it itself.
func (w *workspace) brief(rw http.ResponseWriter, r *http.Request) (ctx context.Context, done func(), err error) {
	select {
	case w.briefs <- struct{}{}:
	default:
		return nil, nil, &fullError{fmt.Sprintf("%d pages wait for a computation; close some of them", maxBrief)}
	}
	ctx, stop := context.WithTimeout(r.Context(), solveTime)
	cut := context.AfterFunc(w.ctx, stop)
	end := func() { cut(); stop(); <-w.briefs }
	_ = http.NewResponseController(rw).SetWriteDeadline(time.Now().Add(solveTime)) // a test's recorder has none
	select {
	case w.busy <- struct{}{}:
		return ctx, func() { <-w.busy; end() }, nil
	case <-ctx.Done():
		end()
		return nil, nil, ctx.Err()
	}
}

// nextJob returns the number of a new computation.
func (w *workspace) nextJob() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.jobs++
	return w.jobs
}
