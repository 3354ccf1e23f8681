// Package web serves the workspace: one page that shows a project live and edits its design file.
//
// In: a project folder, the parts library, and templates for an empty folder. Out: an HTTP handler with the page, a
// JSON interface over one shape (a figure.Evaluation with its findings, problems and the text of the design file), and
// events when something changes. Assumes: one person with one or several tabs, and perhaps an editor beside them.
// Every other page in the browser is taken as hostile, see guard. Leaves to others: every figure (figure), every
// judgement (review), and listening on an address (cli).
package web

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"strings"
	"time"

	"lampwright/internal/project"
	"lampwright/internal/store"
)

// Options say what is served. Folder and Library must be given.
type Options struct {
	Folder    string      // of the project; it must exist
	File      string      // name of the design file in it; empty means lamp.yaml
	Library   fs.FS       // the built-in parts
	Templates []Template  // what an empty folder can be filled with
	Others    []Other     // projects that may be compared with, and are not written
	Store     store.Store // where unit responses are kept between runs; nil keeps none
	Addr      net.Addr    // where the server listens
	Token     string      // that every request must carry; required unless Addr is a loopback address
	Recent    string      // the file that holds the projects opened before; empty keeps none
	// Calibration is applied to every lamp that is evaluated; nil for lamps as their datasheets state them.
	Calibration *project.Calibration
	// Busy holds an item for each computation that runs, so that its capacity bounds them; nil means two at a time.
	Busy chan struct{}
	// Now is the clock; nil means time.Now.
	Now func() time.Time
	// Watch is how often files are looked at while a page is open; 0 means 0.7 s.
	Watch time.Duration
}

// Template is a project that an empty folder can be filled with.
type Template struct {
	Key   string            `json:"key"`
	Title string            `json:"title"`
	About string            `json:"about"`
	Files map[string][]byte `json:"-"` // by path with slashes
}

// Server is a workspace over one design. That of the command line also leads to the others.
type Server struct {
	work    *workspace
	all     *projects
	api     http.Handler // over work
	handler http.Handler
	limits  readLimits
}

// readLimits bound how long a request may take to arrive.
type readLimits struct{ head, whole time.Duration }

// New opens a project folder. It refuses an address that others can reach unless there is a token.
func New(o Options) (*Server, error) {
	if !loopback(o.Addr) && o.Token == "" {
		return nil, fmt.Errorf("serve on %s: other machines can reach this address, so a token is required", o.Addr)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Busy == nil {
		o.Busy = make(chan struct{}, 2)
	}
	if o.Watch == 0 {
		o.Watch = 700 * time.Millisecond
	}
	w, err := openWorkspace(o)
	if err != nil {
		return nil, err
	}
	page, err := openPage()
	if err != nil {
		return nil, err
	}
	all := &projects{o: o, desks: map[string]*Server{}}
	s := newDesk(w, all)
	all.main, s.limits = s, readLimits{head: 5 * time.Second, whole: 20 * time.Second}
	mux := http.NewServeMux()
	mux.Handle("GET /{$}", page)
	mux.Handle("GET /assets/{name}", page)
	mux.Handle("GET /sheets/{name}", &all.sheets)
	mux.Handle("/api/", all)
	s.handler = guard(o.Addr, o.Token, mux)
	w.reload()
	return s, nil
}

// ServeHTTP answers a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Close stops what is being computed and ends the streams of events.
func (s *Server) Close() {
	s.all.close()
	s.work.close()
}

// Serve answers on a listener until ctx ends, then lets requests finish for a short while.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	srv := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: s.limits.head,
		ReadTimeout:       s.limits.whole,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	s.Close()
	wait, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer cancel()
	if err := srv.Shutdown(wait); err != nil {
		return srv.Close()
	}
	return nil
}

// NewToken returns a token that cannot be guessed.
func NewToken() string {
	b := make([]byte, 16)
	rand.Read(b) // never fails, by its contract
	return hex.EncodeToString(b)
}

// loopback reports whether only this machine reaches an address.
func loopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// hostOnly returns a host without its port and brackets, in lower case.
func hostOnly(host string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return strings.ToLower(strings.Trim(host, "[]"))
}
