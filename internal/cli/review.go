package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"charm.land/lipgloss/v2"

	"lampwright/internal/design"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/review"
)

type reviewCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON bool   `name:"json" help:"Print figures and findings as JSON."`
	All  bool   `short:"a" help:"Show notes and passed checks in full."`
}

// Run reviews a lamp; its status is 1 if there is a stop.
func (c *reviewCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	findings := review.Review(result)
	if c.JSON {
		err = writeJSON(r, struct {
			Result   *design.Result    `json:"result"`
			Findings []finding.Finding `json:"findings"`
		}{result, findings})
	} else {
		printReview(r, result, findings, c.All)
	}
	if err == nil && finding.Any(findings, finding.Stop) {
		return errFound
	}
	return err
}

func writeJSON(r *run, v any) error {
	enc := json.NewEncoder(r.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// marks stand before findings; colour is never the only sign.
var marks = map[finding.Severity]lipgloss.Style{
	finding.Stop: lipgloss.NewStyle().Bold(true).Foreground(lipgloss.Red),
	finding.Warn: lipgloss.NewStyle().Bold(true).Foreground(lipgloss.Yellow),
	finding.Ask:  lipgloss.NewStyle().Bold(true).Foreground(lipgloss.Blue),
	finding.Note: lipgloss.NewStyle().Faint(true),
	finding.Pass: lipgloss.NewStyle().Foreground(lipgloss.Green),
}

const textWidth = 100

func printReview(r *run, result *design.Result, findings []finding.Finding, all bool) {
	bold := lipgloss.NewStyle().Bold(true)
	r.println(bold.Render(result.Name))
	r.println(headline(result))
	if result.Invented {
		r.println("Some of its parts are invented; nobody sells them.")
	}
	r.println("")
	for _, f := range findings {
		mark := marks[f.Severity].Render(fmt.Sprintf("%-5s", strings.ToUpper(f.Severity.String())))
		if f.Severity >= finding.Note && !all {
			continue
		}
		r.println(mark + " " + wrap(f.Title, textWidth, 6))
		detail := func(label, text string) {
			if text != "" {
				r.println("      " + wrap(label+text, textWidth, 6))
			}
		}
		if f.Severity == finding.Pass {
			continue
		}
		if f.Margin != "" {
			detail("limit: ", f.Limit+", margin "+f.Margin)
		}
		detail("why: ", f.Why)
		detail("mend: ", f.Mend)
		where := ""
		if f.At.Line > 0 {
			where = f.At.String()
		}
		if f.Figure != "" {
			if where != "" {
				where += "; "
			}
			where += "explain " + f.Figure
		}
		detail("see: ", where)
		r.println("")
	}
	if !all {
		printBrief(r, findings)
	}
	n := finding.Count(findings)
	count := fmt.Sprintf("%d stop, %d warn, %d ask, %d note, %d pass", n[finding.Stop], n[finding.Warn], n[finding.Ask], n[finding.Note], n[finding.Pass])
	if !all {
		count += "; --all shows notes and passed checks in full"
	}
	r.println(count)
	if n[finding.Stop] > 0 {
		r.println("Do not order this lamp as it is.")
	} else {
		r.println("No check found a reason to stop. That is what was checked, and not a word on safety: local codes and a qualified person go before.")
	}
}

// headline is the lamp in one line.
func headline(r *design.Result) string {
	text := func(key string) string {
		f, ok := r.Figure(key)
		if !ok {
			return "–"
		}
		return f.Text()
	}
	return fmt.Sprintf("%s at the wall, %s of light, %s at the target; junctions to %s on the hottest day; parts for %s",
		text("wall.power"), text("lamp.flux"), text("target.ppfd"), text("lamp.junction-hottest"), text("cost.parts"))
}

// printBrief gives notes a line each; checks that hold are counted only.
func printBrief(r *run, findings []finding.Finding) {
	for _, f := range findings {
		if f.Severity == finding.Note {
			r.println(marks[finding.Note].Render("NOTE ") + " " + wrap(f.Title, textWidth, 6))
		}
	}
	r.println("")
}

// println prints a line; styles are dropped where the output is no terminal.
func (r *run) println(line string) { lipgloss.Fprintln(r.out, line) }

// wrap breaks text at blanks so that no line is longer than width, with an indent from the second line on.
func wrap(text string, width, indent int) string {
	var b strings.Builder
	col := indent
	for i, word := range strings.Fields(text) {
		w := len([]rune(word))
		switch {
		case i == 0:
		case col+1+w > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			col = indent
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += w
	}
	return b.String()
}

type explainCmd struct {
	Figure string `arg:"" help:"Key of a result, such as white.junction; lampwright figures lists them."`
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON   bool   `name:"json" help:"Print as JSON."`
}

// Run prints the derivation of a result.
func (c *explainCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	f, ok := result.Figure(c.Figure)
	if !ok {
		hint := "`lampwright figures` lists them"
		if near, ok := quantity.Near(c.Figure, result.Keys()); ok {
			hint = fmt.Sprintf("did you mean %s?", near)
		}
		return fmt.Errorf("result %q not found; %s", c.Figure, hint)
	}
	if c.JSON {
		return writeJSON(r, f)
	}
	bold := lipgloss.NewStyle().Bold(true)
	r.println(bold.Render(f.Title))
	value := f.Text()
	if f.RangeText() != "" {
		value += "   (" + f.RangeText() + " " + f.RangeOf() + ")"
	}
	line := func(label, text string) {
		if text != "" {
			r.println(fmt.Sprintf("  %-9s ", label) + wrap(text, textWidth, 12))
		}
	}
	line("value", value)
	line("formula", f.Basis.Formula)
	line("numbers", f.Basis.Numbers)
	line("method", f.Basis.Method)
	line("valid", f.Basis.Valid)
	for _, n := range f.Basis.Notes {
		line("note", n)
	}
	if len(f.Basis.Inputs) > 0 {
		r.println("  inputs")
	}
	for _, in := range f.Basis.Inputs {
		from := in.Source
		if in.Figure != "" {
			from = strings.TrimPrefix(from+"; explain "+in.Figure, "; ")
		}
		if in.At.Line > 0 {
			from += " (" + in.At.String() + ")"
		}
		r.println("    " + wrap(fmt.Sprintf("%s = %s — %s", in.Name, in.Value, from), textWidth, 6))
	}
	return nil
}

type figuresCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON bool   `name:"json" help:"Print as JSON."`
}

// Run lists all results.
func (c *figuresCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, result.Figures)
	}
	t := newTable("key", "value", "P10 to P90", "quantity")
	for _, f := range result.Figures {
		t.Row(f.Key, f.Text(), f.RangeText(), f.Title)
	}
	r.println(t.String())
	return nil
}
