// Package textpos states what is wrong in a text file with its position: line, column and the line itself.
//
// In: a text, and an offset or a line and column in it. Out: a Problem.
// Assumes: lines end with \n, \r\n or \r. Columns count characters.
// Leaves to others: the name of the file, and printing the line with a mark below the column (package source).
//
// Readers of files that other programs write (spectra, LM-63, JSON cases) report what they find as Problems, so that
// all of it has one form.
package textpos

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Problem is one thing that is wrong in a text file.
type Problem struct {
	Line    int // from 1; 0 means the whole file
	Col     int // from 1, in characters; 0 means the whole line
	Text    string
	Excerpt string // the line
}

// Error returns the problem with its line.
func (p Problem) Error() string {
	if p.Line > 0 {
		return fmt.Sprintf("line %d: %s", p.Line, p.Text)
	}
	return p.Text
}

// Problems are all that is wrong with a text file.
type Problems []Problem

// Error returns one line a problem.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, q := range p {
		lines[i] = q.Error()
	}
	return strings.Join(lines, "\n")
}

// Of returns the problems that an error is made of; any other error is one of the whole file.
func Of(err error) Problems {
	if list := Problems(nil); errors.As(err, &list) {
		return list
	}
	one := Problem{}
	if !errors.As(err, &one) {
		one.Text = err.Error()
	}
	return Problems{one}
}

// At returns a problem at the character that begins at an offset of a text in bytes.
func At(text string, offset int, what string) Problem {
	offset = min(max(offset, 0), len(text))
	before := text[:offset]
	line := strings.Count(before, "\n") + strings.Count(before, "\r") - strings.Count(before, "\r\n") + 1
	start := strings.LastIndexAny(before, "\r\n") + 1
	end := len(text)
	if i := strings.IndexAny(text[offset:], "\r\n"); i >= 0 {
		end = offset + i
	}
	return Problem{
		Line: line, Col: utf8.RuneCountInString(text[start:offset]) + 1, Text: what,
		Excerpt: string([]rune(text[start:end])), // a byte that is not UTF-8 counts as a character
	}
}
