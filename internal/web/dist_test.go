package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lampwright/internal/draw"
)

var update = flag.Bool("update", false,
	"write what is made from the code: ui/src/colours.ts; build dist again after it")

// TestColours holds the page's colour scales against those of the pictures.
func TestColours(t *testing.T) {
	light, heat, grey := draw.Scales(256)
	text := "// Made by go test ./internal/web -run TestColours -update from internal/draw: 256 colours from little to much.\n"
	for _, s := range []struct {
		name    string
		colours []string
	}{{"light", light}, {"heat", heat}, {"grey", grey}} {
		text += fmt.Sprintf("export const %s = '%s';\n", s.name, strings.ReplaceAll(strings.Join(s.colours, " "), "#", ""))
	}
	const name = "ui/src/colours.ts"
	if *update {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(data) != text {
		t.Errorf("%s is not made of the scales that pictures have; write it anew with -update and build dist", name)
	}
}

// TestDist holds what is embedded against its sources: by their checksums, and where the packages are installed by
// building it again. `go generate ./internal/web` mends it.
func TestDist(t *testing.T) {
	list, err := os.ReadFile("ui/SOURCES.txt")
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for line := range strings.Lines(string(list)) {
		sum, name, ok := strings.Cut(strings.TrimSpace(line), "  ")
		if !ok {
			t.Fatalf("ui/SOURCES.txt: %q", line)
		}
		said[name] = sum
	}
	names, err := filepath.Glob("ui/src/*")
	if err != nil {
		t.Fatal(err)
	}
	names = append(names, "ui/index.html", "ui/package.json", "ui/package-lock.json", "ui/tsconfig.json", "ui/build.sh")
	for _, n := range names {
		data, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(data)
		short := strings.TrimPrefix(filepath.ToSlash(n), "ui/")
		if said[short] != hex.EncodeToString(sum[:]) {
			t.Errorf("%s has changed since dist was built; run go generate ./internal/web", n)
		}
		delete(said, short)
	}
	for n := range said {
		t.Errorf("dist was built from %s, which is not there any longer", n)
	}
	if t.Failed() || testing.Short() {
		return
	}
	if _, err := os.Stat("ui/node_modules"); err != nil {
		t.Log("ui/node_modules is not installed: the checksums of the sources are what was held")
		return
	}
	dir := t.TempDir()
	cmd := exec.Command("sh", "ui/build.sh", dir)
	cmd.Env = append(os.Environ(), "LAMPWRIGHT_NO_TYPES=1")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	built, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	embedded, err := dist.ReadDir("dist")
	if err != nil {
		t.Fatal(err)
	}
	if len(built) != len(embedded) {
		t.Errorf("%d files are built, %d are embedded", len(built), len(embedded))
	}
	for _, f := range built {
		want, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if got, err := dist.ReadFile("dist/" + f.Name()); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what its sources make; run go generate ./internal/web", f.Name())
		}
	}
}

// TestBundle holds the size of the page, in gzip: at most 60 kB for what it names, which is drawn first, and 250 kB
// with what comes later, the 3-D part left out.
func TestBundle(t *testing.T) {
	p, err := newPage()
	if err != nil {
		t.Fatal(err)
	}
	first, all := 0, 0
	for name, f := range p.files {
		if strings.HasPrefix(name, "scene-") || strings.HasSuffix(name, ".txt") {
			continue
		}
		n := len(f.packed())
		all += n
		if name == "index.html" || bytes.Contains(p.files["index.html"].data, []byte("/assets/"+name)) {
			first += n
		}
	}
	t.Logf("%d bytes first, %d in all", first, all)
	if first > 60_000 || all > 250_000 {
		t.Errorf("the page has %d bytes in gzip, want at most 60000; with what comes later %d, want 250000", first, all)
	}
	for _, m := range regexp.MustCompile(`(?:from|import)"\./([^"]+)"`).FindAllSubmatch(p.files["page.js"].data, -1) {
		if !bytes.Contains(p.files["index.html"].data, append([]byte("/assets/"), m[1]...)) {
			t.Errorf("%s is asked for only once page.js has come", m[1])
		}
	}
	if _, ok := p.files["NOTICES.txt"]; !ok {
		t.Error("the licences are not among the files")
	}
	if index := string(p.files["index.html"].data); strings.Contains(index, "<script>") ||
		strings.Contains(index, "onload=") || strings.Contains(index, "style=") {
		t.Error("the page has script or style within it, which the content policy forbids")
	}
}
