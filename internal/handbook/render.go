package handbook

import (
	"fmt"
	"html"
	"path"
	"regexp"
	"strings"
)

// renderer writes lines of a page as HTML. Every text is escaped; the tags are those that are written here.
type renderer struct {
	book  *Book
	page  string
	marks *regexp.Regexp // words to mark; nil without
	out   strings.Builder
}

var (
	listItem  = regexp.MustCompile(`^( *)(-|\d+\.) (.*)$`)
	separator = regexp.MustCompile(`^\|[ :|-]+\|$`)
)

// blocks writes lines as blocks: code, tables, lists, headings and paragraphs.
func (r *renderer) blocks(lines []string) {
	for i := 0; i < len(lines); {
		line := lines[i]
		m := heading.FindStringSubmatch(line)
		switch {
		case strings.TrimSpace(line) == "":
			i++
		case strings.HasPrefix(line, "```"):
			i = r.code(lines, i)
		case strings.HasPrefix(line, "|"):
			i = r.table(lines, i)
		case m != nil:
			level := len(m[1])
			fmt.Fprintf(&r.out, "<h%d>%s</h%d>", level, r.inline(m[2]), level)
			i++
		case listItem.MatchString(line):
			i = r.list(lines, i)
		default:
			i = r.paragraph(lines, i)
		}
	}
}

// code writes a block of code from its fence to the next one.
func (r *renderer) code(lines []string, i int) int {
	from := i + 1
	for i++; i < len(lines) && !strings.HasPrefix(lines[i], "```"); i++ {
	}
	r.out.WriteString(`<pre tabindex="0"><code>` + r.text(strings.Join(lines[from:i], "\n")) + "</code></pre>")
	return min(i+1, len(lines))
}

// table writes a table; its second line divides head and body.
func (r *renderer) table(lines []string, i int) int {
	r.out.WriteString(`<div class="scroll" tabindex="0" role="region" aria-label="Table"><table>`)
	head := i+1 < len(lines) && separator.MatchString(lines[i+1])
	if head {
		r.row(lines[i], "th")
		i += 2
	}
	for ; i < len(lines) && strings.HasPrefix(lines[i], "|"); i++ {
		r.row(lines[i], "td")
	}
	r.out.WriteString("</table></div>")
	return i
}

func (r *renderer) row(line, tag string) {
	r.out.WriteString("<tr>")
	for _, cell := range cells(line) {
		r.out.WriteString("<" + tag + ">" + r.inline(cell) + "</" + tag + ">")
	}
	r.out.WriteString("</tr>")
}

// cells divides a row at its bars, but for those in code or behind a backslash.
func cells(line string) (out []string) {
	line = strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(line), "|"), "|")
	var cell strings.Builder
	inCode := false
	for i := 0; i < len(line); i++ {
		switch c := line[i]; {
		case c == '\\' && i+1 < len(line) && line[i+1] == '|':
			i++
			cell.WriteByte('|')
		case c == '|' && !inCode:
			out = append(out, strings.TrimSpace(cell.String()))
			cell.Reset()
		default:
			inCode = inCode != (c == '`')
			cell.WriteByte(c)
		}
	}
	return append(out, strings.TrimSpace(cell.String()))
}

// list writes a list: its items are of one indent, and what is indented further belongs to them.
func (r *renderer) list(lines []string, i int) int {
	first := listItem.FindStringSubmatch(lines[i])
	indent, tag := len(first[1]), "ul"
	if first[2] != "-" {
		tag = "ol"
	}
	r.out.WriteString("<" + tag + ">")
	for i < len(lines) {
		m := listItem.FindStringSubmatch(lines[i])
		if m == nil || len(m[1]) != indent || (m[2] == "-") != (tag == "ul") {
			break
		}
		item, next := itemLines(lines, i+1, indent)
		r.item(append([]string{m[3]}, item...))
		i = next
	}
	r.out.WriteString("</" + tag + ">")
	return i
}

// itemLines returns the lines that belong to an item, with its indent taken off, and the one after them.
func itemLines(lines []string, i, indent int) (out []string, next int) {
	for ; i < len(lines); i++ {
		deep := len(lines[i]) - len(strings.TrimLeft(lines[i], " "))
		blank := strings.TrimSpace(lines[i]) == ""
		if blank && (i+1 >= len(lines) || !strings.HasPrefix(lines[i+1], strings.Repeat(" ", indent+2))) {
			break
		}
		if !blank && deep <= indent {
			break
		}
		out = append(out, lines[i][min(deep, indent+3):])
	}
	for i < len(lines) && strings.TrimSpace(lines[i]) == "" && i+1 < len(lines) && listItem.MatchString(lines[i+1]) {
		i++
	}
	return out, i
}

