package web

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"

	"lampwright/internal/geom"
	"lampwright/internal/inputfile"
	"lampwright/internal/outlinefile"
	"lampwright/internal/sheetfile"
	"lampwright/internal/source"
	"lampwright/internal/textpos"
)

// Where files that were dropped on the page wait until they are saved, and how many.
const (
	dropDir    = cacheDir + "/dropped"
	maxDropped = 16
)

// besideName is the names of files beside parts that a save may write.
var besideName = regexp.MustCompile(`^parts/[A-Za-z0-9][A-Za-z0-9_-]{0,59}\.(ies|csv|txt|xml)$`)

// dropToken is what a dropped file is known by: a hash of it.
var dropToken = regexp.MustCompile(`^[0-9a-f]{32}$`)

// filePlace is something wrong in a dropped file.
type filePlace struct {
	Line int    `json:"line"` // 0 means the file as a whole
	Col  int    `json:"col"`
	Text string `json:"text"`
}

// outlineView is a board outline of a dropped file.
type outlineView struct {
	Rim      [][2]float64   `json:"rim"` // in mm; of a disc, points on it
	Holes    [][][2]float64 `json:"holes"`
	Size     string         `json:"size"`
	Unit     string         `json:"unit"`
	Assumed  bool           `json:"assumed"`
	Notes    []string       `json:"notes"`
	AsDrawn  []change       `json:"as_drawn"` // of the design, with the origin of the drawing
	Centred  []change       `json:"centred"`  // with the origin in the middle of the outline
	Fixed    bool           `json:"fixed"`    // its origin is the centre in any case, as of a rectangle and a disc
	HoleText string         `json:"hole_text"`
}

// droppedView is what a dropped file contains.
type droppedView struct {
	Kind         sheetfile.Kind       `json:"kind"` // empty: it cannot be used
	Name         string               `json:"name"` // in the folder of parts
	Token        string               `json:"token"`
	Bytes        int                  `json:"bytes"`
	Problems     []filePlace          `json:"problems"`
	Distribution *sheetfile.LID       `json:"distribution,omitempty"`
	Spectra      []sheetfile.Spectrum `json:"spectra"`
	Outline      *outlineView         `json:"outline,omitempty"`
}

// drop looks at a file that was dropped on the page, and keeps it until it is saved.
func (s *Server) drop(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Name string `json:"name"`
		Data []byte `json:"data"` // in base64
	}
	if !decodeUpTo(w, r, &in, sheetfile.MaxBytes*4/3+maxBody/4) {
		return
	}
	if len(in.Data) > sheetfile.MaxBytes {
		s.fail(w, fmt.Errorf("the file has %.1f MB; at most %d MB are read", float64(len(in.Data))/1e6,
			sheetfile.MaxBytes>>20))
		return
	}
	v, err := s.work.dropped(in.Name, in.Data)
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, v)
}

// kindOf recognises a file by its content, and where that tells nothing by its name, so that its problems are named.
func kindOf(name string, data []byte) sheetfile.Kind {
	if k := sheetfile.Of(data); k != sheetfile.Unknown {
		return k
	}
	switch strings.ToLower(path.Ext(name)) {
	case ".ies":
		return sheetfile.Distribution
	case ".csv", ".xml", ".spdx":
		return sheetfile.Spectra
	case ".dxf":
		return sheetfile.Outline
	}
	return sheetfile.Unknown
}

func (w *workspace) dropped(name string, data []byte) (v droppedView, err error) {
	v = droppedView{Kind: kindOf(name, data), Bytes: len(data), Problems: []filePlace{}}
	defer func() { fillLists(&v) }()
	var c *sheetfile.Contents
	_, err = guarded(func() (_ any, err error) {
		c, err = sheetfile.Read(v.Kind, data)
		return nil, err
	})
	if err != nil {
		for _, p := range textpos.Of(err) {
			if len(v.Problems) < maxShown {
				v.Problems = append(v.Problems, filePlace{p.Line, p.Col, p.Text})
			}
		}
		return v, nil
	}
	v.Distribution, v.Spectra = c.Distribution, c.Spectra
	if c.Outline != nil {
		v.Outline = w.outlineView(c.Outline)
		return v, nil
	}
	v.Token = hashOf(data)
	v.Name = w.freeName(name, v.Kind, data)
	return v, w.keepDropped(v.Token, data)
}

