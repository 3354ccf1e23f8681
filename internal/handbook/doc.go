// Package handbook lets the handbook and the references be searched and read section by section.
//
// In: Markdown pages and their pictures, as package docs embeds them.
// Out: sections as HTML in which every text is escaped; what a search finds, best first; the section on a check.
// Assumes: the subset of Markdown that our pages use: headings, paragraphs, lists, tables, code, emphasis, links and
// pictures.
// Leaves to others: serving and showing the sections (web).
package handbook
