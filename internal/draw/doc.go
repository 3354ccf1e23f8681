// Package draw draws the pictures of a lamp as SVG: light maps, board, section, energy flow, spectra, voltage ranges,
// temperatures and colour, in one style for the report and the workspace.
//
// In: plain values in SI, one struct per picture.
// Out: a Picture, which prints itself for a page or as a file; the same values give the same bytes.
// Assumes: names come from user files, so that all text is escaped; values that are not finite are omitted.
// Leaves to others: computing anything (design), judging it (review), and the text around it (report).
//
// A Picture is self-contained: no script, no style attribute, no reference to anything outside. Colours are plain
// attributes for a light page; a page with the rules of CSS replaces them for a dark theme. No information is coded by
// colour alone: there is always a word, a line style or a position as well.
package draw
