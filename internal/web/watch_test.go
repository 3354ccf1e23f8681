package web

import (
	"bufio"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"
)

// TestChangedBeforeListening: a file that changes after a page has read the project, and before its stream of events
// begins, is told by that stream.
func TestChangedBeforeListening(t *testing.T) {
	dir := demo(t, "moss-jar")
	s, ts := serve(t, dir)
	settled(t, s)
	known := fmt.Sprint(state(t, ts).Version)
	write(t, dir, onDisk(t, dir)+"# changed\n")
	resp, err := http.Get(ts.URL + "/api/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	end := time.AfterFunc(20*time.Second, func() { resp.Body.Close() })
	defer end.Stop()
	lines := bufio.NewScanner(resp.Body)
	for lines.Scan() {
		if lines.Text() != "event: version" || !lines.Scan() {
			continue
		}
		if got, _ := strings.CutPrefix(lines.Text(), "data: "); got != known {
			return
		}
	}
	t.Errorf("no version after %s is told", known)
}
