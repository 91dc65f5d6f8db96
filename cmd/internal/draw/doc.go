// Package draw contains what all drawings share: the palette, typefaces and text widths,
// scales and bands, the outline of a reading's density, the ruler, the fan, and common
// wording. It also checks the numbers that are drawn.
//
// A drawing is a Sheet: a list of shapes, and text over all of them. A Sheet is written
// as SVG (SVG) or painted on a picture (Paint). Lengths are in the unit of the sheet, x
// to the right and y down; angles are in degrees unless stated otherwise. The package
// writes no file and reads no clock.
package draw
