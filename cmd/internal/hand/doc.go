// Package hand is the hand in which everything is drawn: the palette, the faces and
// how wide words are in them, degrees along a line, the bands of a rule on that line
// and their hatching, the outline of a reading's density, the words that stand on
// every drawing, and what is refused before anything is drawn.
//
// It knows no surface: figure draws with it on pictures, in pixels, and chart on
// paper, in points. Lengths are in the unit of whoever draws, x to the right and y
// down; angles are in degrees. It writes nothing and reads no clock.
package hand
