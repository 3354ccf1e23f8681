package handbook

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Hit is a section that a search found.
type Hit struct {
	Entry
	Text []Piece `json:"text"` // from it, about the first word found
}

// Piece is a part of a text; Found marks the words of the search.
type Piece struct {
	Text  string `json:"text"`
	Found bool   `json:"found,omitempty"`
}

// Bounds of a search.
const (
	maxHits  = 40
	maxWords = 8
	minWord  = 2 // letters of a word that is searched for
)

// words divides a query.
func words(query string) (out []string) {
	for _, w := range strings.Fields(strings.ToLower(query)) {
		w = strings.Trim(w, "`*,;")
		if utf8.RuneCountInString(w) >= minWord && !slices.Contains(out, w) && len(out) < maxWords {
			out = append(out, w)
		}
	}
	return out
}

// marksOf returns what finds any of the words, the longest first; nil without words.
func marksOf(list []string) *regexp.Regexp {
	if len(list) == 0 {
		return nil
	}
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b string) int { return len(b) - len(a) })
	return regexp.MustCompile("(?i)" + strings.Join(quoted(list), "|"))
}

// quoted returns words as regular expressions.
func quoted(list []string) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = regexp.QuoteMeta(w)
	}
	return out
}

// Search returns the sections in which every word of a query stands: in the title first, then by how often.
func (b *Book) Search(query string) []Hit {
	list := words(query)
	marks := marksOf(list)
	if marks == nil {
		return []Hit{}
	}
	phrase := regexp.MustCompile("(?i)" + strings.Join(quoted(list), `\W+`))
	type found struct{ at, score int }
	var all []found
	for i := range b.sections {
		score := b.sections[i].score(list)
		if score == 0 {
			continue
		}
		if len(list) > 1 && phrase.MatchString(b.sections[i].plain) {
			score += asPhrase
		}
		all = append(all, found{i, score})
	}
	slices.SortStableFunc(all, func(x, y found) int { return cmp.Compare(y.score, x.score) })
	hits := []Hit{}
	for _, f := range all[:min(len(all), maxHits)] {
		s := &b.sections[f.at]
		hits = append(hits, Hit{s.entry(), s.excerpt(marks, phrase)})
	}
	return hits
}

// Weights of a word: in the title of a section, in that of its page, and in the text, where it counts a few times only;
// and of words that follow one another as asked.
const (
	inTitle, inChapter, mostInText = 40, 8, 10
	asPhrase                       = 30
)

// score rates a section; 0 where a word is missing.
func (s *section) score(list []string) (sum int) {
	title, chapter := strings.ToLower(s.title), strings.ToLower(s.chapter)
	for _, w := range list {
		n := min(strings.Count(s.plain, w), mostInText)
		if strings.Contains(title, w) {
			n += inTitle
		}
		if n > 0 && strings.Contains(chapter, w) {
			n += inChapter
		}
		if n == 0 {
			return 0
		}
		sum += n
	}
	return sum
}

// Letters of an excerpt before and after the first word found.
const before, after = 60, 140

// excerpt returns the text about the whole phrase, else about the first word that is found; the beginning where that is
// in the title alone.
func (s *section) excerpt(marks, phrase *regexp.Regexp) []Piece {
	text := bare(s.lines)
	from, to := 0, 0
	if m := phrase.FindStringIndex(text); m != nil {
		from, to = m[0], m[1]
	} else if m := marks.FindStringIndex(text); m != nil {
		from, to = m[0], m[1]
	}
	start, end := back(text, from, before), forth(text, to, after)
	cut := text[start:end]
	if start > 0 {
		cut = "… " + cut
	}
	if end < len(text) {
		cut += " …"
	}
	return pieces(cut, marks)
}

// back and forth move a place in a text by about n letters, to the edge of a word.
func back(text string, at, n int) int {
	if at <= n {
		return 0
	}
	at -= n
	for at > 0 && text[at-1] != ' ' {
		at--
	}
	return at
}

func forth(text string, at, n int) int {
	if at += n; at >= len(text) {
		return len(text)
	}
	for at < len(text) && text[at] != ' ' {
		at++
	}
	return at
}

// pieces divides a text at the words that are found.
func pieces(text string, marks *regexp.Regexp) (out []Piece) {
	at := 0
	if marks != nil {
		for _, m := range marks.FindAllStringIndex(text, -1) {
			if m[0] > at {
				out = append(out, Piece{Text: text[at:m[0]]})
			}
			out, at = append(out, Piece{text[m[0]:m[1]], true}), m[1]
		}
	}
	if at < len(text) {
		out = append(out, Piece{Text: text[at:]})
	}
	return out
}

// markup is what bare takes out of a text.
var (
	markup = regexp.MustCompile("```[a-z]*|`|\\*\\*|!?\\[([^\\]]*)\\]\\([^)]*\\)|" +
		"\\| ?(-+ ?\\|? ?)+|^#+ | #+ |- \\[ \\]|\\|")
	blanks   = regexp.MustCompile(`\s+`)
	emphasis = regexp.MustCompile(`\*([^*\s][^*]*)\*`)
	dash     = regexp.MustCompile(`^ *(- |\d+\. )`)
)

// bare returns lines of a page without their markup, on one line.
func bare(lines []string) string {
	text := ""
	for _, l := range lines {
		text += dash.ReplaceAllString(l, "") + " "
	}
	text = emphasis.ReplaceAllString(text, "$1")
	text = markup.ReplaceAllStringFunc(text, func(s string) string {
		if m := linked.FindStringSubmatch(s); m != nil {
			return m[1]
		}
		if strings.HasPrefix(s, "`") || strings.HasPrefix(s, "**") {
			return ""
		}
		return " · "
	})
	text = strings.ReplaceAll(blanks.ReplaceAllString(text, " "), "· ·", "·")
	return strings.Trim(text, " ·")
}

var linked = regexp.MustCompile(`^!?\[([^\]]*)\]\(`)
