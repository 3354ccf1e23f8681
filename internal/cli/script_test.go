package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"lampwright": func() { os.Exit(Main(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// demos copies the examples into a temporary folder and evaluates each once, so that the scripts find stored unit responses.
func demos(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "examples")
	if err := os.CopyFS(dir, os.DirFS("../../examples")); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]int{
		"long-tank-first": statusFound, "long-tank": statusOK, "rain-wall": statusOK, "moss-jar-first": statusFound,
		"moss-jar": statusOK, "propagation-bench-first": statusFound, "propagation-bench": statusOK,
	} {
		var out bytes.Buffer
		if got := Main([]string{"review", filepath.Join(dir, name)}, &out, &out); got != want {
			t.Fatalf("review of %s ends with %d, want %d: %s", name, got, want, out.String())
		}
	}
	return dir
}

// TestScripts runs commands as a user types them, in an empty folder.
func TestScripts(t *testing.T) {
	examples := demos(t)
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", examples)
			return os.CopyFS(filepath.Join(e.WorkDir, "examples"), os.DirFS(examples))
		},
	})
}
