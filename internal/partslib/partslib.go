// Package partslib contains the built-in parts that a design may name: invented, generic ones, with values as the datasheets of
// the trade state them.
//
// In: nothing; the files are part of the program.
// Out: a file system with parts/*.yaml, one file a kind, in the format that package project reads.
// Assumes: nobody orders these parts. They represent a class (a one-die white, a 60 degree lens) and are consistent with
// themselves and with physics, as the tests check; the user replaces them by what they can buy.
// Leaves to others: reading and checking the files (project), and what the values lead to (design).
//
// A few parts have an honest gap or a trap, as datasheets do: a value that is not stated, or two that cannot both be
// true. Their notes say so.
package partslib

import (
	"embed"
	"io/fs"
)

//go:embed parts/*.yaml
var files embed.FS

// Files returns the parts files, as parts/*.yaml.
func Files() fs.FS { return files }
