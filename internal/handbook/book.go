package handbook

import (
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// Book is pages in their order, divided into sections.
type Book struct {
	sections []section
	anchors  map[string]int    // of sections, by page and anchor: handbook/16-order#2-cost
	checks   map[string]string // page on a check, by its id
	pictures map[string][]byte // by the names under which pages refer to them
}

// section is a part of a page that begins with a heading of level 1 or 2.
type section struct {
	id      string // page and anchor
	page    string // handbook/16-order.md
	chapter string // title of the page
	title   string
	lines   []string // without its heading
	plain   string   // its text in lower case, to search in
}

// Entry names a section.
type Entry struct {
	ID      string `json:"id"`
	Chapter string `json:"chapter"` // title of its page
	Title   string `json:"title"`   // the same at the beginning of a page
}

// Open reads the pages: those of the handbook in the order of their names, then the references.
func Open(pages fs.FS) (*Book, error) {
	b := &Book{anchors: map[string]int{}, checks: map[string]string{}, pictures: map[string][]byte{}}
	names, err := fs.Glob(pages, "handbook/*")
	if err != nil {
		return nil, err
	}
	references, err := fs.Glob(pages, "*.md")
	if err != nil {
		return nil, err
	}
	const first = "handbook/README.md"
	slices.SortStableFunc(names, func(a, b string) int { return order(a, first) - order(b, first) })
	for _, name := range append(names, references...) {
		data, err := fs.ReadFile(pages, name)
		if err != nil {
			return nil, fmt.Errorf("read page %s: %w", name, err)
		}
		if path.Ext(name) != ".md" {
			b.pictures[path.Base(name)] = data
			continue
		}
		b.add(name, string(data))
	}
	b.indexChecks()
	return b, nil
}

// order is 0 of the page that comes first.
func order(name, first string) int {
	if name == first {
		return 0
	}
	return 1
}

var heading = regexp.MustCompile(`^(#{1,4}) (.+)$`)

// add divides a page into sections.
func (b *Book) add(name, text string) {
	chapter, inCode := "", false
	page := strings.TrimSuffix(name, ".md")
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\r\n")
		if strings.HasPrefix(line, "```") {
			inCode = !inCode
		}
		m := heading.FindStringSubmatch(line)
		if m == nil || inCode {
			b.extend(line)
			continue
		}
		title := strings.ReplaceAll(m[2], "`", "")
		anchor := page + "#" + slug(title)
		if len(m[1]) > 2 {
			b.anchors[anchor] = len(b.sections) - 1
			b.extend(line)
			continue
		}
		if chapter == "" {
			chapter = title
			b.anchors[page] = len(b.sections)
		}
		b.anchors[anchor] = len(b.sections)
		b.sections = append(b.sections, section{id: anchor, page: name, chapter: chapter, title: title})
	}
	for i := range b.sections {
		if s := &b.sections[i]; s.page == name {
			s.plain = strings.ToLower(strings.Join(s.lines, "\n"))
		}
	}
}

// extend adds a line to the section that is read; what stands before the first heading of a page is dropped.
func (b *Book) extend(line string) {
	if n := len(b.sections); n > 0 {
		s := &b.sections[n-1]
		s.lines = append(s.lines, line)
	}
}

// slug returns the anchor of a heading.
func slug(title string) string {
	var out strings.Builder
	for _, r := range strings.ToLower(title) {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r), r == '-', r == '_':
			out.WriteRune(r)
		case r == ' ':
			out.WriteByte('-')
		}
	}
	return out.String()
}

// checkCell is a check with the link to its chapter, as the index of the glossary has them.
var checkCell = regexp.MustCompile(`\| ([a-z0-9-]+) \| \[\d+\]\(([^)]+)\)`)

// indexChecks reads the chapter of each check from the glossary.
func (b *Book) indexChecks() {
	for i := range b.sections {
		s := &b.sections[i]
		if s.id != "handbook/glossary#check-ids" {
			continue
		}
		for _, m := range checkCell.FindAllStringSubmatch(strings.Join(s.lines, "\n"), -1) {
			b.checks[m[1]] = strings.TrimSuffix(path.Join(path.Dir(s.page), m[2]), ".md")
		}
	}
}

// Contents lists every section in order.
func (b *Book) Contents() []Entry {
	out := make([]Entry, len(b.sections))
	for i := range b.sections {
		out[i] = b.sections[i].entry()
	}
	return out
}

func (s *section) entry() Entry { return Entry{s.id, s.chapter, s.title} }

// OfCheck returns the section that explains a check: that of its chapter which names it most often or has its words,
// such as junction and temperature, else the beginning of the chapter. The steps of a procedure only name it.
func (b *Book) OfCheck(check string) (id string, ok bool) {
	page, ok := b.checks[check]
	if !ok {
		return "", false
	}
	at, ok := b.anchors[page]
	if !ok {
		return "", false
	}
	list, most := words(strings.ReplaceAll(check, "-", " ")), 0
	for i := range b.sections {
		s := &b.sections[i]
		if s.page != page+".md" || strings.HasSuffix(s.title, "Procedure") || s.title == "Check list" {
			continue
		}
		score := s.score(list)
		if n := strings.Count(s.plain, "`"+check+"`"); n > 0 {
			score += inTitle * n
		}
		if score > most {
			at, most = i, score
		}
	}
	return b.sections[at].id, true
}

// Picture returns a picture of the pages by its name.
func (b *Book) Picture(name string) ([]byte, bool) {
	data, ok := b.pictures[name]
	return data, ok
}

// Section returns a section as HTML, with the words of a query marked, and the ones before and after it. Its id may be
// any anchor of it, or its page.
func (b *Book) Section(id, query string) (s Entry, html string, around [2]string, ok bool) {
	i, ok := b.anchors[id]
	if !ok {
		return s, "", around, false
	}
	if i > 0 {
		around[0] = b.sections[i-1].id
	}
	if i+1 < len(b.sections) {
		around[1] = b.sections[i+1].id
	}
	r := renderer{book: b, page: b.sections[i].page, marks: marksOf(words(query))}
	r.blocks(b.sections[i].lines)
	return b.sections[i].entry(), r.out.String(), around, true
}
