// Package examples holds the demos as they stand in this folder, so that the program can offer them.
//
// In: nothing. Out: the files of each demo.
// Assumes: each folder is a whole project.
// Leaves to others: what is done with them (cli, web).
package examples

import "embed"

// Files is every demo: one folder each, with its lamp.yaml, its own parts and readings of the built lamp.
//
//go:embed */lamp.yaml */readings.yaml */parts/*.yaml
var Files embed.FS
