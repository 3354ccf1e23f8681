package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

// maxListeners bounds the streams of events; a browser keeps one a tab.
const maxListeners = 32

// hub sends events to every open page. While nobody listens it does nothing.
type hub struct {
	mu        sync.Mutex
	listeners map[*listener]bool
	closed    bool
	onFirst   func(stop <-chan struct{}) // runs while there is a listener
	stop      chan struct{}
}

// listener is one page's stream. Of each kind of event only the last one waits for it: events say how things stand, and
// one that was overtaken says nothing.
type listener struct {
	waiting map[string][]byte // by event; guarded by the hub
	wake    chan struct{}     // holds one; closed when the server ends
}

// join adds a listener; it is false where there are too many, or the server ends.
func (h *hub) join() (*listener, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || len(h.listeners) >= maxListeners {
		return nil, false
	}
	l := &listener{map[string][]byte{}, make(chan struct{}, 1)}
	h.listeners[l] = true
	if len(h.listeners) == 1 {
		h.stop = make(chan struct{})
		go h.onFirst(h.stop)
	}
	return l, true
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.listeners[l] {
		return
	}
	delete(h.listeners, l)
	if len(h.listeners) == 0 {
		close(h.stop)
	}
}

func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	if len(h.listeners) > 0 {
		close(h.stop)
	}
	for l := range h.listeners {
		close(l.wake)
		delete(h.listeners, l)
	}
}

// send gives an event to every listener.
func (h *hub) send(name string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic("web: event: " + err.Error())
	}
	text := fmt.Appendf(nil, "event: %s\ndata: %s\n\n", name, data)
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.listeners {
		l.waiting[name] = text
		select {
		case l.wake <- struct{}{}:
		default:
		}
	}
}

// take returns what waits for a listener.
func (h *hub) take(l *listener) (text []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, name := range []string{"queue", "progress", "version"} {
		text = append(text, l.waiting[name]...)
		delete(l.waiting, name)
	}
	return text
}

// heartbeat keeps a stream from being taken for dead.
const heartbeat = 20 * time.Second

// events streams what changes until the page goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	l, ok := s.work.hub.join()
	if !ok {
		refuse(w, http.StatusServiceUnavailable, "too many pages are open")
		return
	}
	defer s.work.hub.leave(l)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	write := func(text []byte) bool {
		_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second)) // a test's recorder has none
		if _, err := w.Write(text); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	queue, err := json.Marshal(s.work.queue.jobs())
	if err != nil {
		panic("web: event: " + err.Error())
	}
	begin := fmt.Appendf(nil, "retry: 1000\nevent: queue\ndata: %s\n\n", queue)
	if !write(fmt.Appendf(begin, "event: version\ndata: %d\n\n", s.work.now())) {
		return
	}
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-tick.C:
			if !write([]byte(": here\n\n")) {
				return
			}
		case _, open := <-l.wake:
			if !open || !write(s.work.hub.take(l)) {
				return
			}
		}
	}
}
