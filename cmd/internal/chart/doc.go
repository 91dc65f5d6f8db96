// Package chart draws charts: one reading on the ruler, the months of an athlete, before
// and after a session, a screen's gaps, a group, a plan of takes, a squad, the agreement of
// two raters, and an uncertainty budget. A chart is written as SVG or as PNG. The package
// writes no file and reads no clock: the same input gives the same bytes.
//
// All charts use the same signs:
//
//	asked angle         a notch, or a dashed line in grey-blue
//	bands               hatched, more densely for a larger deduction
//	measured angle      in the accent colour, with its interval as a bar with feet
//	unknown interval    a dotted line over the whole scale, and words
//	interval beyond it  an arrow at the end of the scale
//	state, verdict      a shape and a word
//	side                a mark filled or open, and a word
//
// None depends on colour alone.
//
// The layout is computed in points of 1/72 inch from the top left corner; Drawing writes
// it. Tests examine the layout.
package chart
