// Command cover counts how often the interval that a reading states holds the
// truth: go run ./cmd/internal/trial/cover, or make cover.
//
// For each measure and each camera set-up, with and without a lens file, it simulates
// takes whose true angle is known, reads them, and prints how often the 95 % interval held
// the truth, its mean width, and the width of the narrowest interval that would have held
// 95 %. Rows that miss their goals are printed with the reason. None is left out.
//
// The takes come from the package scene, without drawing pictures: a body in space, a
// landmark on its skin, the error of finding it, a pinhole camera, a lens, the error of a
// click. Bodies, poses and cameras are drawn at random in people.go, pose.go, shot.go and
// take.go, with the reasons for their distributions. These are independent of the readings'
// code and its priors.yaml.
//
// "seasons" counts how often statements about several readings hold, over months of
// simulated athletes with constant errors (package season): lines, differences, left against
// right, gaps; -cell TEXT picks rows.
//
// Other studies follow clips. "stickers" draws sketches (package scene: the seed determines
// everything in a take), codes each in five ways and counts the stickers that are seen, the
// wrong marks and how well the stated covariances hold: -seed N -variants M, kept in
// .cache/cover. "peaks" counts how often a peak's interval holds. "pose" compares the marks
// that are proposed from the picture with the truth. "clips" follows clips from a camera,
// whose truth was found by other means, or compares what is followed from two frames: their form is in realclips.go.
package main
