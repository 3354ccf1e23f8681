package web

import (
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"lampwright/internal/draw"
)

// dist is what esbuild made of ui/; see ui/build.sh and TestDist.
//
//go:generate go test -run ^(TestGenerated|TestColours|TestPackCells)$ -update .
//go:generate sh ui/build.sh
//go:embed dist
var dist embed.FS

// page serves the files of the page, each under its fixed name.
type page struct{ files map[string]*pageFile }

type pageFile struct {
	data     []byte
	kind     string
	checksum string        // of data
	fixed    bool          // the name changes with the content
	packed   func() []byte // data in gzip, made when it is asked for first
}

// openPage returns the page of this program, which every server of a process shares.
var openPage = sync.OnceValues(newPage)

func newPage() (*page, error) {
	p := &page{files: map[string]*pageFile{}}
	names, err := fs.ReadDir(dist, "dist")
	if err != nil {
		return nil, fmt.Errorf("read the embedded page: %w", err)
	}
	for _, n := range names {
		data, err := dist.ReadFile("dist/" + n.Name())
		if err != nil {
			return nil, err
		}
		p.files[n.Name()] = newPageFile(n.Name(), data)
	}
	p.files["draw.css"] = newPageFile("draw.css", []byte(draw.CSS()))
	// The page names each file with its checksum, so that a browser needs to ask for it once only.
	index := string(p.files["index.html"].data)
	for name, f := range p.files {
		if !f.fixed {
			index = strings.ReplaceAll(index, `"/assets/`+name+`"`, `"/assets/`+name+`?v=`+f.checksum+`"`)
		}
	}
	p.files["index.html"] = newPageFile("index.html", []byte(index))
	return p, nil
}

// hashedName finds the names that esbuild makes of the content.
var hashedName = regexp.MustCompile(`-[0-9A-Z]{8}\.js$`)

func newPageFile(name string, data []byte) *pageFile {
	sum := sha256.Sum256(data)
	kind := mime.TypeByExtension(path.Ext(name))
	if path.Ext(name) == ".js" {
		kind = "text/javascript; charset=utf-8" // whatever this machine's table of types says
	}
	return &pageFile{
		data: data, kind: kind, checksum: hex.EncodeToString(sum[:12]), fixed: hashedName.MatchString(name),
		packed: sync.OnceValue(func() []byte { return packed(data, gzipOf(gzip.BestCompression)) }),
	}
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
	h, data, tag := w.Header(), f.data, f.checksum
	h.Add("Vary", "Accept-Encoding")
	zip := len(f.data) >= minCompressed && acceptsGzip(r.Header.Values("Accept-Encoding"))
	if zip {
		tag += "-gzip" // another sequence of bytes
	}
	tag = `"` + tag + `"`
	h.Set("ETag", tag)
	if f.fixed || r.URL.Query().Get("v") == f.checksum {
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
	} else {
		h.Set("Cache-Control", "no-cache") // revalidate at each use
	}
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", f.kind)
	if zip {
		data = f.packed()
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = w.Write(data) // the client has gone
}
