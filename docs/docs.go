// Package docs holds the handbook and the references of the files, and returns the citations of docs/sources.md by
// their keys, so that a report prints in full the works that a result names.
//
// In: nothing; the pages are embedded. Out: the pages; citations by key.
// Assumes: one line per key; a test checks it.
// Leaves to others: which keys a result names; dividing and searching the pages (handbook).
package docs

import (
	"embed"
	"io/fs"
	"regexp"
)

//go:embed handbook format.md spectrum.md sources.md
var pages embed.FS

// Pages returns the pages of the handbook, in the folder handbook, and the references beside it.
func Pages() fs.FS { return pages }

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
