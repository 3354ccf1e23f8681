// Command release builds the release archives of lampwright.
//
// In: the source tree, the module cache and the go command. Out: one archive per operating system and architecture, and
// SHA256SUMS. Equal sources and an equal go command give equal files: times, owners and the order of entries are fixed, and no
// path of the machine is in a binary.
// Assumes: the working folder is tools/, or -root names the source tree.
package main

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

// target is an operating system with an architecture, as the go command names them.
type target struct{ system, arch string }

var allTargets = []target{
	{"darwin", "amd64"},
	{"darwin", "arm64"},
	{"linux", "amd64"},
	{"linux", "arm64"},
	{"windows", "amd64"},
	{"windows", "arm64"},
}

// release is what is built.
type release struct {
	root, out, version string
	targets            []target
	modified           time.Time // of every entry of an archive
}

func main() {
	r, err := parse(os.Args[1:])
	if err == nil {
		err = r.run()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// parse reads the flags.
func parse(args []string) (*release, error) {
	f := flag.NewFlagSet("release", flag.ContinueOnError)
	root := f.String("root", "..", "source tree")
	out := f.String("out", "", "folder for the archives; default: dist in the source tree")
	version := f.String("version", "", "version; default: that of internal/version")
	targets := f.String("targets", "", "comma-separated list of os/arch; default: all")
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	r := &release{root: *root, out: *out, version: *version, targets: allTargets, modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)}
	if r.out == "" {
		r.out = filepath.Join(r.root, "dist")
	}
	if r.version == "" {
		text, err := os.ReadFile(filepath.Join(r.root, "internal", "version", "version.go"))
		if err != nil {
			return nil, err
		}
		m := regexp.MustCompile(`const Next = "([^"]+)"`).FindSubmatch(text)
		if m == nil {
			return nil, errors.New("internal/version/version.go has no constant Next; set -version")
		}
		r.version = string(m[1])
	}
	if *targets != "" {
		r.targets = nil
		for one := range strings.SplitSeq(*targets, ",") {
			system, arch, _ := strings.Cut(one, "/")
			if !slices.Contains(allTargets, target{system, arch}) {
				return nil, fmt.Errorf("no target %q; the targets are %v", one, allTargets)
			}
			r.targets = append(r.targets, target{system, arch})
		}
	}
	return r, nil
}

// run builds all archives and their checksums.
func (r *release) run() error {
	if err := os.MkdirAll(r.out, 0o755); err != nil {
		return err
	}
	var sums strings.Builder
	for _, t := range r.targets {
		name, data, err := r.archive(t)
		if err != nil {
			return fmt.Errorf("%s/%s: %w", t.system, t.arch, err)
		}
		if err := os.WriteFile(filepath.Join(r.out, name), data, 0o644); err != nil {
			return err
		}
		line := fmt.Sprintf("%x  %s\n", sha256.Sum256(data), name)
		fmt.Print(line)
		sums.WriteString(line)
	}
	return os.WriteFile(filepath.Join(r.out, "SHA256SUMS"), []byte(sums.String()), 0o644)
}
