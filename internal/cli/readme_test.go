package cli

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the pages that are made from the code: README.md and docs/format.md")

// TestReadmeShowsTheDemo holds the output in README.md to what the program prints.
func TestReadmeShowsTheDemo(t *testing.T) {
	const begin, end = "-->\n", "<!-- /demo -->"
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(text), "<!-- demo:")
	comment, rest, ok2 := strings.Cut(rest, begin)
	_, tail, ok3 := strings.Cut(rest, end)
	if !ok || !ok2 || !ok3 {
		t.Fatal("README.md has no place for the demo")
	}
	t.Chdir("../..")
	var out, errOut bytes.Buffer
	if status := Main([]string{"review", "examples/long-tank-first"}, &out, &errOut); status != statusFound {
		t.Fatalf("review of the first demo ends with %d, want %d: %s", status, statusFound, errOut.String())
	}
	want := head + "<!-- demo:" + comment + begin + "\n```\n" + abridged(out.String()) + "```\n\n" + end + tail
	hold(t, "README.md", string(text), want)
}

// abridged returns a review with its headline, its table, its first two findings and its last lines.
func abridged(review string) string {
	parts := strings.Split(review, "\n\n")
	return strings.Join(append(parts[:4:4], "…", parts[len(parts)-1]), "\n\n")
}

// TestFormatReference holds docs/format.md to the code.
func TestFormatReference(t *testing.T) {
	t.Chdir("../..")
	text, err := os.ReadFile("docs/format.md")
	if err != nil && !*update {
		t.Fatal(err)
	}
	hold(t, "docs/format.md", string(text), Reference())
}

// hold compares a file made from the code with what the code makes, or rewrites it.
func hold(t *testing.T, name, have, want string) {
	t.Helper()
	if have == want {
		return
	}
	if !*update {
		t.Fatalf("%s is not what the code makes; run: go test ./internal/cli -run 'Readme|Format' -update", name)
	}
	if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
		t.Fatal(err)
	}
}
