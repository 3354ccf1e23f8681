// Package version reports the version of the program.
//
// In: a version that the linker sets in a release build; otherwise what the go command recorded in the binary.
// Out: one text, such as "0.2.0" or "0.2.0-dev+3f090aecd2a1".
// Assumes: nothing.
// Leaves to others: printing it (cli, report).
package version

import (
	"runtime/debug"
	"strings"
)

// Next is the version that the source tree leads to. CHANGELOG.md has a section of the same name.
const Next = "0.2.0"

// release is set by tools/release: -ldflags "-X lampwright/internal/version.release=0.2.0".
var release string

// String returns the version of this binary.
func String() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = &debug.BuildInfo{}
	}
	return of(release, info)
}

// of returns the version of a build: the release, the module version of `go install`, or the next version with the commit.
func of(release string, info *debug.BuildInfo) string {
	if release != "" {
		return release
	}
	setting := map[string]string{}
	for _, s := range info.Settings {
		setting[s.Key] = s.Value
	}
	if v, ok := strings.CutPrefix(info.Main.Version, "v"); ok && setting["vcs.revision"] == "" {
		return v
	}
	text := Next + "-dev"
	if commit := setting["vcs.revision"]; commit != "" {
		text += "+" + commit[:min(len(commit), 12)]
		if setting["vcs.modified"] == "true" {
			text += ".modified"
		}
	}
	return text
}