// item writes one item; a box to tick off is drawn as one.
func (r *renderer) item(lines []string) {
	r.out.WriteString("<li>")
	if rest, ok := strings.CutPrefix(lines[0], "[ ] "); ok {
		lines[0] = "☐ " + rest
	}
	n := 1
	for n < len(lines) && lines[n] != "" && !listItem.MatchString(lines[n]) && !strings.HasPrefix(lines[n], "```") {
		n++
	}
	r.out.WriteString(r.inline(joined(lines[:n])))
	r.blocks(lines[n:])
	r.out.WriteString("</li>")
}

func joined(lines []string) string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = strings.TrimSpace(l)
	}
	return strings.Join(out, " ")
}

// paragraph writes lines up to an empty one or another block.
func (r *renderer) paragraph(lines []string, i int) int {
	from := i
	for i++; i < len(lines); i++ {
		l := lines[i]
		if strings.TrimSpace(l) == "" || strings.HasPrefix(l, "```") || strings.HasPrefix(l, "|") ||
			heading.MatchString(l) || listItem.MatchString(l) {
			break
		}
	}
	r.out.WriteString("<p>" + r.inline(joined(lines[from:i])) + "</p>")
	return i
}

// span is what stands within a line: code, a picture, a link, strong or emphasised text.
var span = regexp.MustCompile("`([^`]+)`|!\\[([^\\]]*)\\]\\(([^)\\s]+)\\)|\\[([^\\]]+)\\]\\(([^)\\s]+)\\)|" +
	`\*\*([^*]+(?:\*[^*]+)*)\*\*|(?:^|\b|[\s(])(\*)([^*\s][^*]*[^*\s]|[^*\s])\*`)

// inline writes the text of a line.
func (r *renderer) inline(text string) string {
	var out strings.Builder
	at := 0
	for _, m := range span.FindAllStringSubmatchIndex(text, -1) {
		part := func(group int) string {
			if m[2*group] < 0 {
				return ""
			}
			return text[m[2*group]:m[2*group+1]]
		}
		from := m[0]
		if m[14] >= 0 { // emphasis: what stands before it is text
			from = m[14]
		}
		out.WriteString(r.text(text[at:from]))
		switch {
		case m[2] >= 0:
			out.WriteString("<code>" + r.text(part(1)) + "</code>")
		case m[6] >= 0:
			out.WriteString(r.picture(part(2), part(3)))
		case m[10] >= 0:
			out.WriteString(r.link(part(4), part(5)))
		case m[12] >= 0:
			out.WriteString("<strong>" + r.inline(part(6)) + "</strong>")
		default:
			out.WriteString("<em>" + r.inline(part(8)) + "</em>")
		}
		at = m[1]
	}
	out.WriteString(r.text(text[at:]))
	return out.String()
}

// text escapes a text and marks the words that are searched for.
func (r *renderer) text(s string) string {
	if r.marks == nil {
		return html.EscapeString(s)
	}
	var out strings.Builder
	for _, p := range pieces(s, r.marks) {
		if t := html.EscapeString(p.Text); p.Found {
			out.WriteString("<mark>" + t + "</mark>")
		} else {
			out.WriteString(t)
		}
	}
	return out.String()
}

// picture writes a picture of the pages; its words where there is none of that name.
func (r *renderer) picture(words, target string) string {
	if _, ok := r.book.pictures[path.Base(target)]; !ok {
		return r.text(words)
	}
	name := html.EscapeString(path.Base(target))
	return `<img src="/api/help/pictures/` + name + `" alt="` + html.EscapeString(words) + `">`
}

// link writes a link to a section of the book. Other pages are not served: their links are text.
func (r *renderer) link(words, target string) string {
	file, anchor, _ := strings.Cut(target, "#")
	page := strings.TrimSuffix(r.page, ".md")
	if file != "" {
		page = strings.TrimSuffix(path.Join(path.Dir(r.page), file), ".md")
	}
	id := page
	if anchor != "" {
		id += "#" + anchor
	}
	if _, ok := r.book.anchors[id]; !ok {
		return r.inline(words)
	}
	return `<a href="#" data-help="` + html.EscapeString(id) + `">` + r.inline(words) + `</a>`
}
