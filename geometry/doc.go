// Package geometry measures angles between body lines in a plane.
//
// Plane coordinates are x right, y up, in any unit of length. An [Angle] is in
// radians and positive counter-clockwise, until a measure fixes its own sense.
//
// A [Measure] defines between which two lines an angle lies and through which side
// of the body it is counted. [Measure.Bind] matches it with the marks of one frame
// and decides the sense of the angle, clockwise or counter-clockwise, once. The
// [Bound] it returns gives the angle and its partial derivatives for any nearby
// points in that sense, so that Monte Carlo draws pass through 0 or 180 degrees
// without a jump:
//
//	m, _ := geometry.Lookup("hip-split")
//	b, err := m.Bind(marks, geometry.Options{})
//	...
//	angle := b.Angle(points) // points in the order of b.Landmarks()
//
// No angle is computed with an arc cosine, which loses precision near 0 and 180
// degrees, where the two lines of a straight limb are.
//
// The package has no state, reads no files and no clock, and imports only the
// standard library.
package geometry
