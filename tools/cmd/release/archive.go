package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// entry is a file of an archive.
type entry struct {
	name string
	mode int64
	data []byte
}

// archive builds the binary of a target and packs it with its companions; it returns the name and the bytes of the archive.
func (r *release) archive(t target) (name string, data []byte, err error) {
	binary, err := r.build(t)
	if err != nil {
		return "", nil, err
	}
	notices, err := r.notices(t)
	if err != nil {
		return "", nil, err
	}
	program := "lampwright"
	if t.system == "windows" {
		program += ".exe"
	}
	entries := []entry{{program, 0o755, binary}, {"THIRD-PARTY-NOTICES.txt", 0o644, notices}}
	for name, from := range map[string]string{
		"CHANGELOG.md": "CHANGELOG.md", "LICENSE": "LICENSE", "README.md": "README.md",
		"completions/_lampwright":     "internal/cli/completion/lampwright.zsh",
		"completions/lampwright.bash": "internal/cli/completion/lampwright.bash",
		"completions/lampwright.fish": "internal/cli/completion/lampwright.fish",
	} {
		text, err := os.ReadFile(filepath.Join(r.root, from))
		if err != nil {
			return "", nil, err
		}
		entries = append(entries, entry{name, 0o644, text})
	}
	folder := strings.Join([]string{"lampwright", r.version, t.system, t.arch}, "-")
	for i := range entries {
		entries[i].name = folder + "/" + entries[i].name
	}
	sortEntries(entries)
	if t.system == "windows" {
		data, err = r.zip(entries)
		return folder + ".zip", data, err
	}
	data, err = r.tar(entries)
	return folder + ".tar.gz", data, err
}

// build returns a static binary without paths, symbols or build ids.
func (r *release) build(t target) ([]byte, error) {
	dir, err := os.MkdirTemp("", "lampwright-release")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "lampwright")
	flags := "-s -w -buildid= -X lampwright/internal/version.release=" + r.version
	if _, err := r.goCommand(t, "build", "-trimpath", "-ldflags", flags, "-o", out, "./cmd/lampwright"); err != nil {
		return nil, err
	}
	return os.ReadFile(out)
}

// goCommand runs the go command for a target in the source tree.
func (r *release) goCommand(t target, args ...string) ([]byte, error) {
	cmd := exec.Command("go", args...)
	cmd.Dir = r.root
	cmd.Env = append(os.Environ(), "GOOS="+t.system, "GOARCH="+t.arch, "GOAMD64=v1", "GOARM64=v8.0", "CGO_ENABLED=0",
		"GOFLAGS=-mod=readonly -buildvcs=false", "GOWORK=off")
	cmd.Stderr = os.Stderr
	return cmd.Output()
}

// tar packs entries without owners, all with one time.
func (r *release) tar(entries []entry) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	w := tar.NewWriter(z)
	for _, e := range entries {
		header := tar.Header{Name: e.name, Mode: e.mode, Size: int64(len(e.data)), ModTime: r.modified, Typeflag: tar.TypeReg, Format: tar.FormatUSTAR}
		if err := w.WriteHeader(&header); err != nil {
			return nil, err
		}
		if _, err := w.Write(e.data); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// zip packs entries, all with one time.
func (r *release) zip(entries []entry) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		header := zip.FileHeader{Name: e.name, Method: zip.Deflate, Modified: r.modified}
		header.SetMode(os.FileMode(e.mode))
		f, err := w.CreateHeader(&header)
		if err != nil {
			return nil, err
		}
		if _, err := f.Write(e.data); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
