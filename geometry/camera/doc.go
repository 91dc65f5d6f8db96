// Package camera maps pixels to coordinates in the plane of motion.
//
// Pixels have the centre of the top-left pixel at (0, 0), x right, y down. The
// plane of motion has the axes X to the right, Y up and Z towards the camera; its
// unit is the size of one pixel at the reference point. A vector v of the body appears
// in the picture as the first two components of R v, with
//
//	R = Rz(roll) Rx(pitch) Ry(yaw)
//
// under scaled orthography; a pinhole camera divides them by the distance as well.
package camera
