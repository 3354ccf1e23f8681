package source

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Visible returns text with its control characters, line separators and marks of writing direction quoted, such as
// \u001b, \n and \u202e: none of them reaches a terminal or a report, where it could move the cursor, begin a line of
// its own, or turn the order of what follows. Bytes that are no UTF-8 are quoted as \x9b.
func Visible(text string) string {
	if plain(text) {
		return text
	}
	var b strings.Builder
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02x`, text[i])
		case Invisible(r):
			b.WriteString(Quoted(r))
		default:
			b.WriteRune(r)
		}
		i += size
	}
	return b.String()
}

func plain(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsFunc(text, Invisible)
}

// Quoted returns an invisible character as Visible shows it, which is also how JSON writes it.
func Quoted(r rune) string {
	switch r {
	case '\n':
		return `\n`
	case '\r':
		return `\r`
	case '\t':
		return `\t`
	}
	return fmt.Sprintf(`\u%04x`, r)
}

// Invisible reports control characters (Unicode Cc), line and paragraph separators, and the characters with the
// property Bidi_Control.
func Invisible(r rune) bool {
	return unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Bidi_Control, r)
}
