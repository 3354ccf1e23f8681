// Package draw makes the pictures of a lamp as SVG: light maps, the board, the place in section, where each watt goes,
// spectra, voltage windows and temperatures. They have one look, for the report and the browser page.
//
// In: plain values in SI, one struct a picture.
// Out: a Picture, which prints itself for a page or as a file; the same values give the same bytes.
// Assumes: names come from people's files, so that everything is escaped; numbers that are not finite are left out.
// Leaves to others: computing anything (design), judging it (review), and the text around it (report).
//
// A Picture is self-contained: no script, no style attribute, no reference to anything outside. Colours stand as plain
// attributes for a light page; a page that has the rules of CSS may turn them over for a dark one. Nothing is told by
// colour alone: there is always a word, a line style or a place as well.
package draw
