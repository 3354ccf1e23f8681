package web

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// longWork is a server whose long computations run until they are told to end, or are stopped.
type longWork struct {
	t  *testing.T
	s  *Server
	ts *httptest.Server

	mu      sync.Mutex
	started []string
	finish  map[string]chan struct{}
}

func newLongWork(t *testing.T) *longWork {
	s, _ := serve(t, t.TempDir())
	l := &longWork{t: t, s: s, finish: map[string]chan struct{}{}}
	l.ts = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.ReadAll(r.Body)
		name := r.URL.Query().Get("name")
		key, _, _ := strings.Cut(name, "#")
		s.longer(w, r, key, name, func(ctx context.Context, progress func(done, total int)) (any, error) {
			progress(1, 2)
			l.mu.Lock()
			l.started = append(l.started, name)
			l.mu.Unlock()
			select {
			case <-l.end(name):
			case <-ctx.Done():
			}
			return "result of " + name, nil
		})
	}))
	t.Cleanup(l.ts.Close)
	return l
}

// end returns the channel whose end finishes a computation.
func (l *longWork) end(name string) chan struct{} {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.finish[name] == nil {
		l.finish[name] = make(chan struct{})
	}
	return l.finish[name]
}

// answerOf is how a request ended.
type answerOf struct {
	status int
	text   string
}

// ask begins a computation; the page goes away when ctx ends. What comes before the # in a name is its kind.
func (l *longWork) ask(ctx context.Context, page, name string) <-chan answerOf {
	out := make(chan answerOf, 1)
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, l.ts.URL+"?name="+strings.ReplaceAll(name, "#", "%23"),
		strings.NewReader("{}"))
	if err != nil {
		l.t.Fatal(err)
	}
	r.Header.Set("X-Lampwright-Page", page)
	go func() {
		resp, err := http.DefaultClient.Do(r)
		if err != nil {
			out <- answerOf{0, err.Error()}
			return
		}
		defer resp.Body.Close()
		data, _ := io.ReadAll(resp.Body)
		out <- answerOf{resp.StatusCode, string(data)}
	}()
	return out
}

// listed waits until these computations, the running ones marked, are those of the queue.
func (l *longWork) listed(want ...string) {
	l.t.Helper()
	var got []string
	for range 2000 {
		got = []string{}
		for _, j := range l.s.work.queue.jobs() {
			name := j.Name
			if !j.Waiting {
				name = "> " + name
			}
			got = append(got, name)
		}
		if slices.Equal(got, want) {
			return
		}
		time.Sleep(time.Millisecond) // requests of real connections
	}
	l.t.Fatalf("the queue is %q, want %q", got, want)
}

func (l *longWork) got(what string, from <-chan answerOf, status int, text string) {
	l.t.Helper()
	select {
	case a := <-from:
		if a.status != status || !strings.Contains(a.text, text) {
			l.t.Errorf("%s: %d %s, want %d with %q", what, a.status, a.text, status, text)
		}
	case <-time.After(5 * time.Second):
		l.t.Fatalf("%s: no answer", what)
	}
}

// TestSecondLongComputationWaits: a second one does not end the first; each gets its result, in its turn.
func TestSecondLongComputationWaits(t *testing.T) {
	l, ctx := newLongWork(t), t.Context()
	first := l.ask(ctx, "a", "warm-up")
	l.listed("> warm-up")
	second := l.ask(ctx, "a", "foldback")
	l.listed("> warm-up", "foldback")
	close(l.end("warm-up"))
	l.got("the first", first, http.StatusOK, "result of warm-up")
	l.listed("> foldback")
	close(l.end("foldback"))
	l.got("the second", second, http.StatusOK, "result of foldback")
	l.listed()
	if want := []string{"warm-up", "foldback"}; !slices.Equal(l.started, want) {
		t.Errorf("started %q, want %q", l.started, want)
	}
}

// TestSameQuestionReplaces: a newer request of the same kind takes the place of the older, which is told; another page
// has its own.
func TestSameQuestionReplaces(t *testing.T) {
	l, ctx := newLongWork(t), t.Context()
	old := l.ask(ctx, "a", "trace#1")
	l.listed("> trace#1")
	waiting := l.ask(ctx, "a", "report#1")
	l.listed("> trace#1", "report#1")
	other := l.ask(ctx, "b", "report#other")
	l.listed("> trace#1", "report#1", "report#other")
	newer := l.ask(ctx, "a", "report#2")
	l.got("the waiting one", waiting, http.StatusConflict, "replaced by a newer request")
	l.listed("> trace#1", "report#2", "report#other")
	changed := l.ask(ctx, "a", "trace#2")
	l.got("the running one", old, http.StatusConflict, "replaced by a newer request")
	l.listed("> trace#2", "report#2", "report#other")
	for _, name := range []string{"trace#2", "report#2", "report#other"} {
		close(l.end(name))
	}
	l.got("trace", changed, http.StatusOK, "trace#2")
	l.got("report", newer, http.StatusOK, "report#2")
	l.got("report of the other page", other, http.StatusOK, "report#other")
}

