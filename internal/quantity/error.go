package quantity

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Kind reports what is wrong with a text.
type Kind int

// The kinds of Error.
const (
	Malformed      Kind = iota // no number, or a spelling of one that is not taken
	BareNumber                 // the unit is missing
	WrongDimension             // a unit of another dimension
	UnknownUnit                // no unit of any dimension here
	Absolute                   // a temperature where a difference is due
	Difference                 // a difference, by its size, where a temperature is due
	OutOfRange                 // impossible in any place: below absolute zero, or too large a number
	TooLong                    // more than MaxLen bytes
)

// Error is why a text could not be read as a value.
type Error struct {
	Kind Kind
	Text string // what was read
	Want Dim    // what was due
	Got  Dim    // what it is, for WrongDimension and Absolute
	Msg  string // what is wrong, beginning with the text in quotes
	Hint string // what to write instead; may be empty
}

// Error returns the message and the hint on one line.
func (e *Error) Error() string {
	if e.Hint == "" {
		return e.Msg
	}
	return e.Msg + "; " + e.Hint
}

// quote puts text in quotes, shortened, with everything that does not print escaped.
func quote(text string) string {
	const most = 60
	if utf8.RuneCountInString(text) > most {
		text = string([]rune(text)[:most-1]) + "…"
	}
	return strconv.Quote(strings.ToValidUTF8(text, "\uFFFD"))
}
