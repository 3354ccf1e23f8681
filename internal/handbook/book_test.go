package handbook

import (
	"encoding/xml"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"lampwright/docs"
)

func open(t *testing.T) *Book {
	t.Helper()
	b, err := Open(docs.Pages())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// wellFormed reads HTML as XML: every tag is closed, nothing is unescaped. It returns the names of the tags.
func wellFormed(t interface{ Fatalf(string, ...any) }, html string) (tags []string) {
	d := xml.NewDecoder(strings.NewReader("<x>" + imgs.ReplaceAllString(html, "$1/>") + "</x>"))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return tags
		}
		if err != nil {
			t.Fatalf("%v in %.400s", err, html)
		}
		if s, ok := token.(xml.StartElement); ok {
			tags = append(tags, s.Name.Local)
		}
	}
}

// imgs finds the one tag that HTML leaves open.
var imgs = regexp.MustCompile(`(<img [^>]*)>`)

// TestBook: every section of the real pages is well-formed HTML of known tags, and has no markup left.
func TestBook(t *testing.T) {
	b := open(t)
	known := []string{
		"x", "h3", "h4", "p", "ul", "ol", "li", "table", "tr", "th", "td", "div", "code", "pre",
		"strong", "em", "a", "img",
	}
	if len(b.Contents()) < 150 || b.Contents()[0].ID != "handbook/README#handbook" && len(b.Contents()[0].Title) == 0 {
		t.Errorf("%d sections, the first is %+v", len(b.Contents()), b.Contents()[0])
	}
	for _, e := range b.Contents() {
		got, html, _, ok := b.Section(e.ID, "")
		if !ok || got != e {
			t.Fatalf("%s: %+v", e.ID, got)
		}
		for _, tag := range wellFormed(t, html) {
			if !slices.Contains(known, tag) {
				t.Errorf("%s has a tag %s", e.ID, tag)
			}
		}
		for _, left := range []string{"**", "](", "```", "| ---"} {
			if strings.Contains(html, left) {
				i := strings.Index(html, left)
				t.Errorf("%s has %q left: %s", e.ID, left, html[max(0, i-60):min(len(html), i+60)])
			}
		}
	}
	if _, ok := b.Picture("convergence.svg"); !ok {
		t.Error("there is no picture convergence.svg")
	}
	if _, _, _, ok := b.Section("handbook/99-none", ""); ok {
		t.Error("a section that is not there")
	}
}

// TestLinks: links of the handbook to its own pages lead to a section.
func TestLinks(t *testing.T) {
	b := open(t)
	n := 0
	for _, e := range b.Contents() {
		_, html, _, _ := b.Section(e.ID, "")
		for part := range strings.SplitSeq(html, `data-help="`) {
			id, _, ok := strings.Cut(part, `"`)
			if !ok || strings.HasPrefix(part, "<") {
				continue
			}
			if _, ok := b.anchors[id]; ok {
				n++
			}
		}
	}
	if n < 150 {
		t.Errorf("%d links lead to sections; there are more", n)
	}
}

// TestSearch: the section with the words in its title is first; every hit has all words, marked.
func TestSearch(t *testing.T) {
	b := open(t)
	for query, want := range map[string]string{
		"build sheet":     "handbook/16-order#6-build-sheet",
		"BUILD  sheet":    "handbook/16-order#6-build-sheet",
		"first power":     "",
		"`infrared_spots": "",
	} {
		hits := b.Search(query)
		if len(hits) == 0 || want != "" && hits[0].ID != want {
			t.Errorf("%q finds %d, first %+v, want %s", query, len(hits), hits[:min(1, len(hits))], want)
		}
		if len(hits) > maxHits {
			t.Errorf("%q: %d hits", query, len(hits))
		}
	}
	for _, nothing := range []string{"", " ", "a", "xyzzyplugh", "build xyzzyplugh"} {
		if hits := b.Search(nothing); hits == nil || len(hits) > 0 {
			t.Errorf("%q finds %d (nil %t)", nothing, len(hits), hits == nil)
		}
	}
	hit := b.Search("acknowledged exit status")[0]
	if hit.ID != "handbook/03-reading-a-review#5-acknowledged-findings" {
		t.Errorf("the first hit is %s", hit.ID)
	}
	found := 0
	for _, p := range hit.Text {
		if p.Found {
			found++
		}
	}
	if found == 0 {
		t.Errorf("no word is marked in %+v", hit.Text)
	}
	_, html, around, _ := b.Section(hit.ID, "exit status")
	if !strings.Contains(html, "<mark>Exit</mark> <mark>status</mark>") || around[0] == "" || around[1] == "" {
		t.Errorf("around %v: %.300s", around, html)
	}
}

