package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestManyProblems prints the first 20 problems of a file with hundreds, and counts the others.
func TestManyProblems(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "parts"), 0o755); err != nil {
		t.Fatal(err)
	}
	text := "emitters:\n" + strings.Repeat("  - {id: a b, nonsense: 1}\n", 300)
	if err := os.WriteFile(filepath.Join(dir, "parts", "own.yaml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	lamp := filepath.Join(dir, "lamp.yaml")
	if err := os.WriteFile(lamp, []byte("lampwright: 2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"parts", "--dir", dir}, {"review", dir}} {
		var out, errOut bytes.Buffer
		if got := Main(args, &out, &errOut); got != statusBad {
			t.Errorf("%q: status %d", args, got)
		}
		shown := strings.Count(errOut.String(), dir+string(filepath.Separator))
		if shown != maxShown || !strings.Contains(errOut.String(), " problems; the first 20 are shown\n") {
			t.Errorf("%q: %d problems are shown: %s", args, shown, errOut.String())
		}
	}
}
