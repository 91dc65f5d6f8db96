// Command cover counts how often the interval that a reading states holds the
// truth: go run ./cmd/internal/trial/cover, or make cover.
//
// For each measure, each way of setting the camera up, with a lens file and
// without, it makes takes whose true angle is known, reads them as anybody
// would, and prints how often the 95 % interval held the truth, how wide it was
// on average, and how wide the narrowest one would have been that would have
// done. Rows that miss what they are held to say why. None is left out.
//
// The takes come from the package scene without a picture being drawn: a body
// in space, a landmark on its skin, an error of finding it, a pinhole, a lens, a
// click. Bodies, poses and cameras are drawn in people.go, pose.go, shot.go and
// take.go, each with its reason, from figures of their own: the readings' code
// and its priors.yaml are not asked.
//
// "seasons" counts what is said of several readings over the months of invented athletes with
// constant errors (package season): lines, differences, left against right, gaps; -cell TEXT picks rows.
//
// Other studies follow clips. "stickers" draws sketches (package scene: every figure of a
// take drawn by its seed), codes each in five ways and counts what is seen, what is wrong and how
// far the stated covariances hold: -seed N -variants M, kept in .cache/cover. "peaks" counts
// how often a peak's interval holds. "clips" follows clips that a camera took, whose truth somebody
// else found: their form is in realclips.go.
package main
