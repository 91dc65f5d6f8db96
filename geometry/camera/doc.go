// Package camera takes pixels to coordinates in the plane of motion.
//
// Pixels have the centre of the top-left pixel at (0, 0), x right, y down. The
// plane of motion has the axes X along, Y up and Z towards the camera; its unit
// is the size of one pixel at the reference point. A body vector v shows as the
// first two components of R v with
//
//	R = Rz(roll) Rx(pitch) Ry(yaw)
//
// under scaled orthography, and divided by its distance under a pinhole.
package camera
