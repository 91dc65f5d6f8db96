// Package draw is what all drawings share: the palette, the faces and the widths of
// words in them, scales and bands, the outline of a reading's density, the ruler, the
// fan, and the wording that stands on every drawing. It also checks what is drawn.
//
// A drawing is a Sheet: a list of shapes, and text over all of them. A Sheet is written
// as SVG (SVG) or painted on a picture (Paint). Lengths are in the unit of the sheet, x
// to the right and y down; angles are in degrees unless stated otherwise. The package
// writes no file and reads no clock.
package draw
