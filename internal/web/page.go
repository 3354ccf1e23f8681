package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"

	"lampwright/internal/draw"
)

// dist is what esbuild made of ui/; see ui/build.sh and TestDist.
//
//go:generate go test -run ^(TestGenerated|TestColours)$ -update .
//go:generate sh ui/build.sh
//go:embed dist
var dist embed.FS

// page serves the files of the page, each under its fixed name.
type page struct{ files map[string]pageFile }

type pageFile struct {
	data     []byte
	kind     string
	checksum string
}

func newPage() (*page, error) {
	p := &page{files: map[string]pageFile{}}
	add := func(name string, data []byte) {
		sum := sha256.Sum256(data)
		kind := mime.TypeByExtension(path.Ext(name))
		if path.Ext(name) == ".js" {
			kind = "text/javascript; charset=utf-8" // whatever this machine's table of types says
		}
		p.files[name] = pageFile{data, kind, `"` + hex.EncodeToString(sum[:12]) + `"`}
	}
	names, err := fs.ReadDir(dist, "dist")
	if err != nil {
		return nil, fmt.Errorf("read the embedded page: %w", err)
	}
	for _, n := range names {
		data, err := dist.ReadFile("dist/" + n.Name())
		if err != nil {
			return nil, err
		}
		add(n.Name(), data)
	}
	add("draw.css", []byte(draw.CSS()))
	return p, nil
}

func (p *page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	if name == "" {
		name = "index.html"
	}
	f, ok := p.files[name]
	if !ok {
		refuse(w, http.StatusNotFound, "there is no such file")
		return
	}
	h := w.Header()
	h.Set("Cache-Control", "no-cache") // revalidate at each use
	h.Set("ETag", f.checksum)
	if r.Header.Get("If-None-Match") == f.checksum {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", f.kind)
	_, _ = w.Write(f.data) // the client has gone
}