// TestQueueIsBounded: one more than may wait is refused with the names of those before it, and disturbs none.
func TestQueueIsBounded(t *testing.T) {
	l, ctx := newLongWork(t), t.Context()
	want := []string{"> q0"}
	for i := range maxRunning + maxWaiting {
		l.ask(ctx, "a", fmt.Sprintf("q%d", i))
		if i > 0 {
			want = append(want, fmt.Sprintf("q%d", i))
		}
		l.listed(want...)
	}
	l.got("one too many", l.ask(ctx, "a", "further"), http.StatusTooManyRequests,
		"7 computations are running or waiting (q0, q1, q2, q3, q4, q5, q6); wait for one, or stop one")
	l.listed(want...)
	l.ask(ctx, "a", "q3#again") // it replaces one that waits, and so needs no further place
	want[3] = "q3#again"
	l.listed(want...)
}

// TestClosedPage: a page that goes away takes along what only it waits for, running or waiting.
func TestClosedPage(t *testing.T) {
	l := newLongWork(t)
	first, closeFirst := context.WithCancel(t.Context())
	second, closeSecond := context.WithCancel(t.Context())
	l.ask(first, "a", "trace")
	l.listed("> trace")
	l.ask(second, "b", "report")
	l.listed("> trace", "report")
	third := l.ask(t.Context(), "c", "warm-up")
	l.listed("> trace", "report", "warm-up")
	closeSecond()
	l.listed("> trace", "warm-up")
	closeFirst()
	l.listed("> warm-up")
	close(l.end("warm-up"))
	l.got("the page that stays", third, http.StatusOK, "warm-up")
}

// TestStopOfQueue: each can be stopped by its number, from any page, and its own page is told.
func TestStopOfQueue(t *testing.T) {
	l, ctx := newLongWork(t), t.Context()
	running := l.ask(ctx, "a", "trace")
	l.listed("> trace")
	waiting := l.ask(ctx, "a", "report")
	l.listed("> trace", "report")
	for _, j := range slices.Backward(l.s.work.queue.jobs()) {
		w := httptest.NewRecorder()
		body := strings.NewReader(fmt.Sprintf(`{"id":%d}`, j.ID))
		l.s.cancel(w, httptest.NewRequest(http.MethodPost, "/api/cancel", body))
		if w.Code != http.StatusOK {
			t.Errorf("cancel: %d %s", w.Code, w.Body)
		}
	}
	l.got("the waiting one", waiting, http.StatusConflict, "stopped")
	l.got("the running one", running, http.StatusConflict, "stopped")
	l.listed()
}

// TestQueueEvents: pages are informed of what runs and waits, and of its progress.
func TestQueueEvents(t *testing.T) {
	l, ctx := newLongWork(t), t.Context()
	page, ok := l.s.work.hub.join()
	if !ok {
		t.Fatal("refused")
	}
	defer l.s.work.hub.leave(page)
	l.ask(ctx, "a", "trace")
	l.listed("> trace")
	l.ask(ctx, "a", "report")
	l.listed("> trace", "report")
	var list, last []job
	for len(list) != 2 {
		<-page.wake
		for line := range strings.Lines(string(l.s.work.hub.take(page))) {
			data, ok := strings.CutPrefix(line, "data: ")
			if !ok || json.Unmarshal([]byte(data), &last) != nil {
				continue // another event
			}
			list = last
		}
	}
	if list[0].Name != "trace" || list[0].Waiting || list[1].Name != "report" || !list[1].Waiting {
		t.Errorf("told %+v", list)
	}
	for range 1000 {
		if list = l.s.work.queue.jobs(); list[0].Done == 1 {
			break
		}
		time.Sleep(time.Millisecond)
	}
	if list[0].Done != 1 || list[0].Total != 2 {
		t.Errorf("progress %+v", list[0])
	}
}

// TestBriefIsBounded: what is tried by too many pages is refused, and not waited for.
func TestBriefIsBounded(t *testing.T) {
	s, _ := serve(t, t.TempDir())
	r := httptest.NewRequest(http.MethodPost, "/", nil)
	for range cap(s.work.busy) {
		if _, _, err := s.work.brief(httptest.NewRecorder(), r); err != nil {
			t.Fatal(err)
		}
	}
	var wait sync.WaitGroup
	ctx, cancel := context.WithCancel(t.Context())
	for range maxBrief - cap(s.work.busy) {
		wait.Go(func() { _, _, _ = s.work.brief(httptest.NewRecorder(), r.WithContext(ctx)) })
	}
	for len(s.work.briefs) < maxBrief {
		time.Sleep(time.Millisecond)
	}
	_, _, err := s.work.brief(httptest.NewRecorder(), r)
	if err == nil || !strings.Contains(err.Error(), "16 pages wait") {
		t.Errorf("one too many: %v", err)
	}
	cancel()
	wait.Wait()
	if n := len(s.work.briefs); n != cap(s.work.busy) {
		t.Errorf("%d are left, want %d", n, cap(s.work.busy))
	}
}
