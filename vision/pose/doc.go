// Package pose proposes where a body's landmarks are in a picture, and when in a clip an
// angle is widest, with a network that was trained on photographs of people. What it
// finds is a proposal: a person looks at it and confirms or corrects it.
//
// # The network
//
// The network (package model) looks at a square of 256 pixels that holds one upright
// person, and returns 39 points and the probability that a person is there.
// Two of the points, the body's centre and a point on the circle round it, give the
// square in which the person stands upright, and the next look is made there (square.go).
// A look is one run of the network.
// It runs in the child program ecart-see (package see).
//
// # A clip
//
//  1. The clip is decoded once, and every eighth of a second a picture of at most 960
//     pixels is kept (clip.go).
//  2. The background ("ground" here) is the median of these pictures. The first square lies about the
//     largest foreground region (ground.go). Where no person is found there, the whole picture is
//     searched (find.go). A look counts only if two more, at squares that are larger, smaller and
//     turned, agree with it: the network also reports a person in a dog, and an upright person in
//     one who stands on the hands, but not twice in the same place (agree.go, start.go).
//  3. From there the person is tracked forwards and backwards, in every second picture, and in every
//     picture where the person is lost. Each square starts from the body before. Then the pictures
//     beside each maximum of the angle are looked at. A person who hardly moves becomes part of the
//     median picture; the ground is then taken as unknown (walk.go).
//  4. The network takes the left leg for the right one at times. The sides are assigned
//     for all pictures together, so that the legs move least (sides.go).
//  5. About the widest of these moments frames are decoded again. The network looks at every second one
//     in full resolution, at the others only where the angle does not come from the pixels alone. The network's places are
//     wrong by some degrees that change over ten frames: by itself it misplaces the top of a handstand by up to 7.
//     So the trunk and both arms are followed from frame to frame: the motion of each is the shift and the turn that take its pixels in
//     the middle frame to those of another, which needs no known ground (motion.go). Where hips, shoulders, elbows and wrists lie
//     in these parts is the mean over all looks. A fit through each other landmark's places gives its place (smooth.go).
//     A parabola through the angles, or a cubic where they scatter little,
//     gives the moment (finelooks.go, peak.go). The network is run some 20 times in all for a leap of 1.5 s. The standard
//     deviation of the moment follows from how fast the angle falls about it and how the angles of single frames
//     scatter. Where it spans several frames, as in a position that is held, twice as many frames are
//     used, with some 12 more looks.
//  6. Where a leg is straight and the ground stands still, the leg's outline before the
//     ground gives its axis better than the network does (outline.go). The axis runs through the middle of
//     the hips, or through the leg's own hip where the legs open to the sides. The ankle of a leg with a bent
//     knee is put onto the axis of the shank's outline, as far from the hip as a line through all looks has it.
//
// # Several passes in one clip
//
// Foreground regions are linked from picture to picture, in pictures of 240 pixels (passes.go). A trail of at least
// three pictures that travels or changes its outline is a pass. It ends with a gap of two pictures, or where
// the region is too far from its predicted place. Each pass is then searched as a clip is, and each peak
// from which the angle falls on both sides by more than its uncertainty is a leap (leaps.go).
package pose