// TestOfCheck: every check of the glossary has a section; that of the build of a stop names it.
func TestOfCheck(t *testing.T) {
	b := open(t)
	if len(b.checks) < 100 {
		t.Fatalf("%d checks", len(b.checks))
	}
	for check := range b.checks {
		if id, ok := b.OfCheck(check); !ok || b.anchors[id] == 0 && id != b.sections[0].id {
			t.Errorf("check %s: %q", check, id)
		}
	}
	if id, _ := b.OfCheck("die-current"); !strings.HasPrefix(id, "handbook/07-leds-and-currents#") ||
		strings.Contains(id, "procedure") {
		t.Errorf("die-current is explained in %s", id)
	}
	if id, _ := b.OfCheck("acknowledged"); !strings.HasPrefix(id, "handbook/03-reading-a-review#") {
		t.Errorf("acknowledged is explained in %s", id)
	}
	if _, ok := b.OfCheck("none"); ok {
		t.Error("a check that is not there")
	}
}

// TestRender: what each piece of Markdown becomes.
func TestRender(t *testing.T) {
	pages := fstest.MapFS{
		"handbook/a.md": {Data: []byte("# A\n\n## B c\n")}, "handbook/x.svg": {Data: []byte("<svg/>")},
	}
	b, err := Open(pages)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"one\ntwo": "<p>one two</p>",
		"a **b** *c* `<d>` & 2 * 3 * 4": "" +
			"<p>a <strong>b</strong> <em>c</em> <code>&lt;d&gt;</code> &amp; 2 * 3 * 4</p>",
		"- a\n- b\n  c\n- [ ] d": "<ul><li>a</li><li>b c</li><li>☐ d</li></ul>",
		"1. a\n   - b\n2. c":     "<ol><li>a<ul><li>b</li></ul></li><li>c</li></ol>",
		"| a | `b|c` |\n| --- | --- |\n| d\\|e | f |": "" +
			`<div class="scroll" tabindex="0" role="region" aria-label="Table"><table>` +
			"<tr><th>a</th><th><code>b|c</code></th></tr><tr><td>d|e</td><td>f</td></tr></table></div>",
		"```\n<a>\n**b**\n```": "<pre tabindex=\"0\"><code>&lt;a&gt;\n**b**</code></pre>",
		"[x](a.md#b-c) [y](z.md) [z](#b-c)": `<p><a href="#" data-help="handbook/a#b-c">x</a> y ` +
			`<a href="#" data-help="handbook/a#b-c">z</a></p>`,
		"![x](x.svg) ![n](none.svg)":    `<p><img src="/api/help/pictures/x.svg" alt="x"> n</p>`,
		"### D\ntext":                   "<h3>D</h3><p>text</p>",
		"<script>alert(1)</script> \"'": "<p>&lt;script&gt;alert(1)&lt;/script&gt; &#34;&#39;</p>",
		"[<b>](javascript:alert(1))":    "<p>&lt;b&gt;)</p>",
	} {
		r := renderer{book: b, page: "handbook/a.md"}
		r.blocks(strings.Split(text, "\n"))
		if got := r.out.String(); got != want {
			t.Errorf("%q becomes\n%s, want\n%s", text, got, want)
		}
	}
}

// TestRenderAny: any text gives well-formed HTML of known tags, and ends.
func TestRenderAny(t *testing.T) {
	b := open(t)
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.SampledFrom([]string{
			"a", "<b>", "&", "`", "**", "*", "[", "](", ")", "|", "| - |", "\n",
			"\n\n", "- ", "1. ", "  ", "# ", "### ", "```",
			"![", "[ ] ", "é", "\"",
		})
		text := strings.Join(rapid.SliceOfN(part, 0, 60).Draw(t, "parts"), "")
		r := renderer{book: b, page: "handbook/x.md", marks: marksOf(words("aa b>"))}
		r.blocks(strings.Split(text, "\n"))
		wellFormed(t, r.out.String())
	})
}