// freeName makes a safe name of a file beside parts that no other content has.
func (w *workspace) freeName(name string, kind sheetfile.Kind, data []byte) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	ext := strings.ToLower(path.Ext(name))
	stem := strings.TrimSuffix(name, path.Ext(name))
	switch {
	case kind == sheetfile.Distribution:
		ext = ".ies"
	case bytes.HasPrefix(bytes.TrimSpace(data[:min(len(data), 64)]), []byte("<")):
		ext = ".xml"
	case ext != ".txt":
		ext = ".csv"
	}
	stem = strings.Trim(unsafeChars.ReplaceAllString(stem, "-"), "-_")
	stem = cmp.Or(stem[:min(len(stem), 50)], string(kind))
	for n := 1; ; n++ {
		out := stem + ext
		if n > 1 {
			out = fmt.Sprintf("%s-%d%s", stem, n, ext)
		}
		if now, err := inputfile.Read(w.folder, "parts/"+out, sheetfile.MaxBytes); errors.Is(err, fs.ErrNotExist) ||
			err == nil && bytes.Equal(now, data) || n > 1000 {
			return out
		}
	}
}

var unsafeChars = regexp.MustCompile(`[^A-Za-z0-9_-]+`)

// keepDropped keeps a dropped file in the cache folder, in place of the oldest.
func (w *workspace) keepDropped(token string, data []byte) error {
	if err := w.makeCache(strings.TrimPrefix(dropDir, cacheDir)); err != nil {
		return fmt.Errorf("keep the dropped file: %w", err)
	}
	if err := w.writeWhole(dropDir, token, data); err != nil {
		return fmt.Errorf("keep the dropped file: %w", err)
	}
	entries, err := fs.ReadDir(w.folder, dropDir)
	if err != nil {
		return nil
	}
	age := func(e fs.DirEntry) int64 {
		if info, err := e.Info(); err == nil && e.Name() != token {
			return info.ModTime().UnixNano()
		}
		return math.MaxInt64
	}
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return cmp.Compare(age(b), age(a)) })
	for i := maxDropped; i < len(entries); i++ {
		_ = w.root.Remove(dropDir + "/" + entries[i].Name())
	}
	return nil
}

// hasDropped reports whether a dropped file is kept.
func (w *workspace) hasDropped(token string) bool {
	info, err := w.root.Stat(dropDir + "/" + token)
	return err == nil && info.Mode().IsRegular()
}

// droppedFile returns the content of a dropped file that is to stand under a name.
func (w *workspace) droppedFile(name, token string) ([]byte, error) {
	if !besideName.MatchString(name) || !dropToken.MatchString(token) {
		return nil, fmt.Errorf("%q is not the name of a file beside parts", name)
	}
	data, err := inputfile.Read(w.folder, dropDir+"/"+token, sheetfile.MaxBytes)
	if err != nil || hashOf(data) != token {
		return nil, fmt.Errorf("the file that was dropped as %s is no longer kept; drop it again", path.Base(name))
	}
	now, err := inputfile.Read(w.folder, name, sheetfile.MaxBytes)
	if err == nil && !bytes.Equal(now, data) || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s already exists with other content; nothing was written. Drop the file again", name)
	}
	return data, nil
}

// spliceAll puts changes into texts, and dropped files beside the parts.
func (w *workspace) spliceAll(design []byte, own map[string][]byte, changes []change) (texts, error) {
	files, rest := texts{}, make([]change, 0, len(changes))
	for _, c := range changes {
		token, ok := strings.CutPrefix(c.Text, asFile)
		if !ok {
			rest = append(rest, c)
			continue
		}
		name := strings.TrimSuffix(c.Path, "#")
		data, err := w.droppedFile(name, token)
		if err != nil {
			return nil, &badChange{c.Path, err}
		}
		files[name] = data
	}
	out, err := w.files.splice(w.name, design, own, rest)
	if err != nil {
		return nil, err
	}
	maps.Copy(out, files)
	return out, nil
}

