// Package report writes the design report of a lamp: one HTML file with findings, results, pictures, bill of materials and
// cautions, and the same results as JSON and CSV.
//
// In: a figure.Evaluation and the findings of its review.
// Out: HTML that needs no other file (no script, no network), for a screen of any width and for A4; JSON and CSV.
// Assumes: names and texts come from user files, so everything is escaped.
// Leaves to others: every result (design) and every judgement (review); it only compares a result with the requirement in the
// design file. Pictures are drawn by package draw.
package report
