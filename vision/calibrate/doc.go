// Package calibrate estimates a lens from pictures of a printed checkerboard,
// and prints the checkerboard.
//
//	p, err := calibrate.Look(ctx, child, name, img, board) // for each picture
//	r, err := calibrate.Estimate(pictures, board)
//	r.Lens                                      // with its covariance
//	r.Pictures[i].Retake, r.Advice              // what to take again, and why
//
// The child program (package see) finds the corners. A first estimate comes from their
// homographies. The package then fits the lens, the poses of the board and the board's
// imperfections (bowed, stretched by the printer) to all corners at once, so that the
// covariance of the lens includes all of these:
//
//   - parameters that the pictures do not determine stay near typical values of lenses,
//     with the uncertainty of those (prior.go), instead of following the noise;
//   - the board may be a millimetre off flat (shape.go): assumed flat, such a board
//     moves a focal length by many times its uncertainty;
//   - if pictures disagree by more than the scatter of their corners explains, the
//     covariance is widened (disagreement).
//
// Pixels have the centre of the top left pixel at (0, 0), x right, y down. Lengths
// on a board are in squares, from its middle, since a lens does not depend on the size
// of the board.
package calibrate
