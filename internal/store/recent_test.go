package store

import (
	"fmt"
	"testing"
)

// TestRecent checks that the memory is bounded, and that the longest unused goes first.
func TestRecent(t *testing.T) {
	var r recent[int, string]
	for i := range 5 {
		r.Put(i, fmt.Sprint(i), 3)
		r.Get(2)
	}
	if _, ok := r.Get(2); !ok || len(r) != 3 {
		t.Errorf("%d kept, want 3 with the one that was used", len(r))
	}
	if _, ok := r.Get(0); ok {
		t.Error("the longest unused is still kept")
	}
}
