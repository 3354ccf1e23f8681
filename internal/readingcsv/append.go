package readingcsv

import (
	"fmt"
	"strconv"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/textpos"
)

// beginning is the text of a new readings file.
const beginning = "lampwright_readings: 1\n"

// appendTo puts the new readings into the text of the readings file, and loads it.
func (r *reader) appendTo(p *project.Project) *Result {
	file, _ := source.Read(project.ReadingsFile, []byte(beginning))
	if r.was != nil {
		file = r.was.File
	}
	if file = r.instrument(file); file == nil {
		return nil
	}
	file, index, name := r.campaign(file)
	if file == nil {
		return nil
	}
	path := fmt.Sprintf("campaigns[%d].readings", index)
	before := 0
	if r.was != nil && index < len(r.was.Campaigns) {
		before = len(r.was.Campaigns[index].Readings)
	}
	texts := make([]string, len(r.items))
	for i := range r.items {
		texts[i] = r.items[i].text
	}
	file, err := file.AppendBlocks(path, texts)
	if err != nil {
		r.whole(err.Error(), "")
		return nil
	}
	readings, problems := project.LoadReadingsText(project.ReadingsFile, file.Text(), p)
	places := r.places(file, path, before)
	for _, q := range problems {
		if r.full() {
			break
		}
		q, _ = r.inCSV(q, places)
		r.problems = append(r.problems, q)
	}
	if readings == nil {
		return nil
	}
	out := &Result{
		Text: file.Text(), Readings: readings, Campaign: name, Added: len(r.items), Notes: r.notes,
	}
	for _, q := range readings.Doubts {
		if q, own := r.inCSV(q, places); own {
			out.Doubts = append(out.Doubts, q)
		}
	}
	return out
}

// campaign finds the campaign of the readings, or begins it. It returns the file with it, its index and its name.
func (r *reader) campaign(file *source.File) (with *source.File, index int, name string) {
	var names []string
	if r.was != nil {
		for i := range r.was.Campaigns {
			name := r.was.Campaigns[i].Name.S
			if name == r.o.Campaign || r.o.Campaign == "" && len(r.was.Campaigns) == 1 {
				if r.o.Date != "" || r.o.Room != "" {
					r.whole(fmt.Sprintf("the campaign %q exists already", name),
						"leave out --date and --room, or state another name")
					return nil, 0, ""
				}
				return file, i, name
			}
			names = append(names, strconv.Quote(name))
		}
	}
	switch {
	case r.o.Campaign == "" && len(names) > 0:
		r.whole("there are several campaigns", "state one by --campaign: "+strings.Join(names, ", "))
		return nil, 0, ""
	case r.o.Campaign == "" || r.o.Date == "" || r.o.Room == "":
		what := "there is no campaign"
		if r.o.Campaign != "" {
			what += " " + strconv.Quote(r.o.Campaign)
		}
		r.whole(what, `begin one, such as --campaign "first light" --date 2031-09-12 --room "22 °C"`)
		return nil, 0, ""
	}
	text := "{name: " + source.FlowText(r.o.Campaign) + ", date: " + source.FlowText(r.o.Date) + ", room: " +
		source.FlowText(r.o.Room) + "}"
	file, err := file.AppendBlocks("campaigns", []string{text})
	if err != nil {
		r.whole(err.Error(), "")
	}
	return file, len(names), r.o.Campaign
}

// instrument adds the instrument of the options, where its kind is stated and the file does not have it.
func (r *reader) instrument(file *source.File) *source.File {
	if r.o.Kind == "" {
		return file
	}
	if r.o.Instrument == "" {
		r.whole("--kind is of an instrument", "name it by --instrument")
		return nil
	}
	if r.was != nil {
		for i := range r.was.Instruments {
			if r.was.Instruments[i].Name.S == r.o.Instrument {
				r.whole(fmt.Sprintf("the instrument %q exists already", r.o.Instrument), "leave out --kind")
				return nil
			}
		}
	}
	text := "{name: " + source.FlowText(r.o.Instrument) + ", kind: " + source.FlowText(r.o.Kind) + "}"
	file, err := file.AppendBlocks("instruments", []string{text})
	if err != nil {
		r.whole(err.Error(), "")
		return nil
	}
	r.notes = append(r.notes, fmt.Sprintf("instrument %q (%s) is new: add its accuracy to %s", r.o.Instrument, r.o.Kind,
		project.ReadingsFile))
	return file
}

// places returns the places in the CSV file of every value of the new readings, by its line and column in the readings
// file. Column 0 is the beginning of a line.
func (r *reader) places(file *source.File, path string, before int) map[place]place {
	out := map[place]place{}
	for _, leaf := range file.Leaves(path) {
		index, rest, ok := strings.Cut(strings.TrimPrefix(leaf.Path, path+"["), "]")
		i, err := strconv.Atoi(index)
		if i -= before; !ok || err != nil || i < 0 || i >= len(r.items) {
			continue
		}
		it := &r.items[i]
		at := it.at
		key := strings.TrimPrefix(rest, ".")
		if j, ok := strings.CutPrefix(key, "series["); ok {
			j, _, _ = strings.Cut(j, "]")
			if n, err := strconv.Atoi(j); err == nil && n < len(it.points) {
				at = it.points[n]
			}
		} else {
			key, _, _ = strings.Cut(key, "[")
			if known, ok := it.keys[key]; ok {
				at = known
			}
		}
		out[place{leaf.At.Line, leaf.At.Col}] = at
		if _, ok := out[place{leaf.At.Line, 0}]; !ok {
			out[place{leaf.At.Line, 0}] = at
		}
	}
	return out
}

// inCSV moves a message of the readings file to the place in the CSV file that it is of; without one it is of the file
// that would be written.
func (r *reader) inCSV(q source.Problem, places map[place]place) (source.Problem, bool) {
	for _, at := range []place{{q.At.Line, q.At.Col}, {q.At.Line, 0}} {
		if found, ok := places[at]; ok && found.line > 0 {
			return r.problem(found, q.Msg, q.Hint), true
		}
	}
	return source.InFile(r.o.Name, textpos.Problem{Text: q.Msg}, q.Hint), false
}
