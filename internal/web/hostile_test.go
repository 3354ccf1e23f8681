//go:build unix

package web

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestNamedPipes puts named pipes where the workspace reads files, before it starts and while it runs: it answers, and
// says what the file is.
func TestNamedPipes(t *testing.T) {
	for _, name := range []string{"lamp.yaml", "parts", "parts/own.yaml", "other.yaml"} {
		dir := demo(t, "propagation-bench")
		path := filepath.Join(dir, name)
		_ = os.MkdirAll(filepath.Dir(path), 0o755)
		_ = os.Remove(path)
		if err := syscall.Mkfifo(path, 0o600); err != nil {
			t.Fatal(err)
		}
		_, addr := listening(t, dir)
		for _, page := range []string{"state", "versions"} {
			request := "GET /api/" + page + " HTTP/1.1\r\nHost: " + addr + "\r\nConnection: close\r\n\r\n"
			got, took := raw(t, addr, request, 20*time.Second)
			if !strings.HasPrefix(got, "HTTP/1.1 200") {
				t.Errorf("%s is a named pipe: /api/%s after %v: %.300s", name, page, took, got)
			}
			if page == "state" && name == "lamp.yaml" && !strings.Contains(got, "named pipe") {
				t.Errorf("%s is a named pipe: the page does not say so: %.300s", name, got)
			}
		}
	}
}
