package review

import (
	"fmt"
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// theTest is the LM-80 test of the emitter of the test lamp.
const theTest = "{case_temperature: 85 °C, current: 3 A, units: 20, duration: 10000 h, alpha: 7.1335e-6 1/h}"

// testOf is another one.
func testOf(celsius, amps, alpha float64) edit {
	return edit{theTest, fmt.Sprintf(
		"{case_temperature: %g °C, current: %g A, units: 20, duration: 10000 h, alpha: %g 1/h}", celsius, amps, alpha,
	)}
}

func serviceLife(years string) edit {
	return edit{"requirements: {", "requirements: {service_life: " + years + ", "}
}

// TestEmitterLife: L80 on either side of the service life; solder point and current beyond those of the test.
func TestEmitterLife(t *testing.T) {
	l80 := lampVariant{}.with(serviceLife("7 years")).review(t)
	f, ok := l80.Figure("a.l80")
	if !ok {
		t.Fatal("no L80 of channel a")
	}
	years := f.Value / (365.25 * 86400)
	for _, tt := range []struct {
		service string
		change  edit
		title   string
		want    finding.Severity
	}{
		{fmt.Sprintf("%.2f years", years*0.9), edit{}, "within service life", finding.Pass},
		{fmt.Sprintf("%.2f years", years*1.1), edit{}, "is below service life", finding.Warn},
		{"2 years", testOf(25, 3, 1e-6), "exceeds LM-80 test 25.0 °C", finding.Warn},
		{"2 years", testOf(85, 0.1, 1e-6), "exceeds LM-80 test 100 mA", finding.Warn},
		{
			fmt.Sprintf("%.2f years", years*1.1), noStated("    lumen_maintenance_tests: [" + theTest + "]\n"),
			"LM-80 test not stated", finding.Note,
		},
	} {
		l := lampVariant{}.with(serviceLife(tt.service))
		if tt.change != (edit{}) {
			l = l.with(tt.change)
		}
		found := false
		for _, f := range l.review(t).find("emitter-life", "", "") {
			found = found || f.Severity == tt.want && strings.Contains(f.Title+f.Why, tt.title)
		}
		if !found {
			t.Errorf("service life %s, %v: no %s with %q in %+v", tt.service, tt.change, tt.want, tt.title,
				l.review(t).find("emitter-life", "", ""))
		}
	}
}

// TestAgedColour: a red channel that fades ten times as fast as the white one moves the colour over the years, out of a
// band that the new lamp meets.
func TestAgedColour(t *testing.T) {
	peaks := "      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: 59.5 %}\n" +
		"      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n"
	two := func(alpha float64, more ...edit) lampVariant {
		l := lampVariant{parts: emitterLike(
			"ruby", edit{peaks, "      - {at: 640 nm, width: 20 nm}\n"}, testOf(85, 3, alpha),
		)}
		return l.with(append(more, edit{
			"    driver: down\n",
			"    driver: down\n  - name: rest\n    emitters:\n      - {part: ruby, at: [[0 mm, 15 mm]]}\n" +
				"    current: 0.5 A\n    driver: down\n",
		}, edit{"feeds: [a]", "feeds: [a, rest]"})...)
	}
	base := two(7e-5).review(t)
	now, aged := base.Value("lamp.cct"), base.Value("lamp.cct-maintained")
	if aged < now+100 {
		t.Fatalf("CCT %g K, aged %g K: less red is a higher CCT", now, aged)
	}
	band := func(hi float64) edit {
		lo := now - 200
		return edit{"requirements: {", fmt.Sprintf("requirements: {cct: %.0f K ± %.0f K, ", (lo+hi)/2, (hi-lo)/2)}
	}
	narrow := two(7e-5, band((now+aged)/2), serviceLife("10 years")).review(t)
	if f := narrow.one(t, "colour-maintenance", "lamp", "CCT after 10 years"); f.Severity != finding.Warn {
		t.Errorf("out of the band: %+v", f)
	}
	if f := narrow.one(t, "colour-maintenance", "lamp", "Colour shift by ageing"); f.Severity != finding.Warn {
		t.Errorf("obvious shift: %+v", f)
	}
	wide := two(7e-5, band(aged+200), serviceLife("10 years")).review(t)
	if f := wide.one(t, "colour-maintenance", "lamp", "CCT after 10 years"); f.Severity != finding.Pass {
		t.Errorf("within the band: %+v", f)
	}
	even := two(7.1335e-6, serviceLife("10 years")).review(t)
	if f := even.one(t, "colour-maintenance", "lamp", "Colour shift by ageing"); f.Severity != finding.Pass {
		t.Errorf("channels that age alike: %+v", f)
	}
}
