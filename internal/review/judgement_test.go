package review

import (
	"context"
	"math"
	"regexp"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
	"lampwright/internal/quantity"
)

// TestCompareSeverity: fail beyond the limit, a warning where the unfavourable end is, else a pass; a limit that is met
// exactly is kept.
func TestCompareSeverity(t *testing.T) {
	for _, tt := range []struct {
		name           string
		j              Judgement
		want           finding.Severity
		signed, atWrst float64
	}{
		{"within", Judgement{Bound: AtMost, Value: 0.4, P90: 0.45, Limit: 0.5}, finding.Pass, 0.1, 0.05},
		{"met exactly", Judgement{Bound: AtMost, Value: 0.5, P90: 0.5 + 1e-12, Limit: 0.5}, finding.Pass, 0, 0},
		{"beyond by the error of typed numbers", Judgement{
			Bound: AtLeast, Value: 1498.5, P90: 1498.5, Limit: 1500, Typed: true,
		}, finding.Pass, 0, 0},
		{"beyond by more", Judgement{
			Bound: AtLeast, Value: 1498.4, P90: 1498.4, Limit: 1500, Typed: true,
		}, finding.Stop, -1.6, -1.6},
		{"computed, beyond by as little", Judgement{
			Bound: AtLeast, Value: 1498.5, P90: 1498.5, Limit: 1500,
		}, finding.Stop, -1.5, -1.5},
		{"the upper limit of a range met exactly", Judgement{
			Bound: Range, Value: 1000 * (1 + 5e-10), P90: 1000, P10: 1000, Limit: 1, Upper: 1000,
		}, finding.Pass, 0, 0},
		{"P90 beyond", Judgement{Bound: AtMost, Value: 0.4, P90: 0.6, Limit: 0.5}, finding.Warn, 0.1, -0.1},
		{"beyond", Judgement{Bound: AtMost, Value: 0.7, P90: 0.8, Limit: 0.5}, finding.Stop, -0.2, -0.3},
		{"above a lower limit", Judgement{Bound: AtLeast, Value: 0.7, P90: 0.6, Limit: 0.5}, finding.Pass, 0.2, 0.1},
		{
			"P10 below a lower limit",
			Judgement{Bound: AtLeast, Value: 0.7, P90: 0.4, Limit: 0.5},
			finding.Warn, 0.2,
			-0.1,
		},
		{"below a lower limit", Judgement{Bound: AtLeast, Value: 0.4, P90: 0.3, Limit: 0.5}, finding.Stop, -0.1, -0.2},
		{"in a range", Judgement{Bound: Range, Value: 60, P90: 70, P10: 55, Limit: 50, Upper: 90}, finding.Pass, 10, 5},
		{
			"one end out of a range",
			Judgement{Bound: Range, Value: 60, P90: 95, P10: 55, Limit: 50, Upper: 90},
			finding.Warn, 10, -5,
		},
		{
			"out of a range",
			Judgement{Bound: Range, Value: 100, P90: 101, P10: 99, Limit: 50, Upper: 90},
			finding.Stop, -10, -11,
		},
	} {
		j := compare(finding.Stop, tt.j)
		m := j.margin()
		if j.Severity != tt.want || math.Abs(m.Signed-tt.signed) > 1e-9 || math.Abs(m.Worst-tt.atWrst) > 1e-9 {
			t.Errorf(
				"%s: %s, margin %g and %g, want %s, %g and %g", tt.name, j.Severity, m.Signed, m.Worst, tt.want,
				tt.signed, tt.atWrst,
			)
		}
	}
}

