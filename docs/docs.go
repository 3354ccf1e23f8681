// Package docs returns the citations of docs/sources.md by their keys, so that a report prints in full the works that a
// result names.
//
// In: nothing; sources.md is embedded. Out: citations by key.
// Assumes: one line per key; a test checks it.
// Leaves to others: which keys a result names.
package docs

import (
	_ "embed"
	"regexp"
)

//go:embed sources.md
var sources string

var entry = regexp.MustCompile(`(?m)^(?:- )?\*\*([A-Za-z0-9.-]+)\*\* — (.+)$`)

// Sources returns the citations of sources.md by their keys.
func Sources() map[string]string {
	out := map[string]string{}
	for _, m := range entry.FindAllStringSubmatch(sources, -1) {
		out[m[1]] = m[2]
	}
	return out
}
