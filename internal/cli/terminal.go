package cli

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/term"
	"golang.org/x/text/width"
)

// Widths of text in columns. Prose is never wider than a pipe; tables use the whole width.
const (
	pipeWidth = 100
	minWidth  = 40
)

// style is an ANSI rendition for a word of the output.
type style string

// The styles. Each has a word beside it, so colour is never the only sign.
const (
	bold   style = "1"
	faint  style = "2"
	red    style = "1;31"
	yellow style = "1;33"
	blue   style = "1;34"
	green  style = "32"
)

// output is the standard output. It keeps the first error, so that a command whose output is not complete cannot end
// as if it were: on a full disk, or closed.
type output struct {
	w   io.Writer
	err error
}

// Write writes until an error occurs.
func (o *output) Write(p []byte) (int, error) {
	if o.err != nil {
		return 0, o.err
	}
	n, err := o.w.Write(p)
	o.err = err
	return n, err
}

// newRun returns the environment of a command that prints to out and errOut.
func newRun(out *output, errOut io.Writer) *run {
	w := out.w
	colour := isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	out.w = &visibleWriter{w: w, styles: colour}
	return &run{
		out: out, err: &visibleWriter{w: errOut, styles: colour}, width: widthOf(w), colour: colour,
		drawn: isTerminal(errOut) && !isPipe(w),
	}
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// widthOf returns the width for tables: COLUMNS if set, else the width of the terminal, else that of a pipe.
func widthOf(w io.Writer) int {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return max(n, minWidth)
	}
	if f, ok := w.(*os.File); ok {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			return max(n, minWidth)
		}
	}
	return pipeWidth
}

// paint returns text in a style, or text alone without colour.
func (r *run) paint(s style, text string) string {
	if !r.colour || text == "" {
		return text
	}
	return "\x1b[" + string(s) + "m" + text + "\x1b[0m"
}

// println prints a line.
func (r *run) println(line string) { fmt.Fprintln(r.out, line) }

// prose prints text after a label, with continuation lines below the text.
func (r *run) prose(label, text string) {
	r.println(label + wrap(text, min(r.width, pipeWidth), displayWidth(label)))
}

// displayWidth returns the number of terminal columns of a text without escape sequences: two for wide characters of East Asian
// scripts, none for combining marks.
func displayWidth(text string) int {
	n := 0
	for _, c := range text {
		switch kind := width.LookupRune(c).Kind(); {
		case unicode.In(c, unicode.Mn, unicode.Me, unicode.Cf):
		case kind == width.EastAsianWide, kind == width.EastAsianFullwidth:
			n += 2
		default:
			n++
		}
	}
	return n
}

// number is a word to which the next one, its unit, is tied.
var number = regexp.MustCompile(`^[(≤≥<>×±+−-]*[0-9][0-9.]*$`)

// wrap breaks text at blanks so that no line exceeds the width, with an indent from the second line on. A number and its unit
// stay on one line.
func wrap(text string, columns, indent int) string {
	var b strings.Builder
	col := indent
	words := strings.Fields(text)
	for i := 0; i < len(words); i++ {
		word := words[i]
		for i+1 < len(words) && number.MatchString(words[i]) {
			i++
			word += " " + words[i]
		}
		w := displayWidth(word)
		switch {
		case b.Len() == 0:
		case col+1+w > columns:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			col = indent
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += w
	}
	return b.String()
}

// clip shortens text to a number of columns; an ellipsis marks the cut.
func clip(text string, columns int) string {
	if displayWidth(text) <= columns {
		return text
	}
	out, n := "", 0
	for _, c := range text {
		if n += displayWidth(string(c)); n > columns-1 {
			break
		}
		out += string(c)
	}
	return strings.TrimRight(out, " ,;:") + "…"
}

// plainWord is a word that a shell reads as it stands.
var plainWord = regexp.MustCompile(`^[\pL\pN_@%+=:,./-]+$`)

// quoted returns an argument as a POSIX shell reads it.
func quoted(arg string) string {
	if plainWord.MatchString(arg) {
		return arg
	}
	return "'" + strings.ReplaceAll(arg, "'", `'\''`) + "'"
}

// command returns a command line of this program that can be copied; the current folder is left out.
func command(args ...string) string {
	line := "lampwright"
	for i, a := range args {
		if i == len(args)-1 && i > 0 && a == "." {
			continue
		}
		line += " " + quoted(a)
	}
	return line
}