// TestGather joins judgements of one severity and group; the one with the smallest margin gives the numbers.
func TestGather(t *testing.T) {
	j := func(name string, s finding.Severity, group any, value float64) Judgement {
		return Judgement{
			Severity: s, Subject: channel(name), Bound: AtMost, Value: value, P90: value, Limit: 10, group: group,
		}
	}
	got := gather([]Judgement{
		j("a", finding.Pass, 1, 5), j("b", finding.Warn, 1, 11), j("c", finding.Pass, 1, 7), j(
			"d", finding.Pass, nil, 1,
		),
		j("e", finding.Pass, nil, 1), j("a", finding.Pass, 1, 6),
	})
	var names []string
	for _, j := range got {
		names = append(names, j.Subject.String())
	}
	if want := "channels a and c|channel b|channel d|channel e"; strings.Join(names, "|") != want || got[0].Value != 7 {
		t.Errorf("gathered as %q with %g, want %q with 7", strings.Join(names, "|"), got[0].Value, want)
	}
}

// TestSubject: the id of a part that names its kind is not doubled.
func TestSubject(t *testing.T) {
	for _, tt := range []struct {
		s    Subject
		want string
	}{
		{Subject{Kind: "lamp"}, "lamp"},
		{channel("warm"), "channel warm"},
		{Subject{"supply", []string{"supply-12v"}}, "supply-12v"},
		{Subject{"supply", []string{"twelve"}}, "supply twelve"},
		{Subject{"supply", []string{"a", "b"}}, "supplies a and b"},
		{Subject{"channel", []string{"a", "b", "c"}}, "channels a, b and c"},
		{Subject{"", []string{"x", "y"}}, "x and y"},
	} {
		if got := tt.s.String(); got != tt.want {
			t.Errorf("%+v is %q, want %q", tt.s, got, tt.want)
		}
	}
}

