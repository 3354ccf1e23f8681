// Package dossier writes the record of a lamp's design: one HTML file with findings, figures, pictures, order list and
// cautions, and the same figures as JSON and CSV.
//
// In: a design.Evaluation and the findings of its review.
// Out: HTML that needs nothing beside itself (no script, no network, no file), for a screen of any width and for A4;
// JSON and CSV.
// Assumes: names and texts come from people's files, so that everything is escaped.
// Leaves to others: every figure (design) and every judgement (review); only whether a figure lies within what the design
// file wants is compared here. Pictures are of package draw.
package dossier
