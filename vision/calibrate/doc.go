// Package calibrate estimates a lens from pictures of a printed checkerboard,
// and prints the checkerboard.
//
//	p, err := calibrate.Look(ctx, child, name, img, board) // for each picture
//	r, err := calibrate.Estimate(pictures, board)
//	r.Lens                                      // with its covariance
//	r.Pictures[i].Retake, r.Advice              // what to take again, and why
//
// The child program (package see) finds the corners. From a first estimate out of
// their homographies the package fits the lens, the poses of the board and what is imperfect about the board
// (bowed, stretched by the printer) to all corners at once, because the
// covariance of the lens is wanted with all of that allowed for:
//
//   - parameters that the pictures do not tell stay near what lenses have, with
//     the uncertainty of that (prior.go), instead of following the noise;
//   - a board that is a millimetre off flat is allowed for (shape.go): taken as
//     flat, it moves a focal length by many times its uncertainty;
//   - where pictures disagree by more than the scatter of their corners explains,
//     the covariance is widened (disagreement).
//
// Pixels have the centre of the top left pixel at (0, 0), x right, y down. Lengths
// on a board are counted in squares, from its middle, since a lens does not depend
// on the size of the board.
package calibrate