// TestTitles: quantity, value and limit by the patterns; two numbers that print alike get the digits that tell them
// apart.
func TestTitles(t *testing.T) {
	c := claim{quantity: "Die current", when: "at noon", limit: "rating", of: "x, channel a"}
	j := Judgement{Bound: AtMost, Dim: quantity.Current, Limit: 0.5}
	for _, tt := range []struct {
		value, p90 float64
		end, want  string
	}{
		{0.4, 0.4, "", "Die current 400 mA at noon, within rating 500 mA (x, channel a)"},
		{0.62, 0.62, "", "Die current 620 mA at noon exceeds rating 500 mA (x, channel a)"},
		{0.4, 0.6, "", "Die current 400 mA at noon; P90 600 mA exceeds rating 500 mA (x, channel a)"},
		{0.4, 0.6, "at the upper driver tolerance", "Die current 400 mA at noon; 600 mA at the upper driver " +
			"tolerance exceeds rating 500 mA (x, channel a)"},
		{0.5001, 0.5001, "", "Die current 500.1 mA at noon exceeds rating 500.0 mA (x, channel a)"},
	} {
		j.Value, j.P90, c.end = tt.value, tt.p90, tt.end
		if got := j.title(c); got != tt.want {
			t.Errorf("%g A: %q, want %q", tt.value, got, tt.want)
		}
	}
	low := Judgement{Bound: AtLeast, Dim: quantity.Ratio, Value: 0.23, P90: 0.2, Limit: 0.4}
	if got, want := low.title(
		claim{quantity: "Uniformity", limit: "required"},
	), "Uniformity 23.0 % is below required 40.0 %"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	ra := Judgement{Bound: AtLeast, Dim: quantity.None, Value: 79.6, P90: 79, Limit: 80}
	if got, want := ra.title(claim{quantity: "Ra", limit: "required"}), "Ra 79.6 is below required 80.0"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestMargins: the margins are those of the findings, without their texts.
func TestMargins(t *testing.T) {
	r := lampVariant{}.with(current("1.3 A")).review(t)
	margins := Judge(context.Background(), r.Evaluation).Margins()
	if len(margins) != len(r.findings) {
		t.Fatalf("%d margins, %d findings", len(margins), len(r.findings))
	}
	type key struct {
		check, subject string
		severity       finding.Severity
		margin         float64
	}
	have := map[key]int{}
	for _, m := range margins {
		have[key{m.Check, m.Subject.String(), m.Severity, m.Signed}]++
	}
	for _, f := range r.findings {
		if _, ok := r.Figure(f.Figure); f.Figure != "" && !ok {
			t.Errorf("no figure %q of %s", f.Figure, f.Check)
		}
		k := key{f.Check, f.Subject, f.Severity, f.SignedMargin}
		if have[k]--; have[k] < 0 {
			t.Errorf("no margin for %+v: %s", k, f.Title)
		}
	}
	for _, m := range margins {
		if m.Check == "die-current" &&
			(m.Severity != finding.Stop || math.Abs(m.Signed+0.3) > 1e-9 || m.Value != 1.3 || m.Limit != 1) {
			t.Errorf("1.3 A against 1 A has margin %+v", m)
		}
	}
}

// sentences counts the full stops that end a sentence.
var sentences = regexp.MustCompile(`[a-zäöü0-9)%°CKAVW` + "`" + `]\.( |$)`)

// checkStyle complains of texts that break the patterns of findings.
func checkStyle(t testing.TB, f finding.Finding) {
	t.Helper()
	first := func(s string) string { return string([]rune(s)[:1]) }
	where := f.Check + " of " + f.Subject
	if first(f.Title) != strings.ToUpper(first(f.Title)) && !strings.HasPrefix(f.Title, "flux_") || strings.HasSuffix(f.Title, ".") {
		t.Errorf("%s: the title %q has no capital, or a full stop", where, f.Title)
	}
	if n := len(sentences.FindAllString(f.Why, -1)); n > 3 || first(f.Why) != strings.ToUpper(first(f.Why)) || !strings.HasSuffix(f.Why, ".") {
		t.Errorf("%s: the reason has %d sentences, no capital or no full stop: %q", where, n, f.Why)
	}
	for _, item := range f.Fix {
		if first(item) != strings.ToUpper(first(item)) || strings.HasSuffix(item, ".") || strings.Contains(item, "; or ") {
			t.Errorf("%s: the fix %q has no capital, a full stop or a chain", where, item)
		}
	}
	for _, word := range []string{"hottest day", "usual day", "fan stopped", "mend", " sheet", "maker", "common practice", "local codes", "at the most", "takes ", "lamps of ten"} {
		for _, text := range append([]string{f.Title, f.Why}, f.Fix...) {
			if strings.Contains(text, word) && f.Check != "not-stated" && f.Check != "extrapolation" && f.Check != "housing" {
				t.Errorf("%s: %q is in %q", where, word, text)
			}
		}
	}
}

// BenchmarkReview shows what the texts and the search for fixes cost beside the margins alone.
func BenchmarkReview(b *testing.B) {
	r := lampVariant{}.with(current("1.3 A")).review(b)
	b.Run("margins", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Judge(context.Background(), r.Evaluation).Margins()
		}
	})
	b.Run("findings", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Review(context.Background(), r.Evaluation)
		}
	})
}

