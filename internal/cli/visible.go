package cli

import (
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"lampwright/internal/source"
)

// visibleWriter writes text to a terminal or a file with control characters and marks of writing direction quoted, as
// source.Visible does: names of files and arguments are printed as well, and could forge a line or a colour. Line ends,
// tabs and, for a terminal, the program's own styles remain.
type visibleWriter struct {
	w       io.Writer
	styles  bool
	pending []byte // the beginning of a character whose other bytes are still to come
}

// ownStyle is an escape sequence that paint writes.
var ownStyle = regexp.MustCompile("^\x1b\\[(0|1|2|32|1;31|1;33|1;34|" + string(qrStyle) + ")m")

// Write quotes and writes text.
func (v *visibleWriter) Write(p []byte) (int, error) {
	text := string(v.pending) + string(p)
	v.pending = nil
	if end := incomplete(text); end < len(text) {
		v.pending = []byte(text[end:])
		text = text[:end]
	}
	if _, err := io.WriteString(v.w, v.quoted(text)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// incomplete returns where a character begins whose last bytes are missing at the end of a text; its length if none.
func incomplete(text string) int {
	for i := len(text) - 1; i >= 0 && i > len(text)-utf8.UTFMax; i-- {
		if utf8.RuneStart(text[i]) {
			if !utf8.FullRuneInString(text[i:]) {
				return i
			}
			break
		}
	}
	return len(text)
}

func (v *visibleWriter) quoted(text string) string {
	if !strings.ContainsFunc(text, func(r rune) bool {
		return r == utf8.RuneError || r != '\n' && r != '\t' && source.Invisible(r)
	}) {
		return text
	}
	var b strings.Builder
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == '\n', r == '\t', r == '\r' && strings.HasPrefix(text[i:], "\r\n"):
			b.WriteRune(r)
		case r == '\x1b' && v.styles && ownStyle.MatchString(text[i:]):
			size = len(ownStyle.FindString(text[i:]))
			b.WriteString(text[i : i+size])
		default:
			b.WriteString(source.Visible(text[i : i+size]))
		}
		i += size
	}
	return b.String()
}

// raw returns the writer beneath a visibleWriter.
func raw(w io.Writer) io.Writer {
	if v, ok := w.(*visibleWriter); ok {
		return v.w
	}
	return w
}

// errorText returns the text of an error in which an argument that contains a line end begins no line of its own.
func errorText(err error, args []string) string {
	text := err.Error()
	for _, a := range args {
		if strings.ContainsAny(a, "\n\r") {
			return source.Visible(text)
		}
	}
	return text
}
