package review

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// TestSpillWithoutRequirement: a lamp 3 m beside the place misses it; from 700 mm, 60°/100° lenses light
// 2 · 700 mm · tan 50° / 400 mm = 4.2 times its width.
func TestSpillWithoutRequirement(t *testing.T) {
	free := lampVariant{}.with(edit{"requirements: {spill: 100 %}\n", ""})
	beside := edit{"hanging_height: 300 mm", "hanging_height: 300 mm\n  lamp_offset: [3 m, 0 mm]"}
	low := edit{"hanging_height: 300 mm", "hanging_height: 100 mm"}
	high := edit{"hanging_height: 300 mm", "hanging_height: 700 mm"}
	runTable(t, []side{
		{name: "low", lamp: free.with(low), check: "spill", want: finding.Note},
		{name: "wide", lamp: free, check: "spill", want: finding.Note},
		{name: "most is lost", lamp: free.with(high), check: "spill", want: finding.Warn, limit: "≤ 60.0 %"},
		{
			name: "it misses the bench", lamp: free.with(beside, edit{
				"board:",
				"requirements: {ppfd: 50 µmol/m²/s}\nboard:",
			}),
			check: "spill", want: finding.Stop, title: "exceeds rule of thumb 90.0 % (light requirement not met)",
		},
		{name: "no light is required", lamp: free.with(beside), check: "spill", want: finding.Warn, limit: "≤ 60.0 %"},
		{name: "all may be lost", lamp: lampVariant{}.with(beside), check: "spill", want: finding.Pass},
	})
	r := free.review(t)
	if f := r.one(t, "spill", "", ""); !strings.Contains(f.Why, "lights 1.8 × the width of the installation") {
		t.Error(f.Why)
	}
	if got := newReviewer(t.Context(),
		r.Evaluation).litWidth(); math.Abs(got-2*0.3*math.Tan(50*math.Pi/180)/0.4) > 1e-9 {
		t.Errorf("lit width %.3f", got)
	}
}

// TestManyOutsideContact: dies of 39 mW each. Of 22, two are outside: 9 % of the heat; of 30, twenty are.
func TestManyOutsideContact(t *testing.T) {
	lamp := func(columns int, contact string, more ...string) lampVariant {
		at := more
		for y := -2; y <= 2; y++ {
			for x := range columns {
				at = append(at, fmt.Sprintf("[%d mm, %d mm]", 8*x-4*(columns-1), 8*y))
			}
		}
		return lampVariant{}.with(
			edit{"lens: optic, at: [[-15 mm, 0 mm], [15 mm, 0 mm]]", "at: [" + strings.Join(at, ", ") + "]"},
			edit{"sink: {part: block}", "sink: {part: block, contact: {length: " + contact + ", width: 60 mm}}"},
			edit{"output_max: 20 V", "output_max: 120 V"},
			current("0.1 A"),
		)
	}
	runTable(t, []side{
		{
			name: "two", lamp: lamp(4, "40 mm", "[26 mm, 0 mm]", "[-26 mm, 0 mm]"), check: "sink-contact",
			want: finding.Note,
		},
		{name: "twenty", lamp: lamp(6, "16 mm"), check: "sink-contact", want: finding.Warn},
	})
	f := lamp(6, "16 mm").review(t).one(t, "sink-contact", "", "")
	if !strings.Contains(f.Why, "20 of 30 emitters, with 66.7 % of the dissipation") {
		t.Errorf("%s: %s %s", f.Severity, f.Title, f.Why)
	}
}
