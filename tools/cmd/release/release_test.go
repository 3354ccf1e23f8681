package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// copyTree copies the files that a build needs.
func copyTree(t *testing.T, to string) {
	t.Helper()
	list, err := exec.Command("git", "-C", "../../..", "ls-files", "-co", "--exclude-standard", "-z").Output()
	if err != nil {
		t.Skip("no git here: ", err)
	}
	for name := range strings.SplitSeq(strings.TrimRight(string(list), "\x00"), "\x00") {
		data, err := os.ReadFile(filepath.Join("../../..", name))
		if errors.Is(err, os.ErrNotExist) {
			continue // deleted and not committed yet
		}
		if err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(filepath.Join(to, filepath.Dir(name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(to, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestReproducible builds in two folders of different names and wants equal checksums. A path in the binary, a time or an owner in
// the archive would make them differ.
func TestReproducible(t *testing.T) {
	if testing.Short() {
		t.Skip("it builds twice")
	}
	dirs := []string{filepath.Join(t.TempDir(), "one"), filepath.Join(t.TempDir(), "another", "place")}
	copyTree(t, dirs[0])
	if err := os.CopyFS(dirs[1], os.DirFS(dirs[0])); err != nil {
		t.Fatal(err)
	}
	var sums []string
	for i, dir := range dirs {
		r, err := parse([]string{"-root", dir, "-version", "9.9.9", "-targets", "linux/amd64"})
		if err != nil {
			t.Fatal(err)
		}
		if err := r.run(); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(filepath.Join(dir, "dist", "SHA256SUMS"))
		if err != nil {
			t.Fatal(err)
		}
		sums = append(sums, string(data))
		if i == 0 {
			checkArchive(t, filepath.Join(dir, "dist"))
		}
	}
	if sums[0] != sums[1] {
		t.Errorf("two builds differ:\n%s%s", sums[0], sums[1])
	}
}

// checkArchive unpacks the archive of linux/amd64, looks at its entries and runs its binary.
func checkArchive(t *testing.T, dir string) {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "lampwright-9.9.9-linux-amd64.tar.gz"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	program := filepath.Join(t.TempDir(), "lampwright")
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if h.Uid != 0 || h.Uname != "" || h.ModTime.Year() != 1980 {
			t.Errorf("%s has owner %d %q and time %v", h.Name, h.Uid, h.Uname, h.ModTime)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(h.Name, "lampwright-9.9.9-linux-amd64/")
		names = append(names, name)
		switch name {
		case "lampwright":
			if err := os.WriteFile(program, data, 0o755); err != nil {
				t.Fatal(err)
			}
		case "THIRD-PARTY-NOTICES.txt":
			for _, want := range []string{"Go standard library", "gonum.org/v1/gonum v", "Redistribution and use", "preact", "observer10deg_1nm.csv", "CC BY-SA"} {
				if !bytes.Contains(data, []byte(want)) {
					t.Errorf("the notices do not contain %q", want)
				}
			}
		}
	}
	want := "CHANGELOG.md LICENSE README.md THIRD-PARTY-NOTICES.txt completions/_lampwright completions/lampwright.bash completions/lampwright.fish lampwright"
	if got := strings.Join(names, " "); got != want {
		t.Errorf("the archive contains %s, want %s", got, want)
	}
	if runtime.GOOS+runtime.GOARCH != "linuxamd64" {
		return
	}
	out, err := exec.Command(program, "--version").Output()
	if err != nil || string(out) != "lampwright 9.9.9\n" {
		t.Errorf("--version prints %q, %v", out, err)
	}
}

func TestArchivesAreSortedAndDated(t *testing.T) {
	r, err := parse([]string{"-version", "1.0.0", "-root", "../../.."})
	if err != nil || len(r.targets) != 6 {
		t.Fatalf("%v, %v", r, err)
	}
	entries := []entry{{"b", 0o644, []byte("two")}, {"a", 0o755, []byte("one")}}
	sortEntries(entries)
	if entries[0].name != "a" {
		t.Error("entries are not sorted")
	}
	packed, err := r.zip(entries)
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil || len(z.File) != 2 || z.File[0].Mode() != 0o755 || !z.File[1].Modified.Equal(r.modified) {
		t.Errorf("zip: %+v, %v", z.File, err)
	}
	for _, wrong := range []string{"plan9/amd64", "linux", "linux/arm64,"} {
		if _, err := parse([]string{"-version", "1", "-targets", wrong}); err == nil {
			t.Errorf("target %q is no error", wrong)
		}
	}
}

func TestLicences(t *testing.T) {
	dir := t.TempDir()
	if _, err := licences(dir); err == nil {
		t.Error("a folder without a licence is no error")
	}
	for _, name := range []string{"LICENSE.md", "NOTICE", "licences.go", "README"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("text of "+name+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := licences(dir)
	if want := "text of LICENSE.md\n\ntext of NOTICE"; err != nil || string(got) != want {
		t.Errorf("licences: %q, %v; want %q", got, err, want)
	}
}
