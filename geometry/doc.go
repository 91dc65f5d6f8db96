// Package geometry measures angles between body lines in a plane.
//
// The plane's frame is x right, y up, in any unit of length. Angles are counted
// in radians inside ([Angle]) and turn counter-clockwise when positive, before a
// measure gives them a side.
//
// A [Measure] says which two lines an angle stands between and through which
// side of the body it runs. [Measure.Bind] matches it with the marks of one
// frame and decides, once, which way round the angle opens. The [Bound] it
// returns then gives the angle and its partial derivatives for any nearby
// points, so that draws of a Monte Carlo run scatter through a fold without a
// jump:
//
//	m, _ := geometry.Lookup("hip-split")
//	b, err := m.Bind(marks, geometry.Options{})
//	...
//	angle := b.Angle(points) // points in the order of b.Landmarks()
//
// No angle is ever taken from an arc cosine, which loses its digits near 0 and
// 180 degrees: there body lines are exactly when a limb is straight.
//
// The package has no state, reads no file and no clock, and needs the standard
// library alone.
package geometry
