package docs

import (
	"strings"
	"testing"
)

func TestSources(t *testing.T) {
	s := Sources()
	if len(s) < 100 {
		t.Fatalf("%d citations", len(s))
	}
	if !strings.Contains(s["Lee1995"], "spreading resistance") {
		t.Errorf("Lee1995 is %q", s["Lee1995"])
	}
}
