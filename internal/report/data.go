package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/version"
)

// JSON writes a Result and its findings as indented JSON.
func JSON(w io.Writer, r *figure.Evaluation, findings []finding.Finding) error {
	if findings == nil {
		findings = []finding.Finding{}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	err := e.Encode(struct {
		Version  string             `json:"lampwright"`
		Findings []finding.Finding  `json:"findings"`
		Result   *figure.Evaluation `json:"result"`
	}{version.String(), findings, r})
	if err != nil {
		return fmt.Errorf("write results of %q as JSON: %w", r.Name, err)
	}
	return nil
}

// CSV writes the results, one per line, in their stored units. Values that are not finite are empty.
func CSV(w io.Writer, r *figure.Evaluation) error {
	c := csv.NewWriter(w)
	number := func(x float64) string {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return ""
		}
		return strconv.FormatFloat(x, 'g', 8, 64)
	}
	c.Write([]string{"key", "title", "value", "p10", "p90", "unit", "text", "range", "formula", "numbers", "method", "valid"})
	for _, f := range r.Figures {
		spread := ""
		if f.Lo != f.Hi {
			spread = plain(f.Lo, f.Dim) + " to " + plain(f.Hi, f.Dim)
		}
		c.Write([]string{
			cell(f.Key), cell(f.Title), number(f.Value), number(f.Lo), number(f.Hi), f.Dim.Stored(), plain(f.Value, f.Dim), spread,
			cell(f.Basis.Formula), cell(f.Basis.Numbers), cell(f.Basis.Method), cell(f.Basis.Valid),
		})
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return fmt.Errorf("write results of %q as CSV: %w", r.Name, err)
	}
	return nil
}

// cell keeps a text from being read as a formula by a spreadsheet: names come from people's files.
func cell(s string) string {
	if s != "" {
		switch s[0] {
		case '=', '+', '-', '@', '\t', '\r':
			return "'" + s
		}
	}
	return s
}
