// Package chart draws what is plotted rather than photographed: one reading on the
// ruler, the months of an athlete, before and after a session, a screen's gaps, a
// squad, how two ways of reading agree, and a budget. Each is drawn once and written
// as SVG, which prints sharp, or as PNG. The package writes no file and reads no
// clock: the same input gives the same bytes.
//
// All are rulers: degrees along a line, what is asked as a notch or a dashed line in
// grey-blue, bands hatched (the denser the dearer), what is measured in one warm
// colour with its interval as a bar with feet. None leans on colour alone: a state
// is a shape and a word, a side is a way of drawing and a word, a verdict is a shape
// and a word. An interval that is not known is drawn as a dotted line across, and
// said to be unknown; one that goes on beyond the ruler ends in an arrow.
//
// Layout is computed first, in points of 1/72 inch from the top left corner, and
// is what the tests look at; Drawing then writes it.
package chart
