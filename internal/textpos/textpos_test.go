package textpos

import "testing"

func TestAt(t *testing.T) {
	const text = "first\r\nse\u00f6nd x\rthird\n\nfifth"
	for _, tt := range []struct {
		offset    int
		line, col int
		excerpt   string
	}{
		{0, 1, 1, "first"},
		{4, 1, 5, "first"},
		{7, 2, 1, "se\u00f6nd x"},
		{14, 2, 7, "se\u00f6nd x"}, // ö has two bytes
		{16, 3, 1, "third"},
		{22, 4, 1, ""},
		{23, 5, 1, "fifth"},
		{28, 5, 6, "fifth"},
		{99, 5, 6, "fifth"},
		{-1, 1, 1, "first"},
	} {
		p := At(text, tt.offset, "wrong")
		if p.Line != tt.line || p.Col != tt.col || p.Excerpt != tt.excerpt || p.Text != "wrong" {
			t.Errorf("At(%d) = %+v, want %d:%d %q", tt.offset, p, tt.line, tt.col, tt.excerpt)
		}
	}
	if p := At("a\xff\xffb", 3, ""); p.Col != 4 || p.Excerpt != "a\uFFFD\uFFFDb" {
		t.Errorf("bytes that are not UTF-8: %+v", p)
	}
	if got := At(text, 7, "wrong").Error(); got != "line 2: wrong" {
		t.Error(got)
	}
	if got := (Problem{Text: "wrong"}).Error(); got != "wrong" {
		t.Error(got)
	}
}
