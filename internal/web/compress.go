package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"sync"
)

// minCompressed is the size from which an answer is compressed [bytes]: a smaller one fills one packet either way.
const minCompressed = 1400

// compressed sends the answers of next in gzip to a client that accepts it. next writes each answer at once: what is
// written in pieces, as a stream of events, goes through next's own route instead.
func compressed(next http.Handler) http.Handler {
	writers := &sync.Pool{New: func() any {
		return gzipOf(gzip.DefaultCompression)
	}}
	pack := func(data []byte) []byte {
		z := writers.Get().(*gzip.Writer)
		defer writers.Put(z)
		return packed(data, z)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Add("Vary", "Accept-Encoding")
		if acceptsGzip(r.Header.Values("Accept-Encoding")) {
			w = &gzipWriter{ResponseWriter: w, pack: pack}
		}
		next.ServeHTTP(w, r)
	})
}

// gzipOf returns a writer of gzip at a level of package gzip.
func gzipOf(level int) *gzip.Writer {
	z, err := gzip.NewWriterLevel(nil, level)
	if err != nil {
		panic("web: " + err.Error())
	}
	return z
}

// packed returns data in gzip.
func packed(data []byte, z *gzip.Writer) []byte {
	var b bytes.Buffer
	z.Reset(&b)
	_, err := z.Write(data)
	if err = errors.Join(err, z.Close()); err != nil {
		panic("web: " + err.Error()) // a buffer takes all
	}
	return b.Bytes()
}

// gzipWriter compresses an answer that is written at once.
type gzipWriter struct {
	http.ResponseWriter
	pack   func(data []byte) []byte
	status int // that was set before the answer; 0 where none was
	begun  bool
}

// Unwrap leads an http.ResponseController to the connection.
func (w *gzipWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// WriteHeader waits for the answer, whose size decides on its encoding.
func (w *gzipWriter) WriteHeader(status int) { w.status = status }

// Write sends the answer.
func (w *gzipWriter) Write(data []byte) (int, error) {
	if w.begun {
		panic("web: an answer is written in pieces") // its length is in its header
	}
	w.begun = true
	h, out := w.Header(), data
	if len(data) >= minCompressed {
		h.Set("Content-Encoding", "gzip")
		out = w.pack(data)
	}
	h.Set("Content-Length", strconv.Itoa(len(out)))
	if w.status != 0 {
		w.ResponseWriter.WriteHeader(w.status)
	}
	if _, err := w.ResponseWriter.Write(out); err != nil {
		return 0, err
	}
	return len(data), nil
}

// acceptsGzip reports whether the Accept-Encoding headers of a request allow gzip.
// Source: FieldingEtAl2022, §12.5.3: a coding that is listed with a weight above 0, by its name or by an asterisk.
func acceptsGzip(headers []string) bool {
	any := false
	for _, coding := range strings.Split(strings.Join(headers, ","), ",") {
		name, parameters, _ := strings.Cut(coding, ";")
		allowed := true
		if q, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(parameters)), "q="); ok {
			weight, err := strconv.ParseFloat(q, 64)
			allowed = err == nil && weight > 0
		}
		switch strings.ToLower(strings.TrimSpace(name)) {
		case "gzip", "x-gzip":
			return allowed
		case "*":
			any = allowed
		}
	}
	return any
}
