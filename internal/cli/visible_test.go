package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/source"
)

// forged is a name that clears the screen, begins a line like that of a finding, and turns the order of what follows.
const forged = `"Moss jar\e[2J\nStop          forged        1 A   ≤ 0 A\u202E"`

// TestForgedName wants a name of the design quoted wherever a command prints it: no control character, no mark of
// writing direction, and no line that the name begins.
func TestForgedName(t *testing.T) {
	dir := t.TempDir()
	text, err := os.ReadFile("../../examples/moss-jar/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	design := strings.Replace(string(text), "name: Moss jar", "name: "+forged, 1)
	path := filepath.Join(dir, "lamp.yaml")
	if err := os.WriteFile(path, []byte(design), 0o644); err != nil {
		t.Fatal(err)
	}
	missing := filepath.Join(dir, "no\x1b[2J\nStop          forged\u202e")
	for _, args := range [][]string{
		{"review", dir},
		{"review", "--short", dir},
		{"figures", dir},
		{"bom", dir},
		{"bom", "--csv", dir},
		{"review", missing},
		{"figures", missing},
		{"spectrum", missing},
		{"verify", "--case", missing},
		{"\x1b[2Jx"},
		{"review", "--json", dir},
	} {
		var out, errOut bytes.Buffer
		Main(args, &out, &errOut)
		all := out.String() + errOut.String()
		for _, r := range strings.ReplaceAll(all, "\r\n", "\n") {
			if r != '\n' && r != '\t' && source.Invisible(r) {
				t.Errorf("%q prints %q", args, r)
				break
			}
		}
		for line := range strings.Lines(all) {
			if strings.HasPrefix(line, "Stop          forged") {
				t.Errorf("%q prints the line %q", args, line)
			}
		}
	}
	var out bytes.Buffer
	Main([]string{"review", dir}, &out, &out)
	if want := `Moss jar\u001b[2J\nStop`; !strings.Contains(out.String(), want) {
		t.Errorf("the review does not show the name as %s:\n%.300s", want, out.String())
	}
}

func TestVisibleWriter(t *testing.T) {
	for _, tt := range []struct {
		styles bool
		writes []string
		want   string
	}{
		{false, []string{"a\tb\n", "c\r\nd\r"}, "a\tb\nc\r\nd" + `\r`},
		{false, []string{"\x1b[32mPass\x1b[0m"}, `\u001b[32mPass\u001b[0m`},
		{true, []string{"\x1b[32mPass\x1b[0m \x1b[1;31mStop\x1b[0m"}, "\x1b[32mPass\x1b[0m \x1b[1;31mStop\x1b[0m"},
		{true, []string{"\x1b[2J\x1b]0;title\x07"}, `\u001b[2J\u001b]0;title\u0007`},
		{false, []string{"5 \xc2", "\xb5m, \xe7\x99", "\xbd"}, "5 µm, 白"},
		{false, []string{"\x9b2J\xff."}, `\x9b2J\xff.`},
		{false, []string{"a\u202eb"}, `a\u202eb`},
	} {
		var b bytes.Buffer
		v := &visibleWriter{w: &b, styles: tt.styles}
		for _, text := range tt.writes {
			if n, err := v.Write([]byte(text)); n != len(text) || err != nil {
				t.Errorf("%q: %d, %v", text, n, err)
			}
		}
		if b.String() != tt.want {
			t.Errorf("%q with styles %v: %q, want %q", tt.writes, tt.styles, b.String(), tt.want)
		}
	}
}
