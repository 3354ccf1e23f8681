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
	listeners map[chan []byte]bool
	closed    bool
	onFirst   func(stop <-chan struct{}) // runs while there is a listener
	stop      chan struct{}
}

// join adds a listener; it is false where there are too many, or the server ends.
func (h *hub) join() (chan []byte, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || len(h.listeners) >= maxListeners {
		return nil, false
	}
	c := make(chan []byte, 16)
	h.listeners[c] = true
	if len(h.listeners) == 1 {
		h.stop = make(chan struct{})
		go h.onFirst(h.stop)
	}
	return c, true
}

func (h *hub) leave(c chan []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.listeners[c] {
		return
	}
	delete(h.listeners, c)
	if len(h.listeners) == 0 {
		close(h.stop)
	}
}

func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for c := range h.listeners {
		close(c)
		delete(h.listeners, c)
	}
	if h.stop != nil {
		select {
		case <-h.stop:
		default:
			close(h.stop)
		}
	}
}

// send gives an event to every listener. One that does not keep up misses it: the next tells it the same, since events
// only say that there is something to fetch.
func (h *hub) send(name string, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic("web: event: " + err.Error())
	}
	text := fmt.Appendf(nil, "event: %s\ndata: %s\n\n", name, data)
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.listeners {
		select {
		case c <- text:
		default:
		}
	}
}

// heartbeat keeps a stream from being taken for dead.
const heartbeat = 20 * time.Second

// events streams what changes until the page goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	c, ok := s.work.hub.join()
	if !ok {
		refuse(w, http.StatusServiceUnavailable, "too many pages are open")
		return
	}
	defer s.work.hub.leave(c)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	write := func(text []byte) bool {
		_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second)) // a test's recorder has none
		if _, err := w.Write(text); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	if !write(fmt.Appendf(nil, "retry: 1000\nevent: version\ndata: %d\n\n", s.work.now())) {
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
		case text, open := <-c:
			if !open || !write(text) {
				return
			}
		}
	}
}
