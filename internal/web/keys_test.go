package web

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// referenceKeys returns every key that the reference of the design file names, by its path without indices.
func referenceKeys(t *testing.T) (out []string) {
	t.Helper()
	heading, row := regexp.MustCompile("^#+ `(.+)`$"), regexp.MustCompile("^\\| `([^`]+)` \\|")
	at := ""
	for line := range strings.Lines(source.Reference(project.Design{})) {
		line = strings.TrimSpace(line)
		if m := heading.FindStringSubmatch(line); m != nil {
			at = m[1] + "."
		} else if m := row.FindStringSubmatch(line); m != nil {
			out = append(out, at+m[1])
		}
	}
	return out
}

// index matches the index of an item in a path.
var index = regexp.MustCompile(`\[\d+\]`)

// keyWalk sets and clears every key, as the page does.
type keyWalk struct {
	t       *testing.T
	library *project.Library
	seen    map[string]bool // paths without indices
	sets    int
}

func (w *keyWalk) tree(f *source.File) []source.Node { return treeOf(f, w.library) }

// find returns a node of a tree by its path.
func find(list []source.Node, path string) *source.Node {
	for i := range list {
		if list[i].Path == path {
			return &list[i]
		}
		for _, inner := range [][]source.Node{list[i].Keys, list[i].Items} {
			if n := find(inner, path); n != nil {
				return n
			}
		}
	}
	return nil
}

// apply makes a change and reads the file as the server does.
func (w *keyWalk) apply(f *source.File, path, text string) *source.File {
	w.t.Helper()
	got, err := changedFile(f, path, text)
	if err != nil {
		w.t.Errorf("%s = %q: %v", path, text, err)
		return nil
	}
	var d project.Design
	for _, p := range got.Decode(&d) {
		if p.At.Path == path || strings.HasPrefix(p.At.Path, path+".") || strings.HasPrefix(p.At.Path, path+"[") {
			w.t.Errorf("%s = %q: %s", path, text, p.Msg)
		}
	}
	return got
}

// walk sets and clears keys, and what is within them.
func (w *keyWalk) walk(f *source.File, list []source.Node) {
	for i := range list {
		n := &list[i]
		w.seen[index.ReplaceAllString(n.Path, "[]")] = true
		switch n.Form {
		case source.FormMapping:
			w.mapping(f, n)
		case source.FormMappings:
			w.list(f, n)
		default:
			w.value(f, n)
		}
	}
}

// value sets a key to its example and clears it.
func (w *keyWalk) value(f *source.File, n *source.Node) {
	text := n.Example
	switch {
	case n.Form == source.FormChoice:
		text = n.One[len(n.One)-1]
	case text == "":
		text = "some text"
	}
	bracket := strings.HasPrefix(text, "[") || strings.HasPrefix(text, "{")
	if n.Form == source.FormValues && !strings.HasPrefix(text, "[[") {
		text, bracket = "["+text+"]", true
	}
	if bracket || n.Whole {
		text = asYAML + text
	}
	g := w.apply(f, n.Path, text)
	if g == nil {
		return
	}
	w.sets++
	set := find(w.tree(g), n.Path)
	if set == nil || !set.Set || n.Form != source.FormQuantity && set.Text != strings.TrimPrefix(text, asYAML) {
		w.t.Errorf("%s = %q is not in the tree: %+v", n.Path, text, set)
	}
	if n.Need {
		return // the page states that it is required
	}
	cleared := w.apply(g, n.Path, gone)
	if cleared == nil {
		return
	}
	if now := find(w.tree(cleared), n.Path); now != nil && now.Set {
		w.t.Errorf("%s is not cleared: %q", n.Path, now.Text)
	}
}

