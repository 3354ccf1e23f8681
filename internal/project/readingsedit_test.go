package project

import (
	"strings"
	"testing"

	"lampwright/internal/source"
)

// TestEditReadings: a value is changed and readings are appended in the text of the file. What else it contains stays
// byte for byte as it was, and the result loads with the new values.
func TestEditReadings(t *testing.T) {
	p := readLamp(t)
	text := strings.Replace(goodReadings, "value: 4270 lx", "value: 4270 lx # second try", 1)
	r, problems := LoadReadingsText(ReadingsFile, []byte(text), p)
	if r == nil {
		t.Fatal(problems.Error())
	}
	load := func(f *source.File, err error) *Readings {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		r, problems := LoadReadingsText(ReadingsFile, f.Text(), p)
		if r == nil {
			t.Fatal(problems.Error())
		}
		return r
	}
	changed := load(r.File.Spliced("campaigns[0].readings[0].value", "4310 lx"))
	if v := changed.Campaigns[0].Readings[0].Value.SI; v != 4310 {
		t.Errorf("value %v lx, want 4310", v)
	}
	if want := strings.Replace(text, "4270 lx", "4310 lx", 1); string(changed.File.Text()) != want {
		t.Errorf("more than the value changed:\n%s", changed.File.Text())
	}
	noted := load(r.File.Spliced("campaigns[0].readings[1].note", "cloudy: no"))
	if got := noted.Campaigns[0].Readings[1].Note.S; got != "cloudy: no" {
		t.Errorf("note %q", got)
	}
	point := load(r.File.Spliced("campaigns[0].readings[3].series[1].value", "1010 lx"))
	if v := point.Campaigns[0].Readings[3].Series[1].Value.SI; v != 1010 {
		t.Errorf("point %v lx, want 1010", v)
	}
	appended := load(r.File.AppendBlocks("campaigns[0].readings", []string{
		"{what: mains power, instrument: plug, state: warm, value: 31.9 W}",
		"{what: mains power, instrument: plug, state: warm-up, " +
			"series: [{time: 1 s, value: 30 W}, {time: 9 s, value: 31 W}]}",
	}))
	list := appended.Campaigns[0].Readings
	if n := len(list); n != 23 || list[21].Value.SI != 31.9 || list[22].Series[1].Value.SI != 31 {
		t.Errorf("%d readings, the last: %+v", n, list[n-1])
	}
	const plug = "{what: mains power, instrument: plug, value: 30 W}"
	second := load(r.File.AppendBlocks("campaigns[1].readings", []string{plug}))
	if list := second.Campaigns[1].Readings; len(list) != 1 || list[0].Label != "2.1" || list[0].Value.SI != 30 {
		t.Errorf("first reading of a campaign: %+v", list)
	}
}

// TestFillReading: a reading that is still to be made, as a plan writes it, takes its value.
func TestFillReading(t *testing.T) {
	p := readLamp(t)
	text := strings.Replace(goodReadings, "        value: 4270 lx\n", "", 1)
	r, problems := LoadReadingsText(ReadingsFile, []byte(text), p)
	if r == nil {
		t.Fatal(problems.Error())
	}
	f, err := r.File.Spliced("campaigns[0].readings[0].value", "4280 lx")
	if err != nil {
		t.Fatal(err)
	}
	r, problems = LoadReadingsText(ReadingsFile, f.Text(), p)
	if r == nil || r.Campaigns[0].Readings[0].Value.SI != 4280 || r.Campaigns[0].Readings[0].Pending() {
		t.Errorf("the value is not there: %s", problems.Error())
	}
}