// TestEndsCountAsPrinted: the end of a range within half a step of the limit reads as the limit and meets it; a value
// is compared exactly.
func TestEndsCountAsPrinted(t *testing.T) {
	for _, tt := range []struct {
		name string
		j    Judgement
		want finding.Severity
	}{
		{"Ra 79.6 reads 80", Judgement{Bound: AtLeast, Dim: quantity.None, Value: 83, P90: 79.6, Limit: 80}, finding.Pass},
		{"Ra 79.4 reads 79", Judgement{Bound: AtLeast, Dim: quantity.None, Value: 83, P90: 79.4, Limit: 80}, finding.Warn},
		{"Ra 79.9 itself", Judgement{Bound: AtLeast, Dim: quantity.None, Value: 79.9, P90: 78, Limit: 80}, finding.Stop},
		// Steps of 0.5 K.
		{
			"0.2 K beyond",
			Judgement{Bound: AtMost, Dim: quantity.Temperature, Value: 350.15, P90: 353.35, Limit: 353.15},
			finding.Pass,
		},
		{
			"0.3 K beyond",
			Judgement{Bound: AtMost, Dim: quantity.Temperature, Value: 350.15, P90: 353.45, Limit: 353.15},
			finding.Warn,
		},
		// Steps of 50 K.
		{
			"20 K beyond", Judgement{
				Bound: Range, Dim: quantity.CCT, Value: 6300, P10: 5980, P90: 6600, Limit: 6000, Upper: 7000,
			}, finding.Pass,
		},
		{
			"30 K beyond", Judgement{
				Bound: Range, Dim: quantity.CCT, Value: 6300, P10: 5970, P90: 6600, Limit: 6000, Upper: 7000,
			}, finding.Warn,
		},
	} {
		if got := compare(finding.Stop, tt.j).Severity; got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

// TestMarginText: margins are in the unit of their limit.
func TestMarginText(t *testing.T) {
	for _, tt := range []struct {
		m, limit float64
		dim      quantity.Dim
		want     string
	}{
		{0.028, 0.5, quantity.Current, "+28.0 mA"},
		{-0.605, 10, quantity.Voltage, "−0.605 V"},
		{0.05, 1.2, quantity.Current, "+0.0500 A"},
		{-1.04, 353.15, quantity.Temperature, "−1.04 K"},
		{130, 6500, quantity.CCT, "+130 K"},
		{4.2, 80, quantity.None, "+4"},
		{0, 80, quantity.None, "none"},
	} {
		if got := marginText(tt.m, tt.limit, tt.dim); got != tt.want {
			t.Errorf("margin %g of limit %g: %q, want %q", tt.m, tt.limit, got, tt.want)
		}
	}
}

// TestStopped: a review whose context has ended puts nothing more into words, since searching for fixes takes time.
func TestStopped(t *testing.T) {
	r := lampVariant{}.with(current("1.3 A")).review(t)
	ctx, cancel := context.WithCancel(t.Context())
	judged := Judge(ctx, r.Evaluation)
	cancel()
	if list := judged.Findings(); len(list) > 0 {
		t.Errorf("a review that was stopped has %d findings", len(list))
	}
	if list := Judge(ctx, r.Evaluation).Margins(); len(list) > 0 {
		t.Errorf("a review that was stopped before it began has %d margins", len(list))
	}
}

// TestComparison wants the numbers that a page draws: value, ends of its range, and the limits on the side on which
// they lie. They are those of the design file, of the datasheet and of the requirement 5200 K ± 500 K.
func TestComparison(t *testing.T) {
	result, err := figure.Evaluate(context.Background(), lamptest.Example(t, "long-tank-first"),
		engine.Options{Samples: 20, CellM: 0.05, Solver: boards})
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]finding.Finding{}
	for _, f := range Review(context.Background(), result) {
		if _, ok := found[f.Check]; !ok {
			found[f.Check] = f
		}
	}
	close := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	c := found["die-current"].Comparison
	if c == nil || c.Min != nil || c.Max == nil {
		t.Fatalf("die current: %+v, want an upper limit alone", c)
	}
	close("die current", c.Value, 0.85)
	close("its limit", *c.Max, 0.8)
	close("its margin", *c.Max-c.Value, found["die-current"].SignedMargin)
	c = found["driver-input"].Comparison
	if c == nil || c.Min == nil || c.Max != nil {
		t.Fatalf("driver input: %+v, want a lower limit alone", c)
	}
	close("driver input, limit", *c.Min, 12)
	close("driver input, margin", c.Value-*c.Min, found["driver-input"].SignedMargin)
	c = found["cct"].Comparison
	if c == nil || c.Min == nil || c.Max == nil {
		t.Fatalf("CCT: %+v, want both limits", c)
	}
	close("lowest CCT", *c.Min, 4700)
	close("highest CCT", *c.Max, 5700)
	f, _ := result.Figure("lamp.cct")
	close("CCT", c.Value, f.Value)
	close("P10 of CCT", c.Lo, f.Lo)
	close("P90 of CCT", c.Hi, f.Hi)
	if c := found["lens-fit"].Comparison; c != nil {
		t.Errorf("a yes or no has numbers: %+v", c)
	}
}