// outlineView returns an outline as it is drawn, and the changes of the design that take it over.
func (w *workspace) outlineView(o *outlinefile.Outline) *outlineView {
	w.mu.Lock()
	design := w.text
	w.mu.Unlock()
	f, _ := w.files.read(w.name, design)
	x0, x1, y0, y1 := o.Rim.Bounds()
	v := &outlineView{
		Rim: drawnMM(o.Rim), Unit: o.Unit, Assumed: o.Assumed, Notes: o.Notes,
		Size:  fmt.Sprintf("%s × %s", exactMM(x1-x0), exactMM(y1-y0)),
		Fixed: o.Rim.Kind != geom.KindPolygon,
	}
	for _, h := range o.Holes {
		v.Holes = append(v.Holes, drawnMM(h))
	}
	if n := len(o.Holes); n > 0 {
		v.HoleText = counted(n, "hole")
	}
	v.Centred = boardChanges(f, o.Centred())
	if v.AsDrawn = v.Centred; !v.Fixed {
		v.AsDrawn = boardChanges(f, o)
	}
	return v
}

// exactMM writes a length to a micrometre.
func exactMM(m float64) string {
	mm := math.Round(m*1e6) / 1e3
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.3f", mm+0), "0"), ".") + " mm"
}

// drawnMM returns points of the rim of a shape [mm].
func drawnMM(s geom.Shape) (out [][2]float64) {
	const n = 72
	if s.Kind == geom.KindDisc {
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			out = append(out, [2]float64{1e3 * (s.Rect.XM + s.RadiusM*cos), 1e3 * (s.Rect.YM + s.RadiusM*sin)})
		}
		return out
	}
	corners := s.Corners
	if s.Kind == geom.KindRect {
		corners = s.Rect.Corners()
	}
	for _, p := range corners {
		out = append(out, [2]float64{1e3 * p.XM, 1e3 * p.YM})
	}
	return out
}

// boardChanges returns the changes of a design that give its board an outline; its holes stay where the outline has
// none.
func boardChanges(f *source.File, o *outlinefile.Outline) (out []change) {
	states := map[string]string{}
	switch s := o.Rim; s.Kind {
	case geom.KindRect:
		states["shape"], states["length"], states["width"] = "rectangle", exactMM(
			s.Rect.WidthM,
		), exactMM(
			s.Rect.HeightM,
		)
	case geom.KindDisc:
		states["shape"], states["diameter"] = "disc", exactMM(2*s.RadiusM)
	default:
		var corners []string
		for _, p := range s.Corners {
			corners = append(corners, "["+exactMM(p.XM)+", "+exactMM(p.YM)+"]")
		}
		states["shape"], states["corners"] = "polygon", asYAML+"["+strings.Join(corners, ", ")+"]"
	}
	if len(o.Holes) > 0 {
		var holes []string
		for _, h := range o.Holes {
			at := "at: [[" + exactMM(h.Rect.XM) + ", " + exactMM(h.Rect.YM) + "]]}"
			size := "{diameter: " + exactMM(2*h.RadiusM) + ", "
			if h.Kind == geom.KindRect {
				size = "{length: " + exactMM(h.Rect.WidthM) + ", width: " + exactMM(h.Rect.HeightM) + ", "
			}
			holes = append(holes, size+at)
		}
		states["holes"] = asYAML + "[" + strings.Join(holes, ", ") + "]"
	}
	for _, key := range []string{"shape", "length", "width", "diameter", "corners", "holes"} {
		text, ok := states[key]
		there := false
		if f != nil {
			_, there = f.At("board." + key)
		}
		switch {
		case ok:
			out = append(out, change{"board." + key, text})
		case there && key != "holes":
			out = append(out, change{"board." + key, gone})
		}
	}
	return out
}
