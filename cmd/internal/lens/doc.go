// Package lens makes the lens file of a camera from pictures of a board: it finds the board in stills or in a clip, fits
// the lens, and says in words, in figures and as a drawing how well that was done.
//
// The fit itself is in vision/calibrate. What a lens does to a pixel is in geometry/camera.
package lens