// mapping adds a mapping where there is none, goes through its keys, and takes it away.
func (w *keyWalk) mapping(f *source.File, n *source.Node) {
	if !n.Set {
		if f = w.apply(f, n.Path, asYAML+n.New); f == nil {
			return
		}
		if n = find(w.tree(f), n.Path); n == nil || !n.Set {
			w.t.Errorf("%v was not added", n)
			return
		}
	}
	w.walk(f, n.Keys)
	if n.Need {
		return
	}
	if g := w.apply(f, n.Path, gone); g != nil {
		if now := find(w.tree(g), n.Path); now != nil && now.Set {
			w.t.Errorf("%s is not taken away", n.Path)
		}
	}
}

// list adds an item, goes through its keys, and takes it away.
func (w *keyWalk) list(f *source.File, n *source.Node) {
	path := fmt.Sprintf("%s[%d]", n.Path, len(n.Items))
	g := w.apply(f, path, asYAML+n.New)
	if g == nil {
		return
	}
	item := find(w.tree(g), path)
	if item == nil || !item.Set {
		w.t.Errorf("%s was not added", path)
		return
	}
	w.walk(g, item.Keys)
	back := w.apply(g, path, gone)
	if back == nil {
		return
	}
	if now := find(w.tree(back), n.Path); now == nil || len(now.Items) != len(n.Items) {
		w.t.Errorf("%s was not taken away", path)
	}
	if len(n.Items) > 1 { // not only the last item can go
		if less := w.apply(g, n.Path+"[0]", gone); less != nil {
			if now := find(w.tree(less), n.Path); now == nil || len(now.Items) != len(n.Items) {
				w.t.Errorf("%s[0] was not taken away", n.Path)
			}
		}
	}
}

// TestEveryKey sets and clears every key that the reference of the format names.
func TestEveryKey(t *testing.T) {
	for _, name := range []string{"long-tank", "moss-jar"} {
		p := lamptest.Example(t, name)
		w := &keyWalk{t: t, library: p.Library, seen: map[string]bool{}}
		w.walk(p.File, w.tree(p.File))
		want := referenceKeys(t)
		if len(want) < 200 {
			t.Fatalf("the reference has %d keys", len(want))
		}
		for _, key := range want {
			if !w.seen[key] {
				t.Errorf("%s: %s is not offered", name, key)
			}
		}
		t.Logf("%s: %d keys of the reference, %d values set", name, len(want), w.sets)
	}
}

// TestTreeAfterRemoval: once an item is taken away the others keep the paths that the file has.
func TestTreeAfterRemoval(t *testing.T) {
	_, ts := serve(t, demo(t, "long-tank"))
	_, data := send(t, ts, "POST", "/api/keys", map[string]any{
		"base": state(t, ts).Hash, "changes": []change{
			{"channels[1]", gone}, {"supplies[1]", asYAML + "{part: supply-12v-60w, fan: true}"},
		},
	}, nil)
	keys := read[keysView](t, data).Keys
	var paths []string
	for _, item := range find(keys, "channels").Items {
		paths = append(paths, item.Path)
	}
	if fmt.Sprint(paths) != "[channels[0] channels[2] channels[3]]" {
		t.Errorf("%v", paths)
	}
	if n := find(keys, "channels[2].current"); n == nil || n.Text == "" {
		t.Errorf("%+v", n)
	}
	if n := find(keys, "supplies[1].part"); n == nil || n.Text != "supply-12v-60w" || n.Part != "supply" {
		t.Errorf("%+v", n)
	}
	r := removals{"channels": {1}, "channels[2].emitters": {0}}
	for _, path := range []string{
		"channels[2].emitters[1].lens", "channels[0].current", "supplies[1]", "channels[3].emitters[0]",
	} {
		if got := r.filed(r.actual(path)); got != path {
			t.Errorf("%s is %s, and that %s in the file", path, r.actual(path), got)
		}
	}
	if got := r.actual("channels[2].emitters[1].lens"); got != "channels[1].emitters[0].lens" {
		t.Errorf("%s", got)
	}
	if !slices.Contains(referenceKeys(t), "channels[].emitters[].lens") {
		t.Error("the reference is not read as it is written")
	}
}
