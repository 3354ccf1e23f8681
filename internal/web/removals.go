package web

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/source"
)

// listAndIndex splits the path of an item of a list; ok is false of a key.
func listAndIndex(path string) (list string, index int, ok bool) {
	at := strings.LastIndexByte(path, '[')
	if at < 0 || !strings.HasSuffix(path, "]") {
		return "", 0, false
	}
	n, err := strconv.Atoi(path[at+1 : len(path)-1])
	return path[:at], n, err == nil && n >= 0
}

// isItem reports whether a path leads to an item of a list.
func isItem(path string) bool {
	_, _, ok := listAndIndex(path)
	return ok
}

// pathStep is a key, or the index of an item, of a path.
type pathStep struct {
	key   string
	index int // -1 of a key
}

// pathSteps splits a path: channels[1].current is channels, 1, current.
func pathSteps(path string) (out []pathStep) {
	for part := range strings.FieldsFuncSeq(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' }) {
		if n, err := strconv.Atoi(part); err == nil && n >= 0 {
			out = append(out, pathStep{"", n})
		} else {
			out = append(out, pathStep{part, -1})
		}
	}
	return out
}

// comparePaths orders paths by their keys and indices; a list is before its items.
func comparePaths(a, b string) int {
	return slices.CompareFunc(pathSteps(a), pathSteps(b), func(x, y pathStep) int {
		return cmp.Or(strings.Compare(x.key, y.key), cmp.Compare(x.index, y.index))
	})
}

// inOrder returns changes in the order in which they are made: items of lists are taken away last, and the last items
// first, so that no path changes its meaning on the way.
func inOrder(changes []change) []change {
	var out, items []change
	for _, c := range changes {
		if c.Text == gone && isItem(c.Path) {
			items = append(items, c)
		} else {
			out = append(out, c)
		}
	}
	slices.SortFunc(items, func(a, b change) int { return comparePaths(b.Path, a.Path) })
	return append(out, items...)
}

// removals are the items of lists of the design file that changes take away, by the list.
type removals map[string][]int

func removalsOf(changes []change) removals {
	out := removals{}
	for _, c := range inOrder(changes) {
		if list, n, ok := listAndIndex(c.Path); ok && c.Text == gone && !strings.Contains(c.Path, "#") {
			out[list] = append(out[list], n)
		}
	}
	for _, list := range out {
		slices.Sort(list)
	}
	return out
}

// filed returns the path in the file, with the further items of its lists, of what a path leads to once the items are
// taken away.
func (r removals) filed(path string) string {
	if len(r) == 0 {
		return path
	}
	out := ""
	for path != "" {
		open := strings.IndexByte(path, '[')
		end := strings.IndexByte(path, ']')
		if open < 0 || end < open {
			break
		}
		out += path[:open]
		n, err := strconv.Atoi(path[open+1 : end])
		if err != nil {
			break
		}
		for _, taken := range r[out] {
			if taken <= n {
				n++
			}
		}
		out += "[" + strconv.Itoa(n) + "]"
		path = path[end+1:]
	}
	return out + path
}

// actual returns the path, once the items are taken away, of what a path in the file leads to.
func (r removals) actual(path string) string {
	filed, out := "", ""
	for path != "" {
		open, end := strings.IndexByte(path, '['), strings.IndexByte(path, ']')
		if open < 0 || end < open {
			break
		}
		filed, out = filed+path[:open], out+path[:open]
		n, err := strconv.Atoi(path[open+1 : end])
		if err != nil {
			return out + path[open:]
		}
		less := 0
		for _, taken := range r[filed] {
			if taken < n {
				less++
			}
		}
		filed, out = filed+path[open:end+1], out+"["+strconv.Itoa(n-less)+"]"
		path = path[end+1:]
	}
	return out + path
}

// problems returns problems with the paths that the file has.
func (r removals) problems(list source.Problems) source.Problems {
	out := slices.Clone(list)
	for i := range out {
		out[i].At.Path = r.filed(out[i].At.Path)
	}
	return out
}

// settings returns values with the paths that the file has.
func (r removals) settings(list []source.Setting) []source.Setting {
	out := slices.Clone(list)
	for i := range out {
		out[i].Path = r.filed(out[i].Path)
	}
	return out
}

// keepPaths gives a lamp of which items were taken away the paths that the file has: a page names values by them.
func (v *lampView) keepPaths(r removals) {
	if len(r) == 0 {
		return
	}
	for i := range v.Emitters {
		e := &v.Emitters[i]
		e.XPath, e.YPath = r.filed(e.XPath), r.filed(e.YPath)
	}
	for i := range v.Channels {
		v.Channels[i].CurrentKey = r.filed(v.Channels[i].CurrentKey)
	}
	for i := range v.Knobs {
		k := &v.Knobs[i]
		k.Path, k.Choices = r.filed(k.Path), slices.Clone(k.Choices)
		for j := range k.Choices {
			k.Choices[j].Sets = r.settings(k.Choices[j].Sets)
		}
	}
	v.Findings = slices.Clone(v.Findings)
	for i := range v.Findings {
		f := &v.Findings[i]
		f.At.Path, f.Edits = r.filed(f.At.Path), slices.Clone(f.Edits)
		if f.Acknowledged != nil {
			a := *f.Acknowledged
			a.At.Path = r.filed(a.At.Path)
			f.Acknowledged = &a
		}
		for j, e := range f.Edits {
			f.Edits[j] = finding.SuggestedEdit{Label: e.Label, Settings: r.settings(e.Settings)}
		}
	}
	v.Layout.keepPaths(r)
	keepPowerPaths(v.Power, r)
}
