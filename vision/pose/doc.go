// Package pose proposes where a body's landmarks are in a picture, and when in a clip an
// angle is widest, with a network that was trained on photographs of people. What it
// finds is a proposal: a person looks at it and confirms or corrects it.
//
// # The network
//
// The network (package model) looks at a square of 256 pixels that holds one upright
// person, and answers with 39 points and with how sure it is that somebody is there.
// Two of the points, the body's centre and a point on the circle round it, give the
// square in which the person stands upright, so that one look places the next (square.go).
// It runs in the child program ecart-see (package see).
//
// # A clip
//
//  1. The clip is decoded once, and every eighth of a second a picture of at most 960
//     pixels is kept (clip.go).
//  2. The ground is the median of these pictures. The first square lies about the largest
//     thing that moves before it (ground.go). Where nothing is found there, all of the picture
//     is looked at (find.go). A look counts where two more, at squares that are larger,
//     smaller and turned, agree with it: the network sees persons in dogs, and upright ones
//     in those who stand on their hands, but not twice in the same place (agree.go, start.go).
//  3. From there squares go forwards and backwards, each from the one before, in every second
//     picture, and in every one where the person is lost. Then the pictures beside each top of
//     the angle are looked at. Whoever hardly moves is a part of the median picture, which then
//     counts for nothing (walk.go).
//  4. The network takes the left leg for the right one at times. Which is which is decided
//     for all pictures together, by the assignment that lets the legs move least (sides.go).
//  5. About the widest of these moments frames are decoded again. Every second one is looked at
//     in full resolution, the others only where the outlines do not give both legs. A parabola
//     through their angles gives the moment, and another through each landmark's places its
//     place there (peak.go). In all the network is run some 20 times for a leap of 1.5 s. How well the moment is known follows
//     from how fast the angle falls about it and how the angles of single frames scatter. Where that may well be another
//     frame, as in a position that is held, twice as far is looked at, some 12 times more.
//  6. Where a leg is straight and the ground stands still, the leg's outline before the
//     ground gives its axis better than the network does (outline.go): through the middle of
//     the hips, or through its own hip where the legs open to the sides. Of a leg with a bent
//     knee the ankle is put onto the axis of the shank's outline.
//
// # Several passes in one clip
//
// What moves before the ground is linked from picture to picture, in pictures of 240 pixels (passes.go). A trail of at least
// three pictures that goes somewhere or changes its outline is a pass. It ends with a gap of two pictures, or where
// what moves is too far from where it was heading. Each pass is then looked through as a clip is, and each peak of its angle
// from which the angle falls on both sides by more than its uncertainty is a leap (leaps.go).
package pose
