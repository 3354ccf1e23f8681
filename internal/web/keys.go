package web

import (
	"net/http"
	"slices"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// keysView is every key of the design file, with what stands there.
type keysView struct {
	Keys []source.Node `json:"keys"`
}

// keys answers with every key that a design may have, of the file with changes that are not saved.
func (s *Server) keys(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	design, changed, err := s.work.spliced(in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	if text, ok := changed[s.work.name]; ok {
		design = text
	}
	file, problems := s.work.files.read(s.work.name, design)
	if file == nil {
		s.fail(w, problems)
		return
	}
	library, _ := s.work.libraryWith(changed)
	tree := treeOf(file, library)
	removalsOf(in.Changes).nodes(tree)
	answer(w, http.StatusOK, keysView{tree})
}

// treeOf returns the keys of a design. What is added names parts that there are, and channels that have no name yet.
func treeOf(f *source.File, library *project.Library) []source.Node {
	ids := map[string]string{} // the first of each kind
	for _, e := range library.List() {
		if ids[e.Kind] == "" {
			ids[e.Kind] = e.ID
		}
	}
	return f.Tree(project.Design{}, func(path, part string) string {
		switch path {
		case "channels[].name":
			return freeName(f)
		case "supplies[]": // of several, each names what it feeds
			if len(f.Leaves("supplies")) > 0 {
				return "{part: " + ids["supply"] + ", fan: true}"
			}
		case "board.holes[]":
			return "{diameter: 3.2 mm, at: [[0 mm, 0 mm]]}"
		}
		return ids[part]
	})
}

// freeName returns a name that no channel has.
func freeName(f *source.File) string {
	var taken []string
	for _, l := range f.Leaves("channels") {
		taken = append(taken, l.Text)
	}
	for _, name := range []string{"new", "new 2", "new 3", "new 4", "new 5"} {
		if !slices.Contains(taken, name) {
			return name
		}
	}
	return "new 6"
}

// nodes gives keys the paths that the file has.
func (r removals) nodes(list []source.Node) {
	for i := range list {
		list[i].Path = r.filed(list[i].Path)
		r.nodes(list[i].Keys)
		r.nodes(list[i].Items)
	}
}
