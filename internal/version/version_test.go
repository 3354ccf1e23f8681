package version

import (
	"os"
	"regexp"
	"runtime/debug"
	"testing"
)

func TestVersionOfBuilds(t *testing.T) {
	vcs := func(modified string) []debug.BuildSetting {
		return []debug.BuildSetting{{Key: "vcs.revision", Value: "0123456789abcdef0123"}, {Key: "vcs.modified", Value: modified}}
	}
	for _, tt := range []struct {
		name, release string
		info          debug.BuildInfo
		want          string
	}{
		{"release", "1.2.3", debug.BuildInfo{Settings: vcs("false")}, "1.2.3"},
		{"go install", "", debug.BuildInfo{Main: debug.Module{Version: "v0.3.0"}}, "0.3.0"},
		{"checkout", "", debug.BuildInfo{Main: debug.Module{Version: "v0.0.0-2026"}, Settings: vcs("false")}, Next + "-dev+0123456789ab"},
		{"edited checkout", "", debug.BuildInfo{Settings: vcs("true")}, Next + "-dev+0123456789ab.modified"},
		{"no record", "", debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}, Next + "-dev"},
	} {
		if got := of(tt.release, &tt.info); got != tt.want {
			t.Errorf("%s: version %q, want %q", tt.name, got, tt.want)
		}
	}
	if String() == "" {
		t.Error("this build has no version")
	}
}

// TestChangelogHasNext wants the changelog to have a section for the version that the source tree leads to.
func TestChangelogHasNext(t *testing.T) {
	text, err := os.ReadFile("../../CHANGELOG.md")
	if err != nil {
		t.Fatal(err)
	}
	if !regexp.MustCompile(`(?m)^## .*\b` + regexp.QuoteMeta(Next) + `\b`).Match(text) {
		t.Errorf("CHANGELOG.md has no section %s", Next)
	}
}
