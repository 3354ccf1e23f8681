package source

import (
	"strings"
	"testing"
)

func TestVisible(t *testing.T) {
	for text, want := range map[string]string{
		"white 5700 K ± 5 %, Грін, 白":    "white 5700 K ± 5 %, Грін, 白",
		"\x1b[32mPass":                   `\u001b[32mPass`,
		"a\nStop  b\r\tc":                `a\nStop  b\r\tc`,
		"\u009b2J\u007f\u0085":           `\u009b2J\u007f\u0085`,
		"\u202egnp.exe\u202c":            `\u202egnp.exe\u202c`,
		"\u200e\u200f\u061c\u2066\u2069": `\u200e\u200f\u061c\u2066\u2069`,
		"a\u2028b\u2029":                 `a\u2028b\u2029`,
		"\x9b2J":                         `\x9b2J`,
		"שלום":                           "שלום", // letters that are written from right to left need no mark
	} {
		if got := Visible(text); got != want {
			t.Errorf("Visible(%q) = %q, want %q", text, got, want)
		}
	}
}

// TestVisibleProblem wants one line of message from a problem, whatever the file is called.
func TestVisibleProblem(t *testing.T) {
	p := Problem{At: Pos{File: "a\nb.yaml"}, Msg: "x\x1b[2J", Hint: "y\u202ez"}
	if got, want := p.Error(), `a\nb.yaml: x\u001b[2J; y\u202ez`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestVisibleTexts wants texts of a file decoded without control characters; those of a file cannot contain them raw,
// but YAML can quote them.
func TestVisibleTexts(t *testing.T) {
	var v struct {
		Name Text `yaml:"name"`
		Note Text `yaml:"note"`
	}
	_, problems := read("lamp.yaml", []byte("name: \"white\\e[2J\\nStop  lamp \\u202E\"\nnote: |\n  one line\n"), &v)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if want := `white\u001b[2J\nStop  lamp \u202e`; v.Name.S != want {
		t.Errorf("the name is %q, want %q", v.Name.S, want)
	}
	if strings.Contains(v.Note.S, `\n`) || strings.TrimSpace(v.Note.S) != "one line" {
		t.Errorf("the end of a block is quoted: %q", v.Note.S)
	}
}
