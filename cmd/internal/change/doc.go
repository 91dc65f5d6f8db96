// Package change says whether an angle has changed by more than the error of
// measuring: the difference of two readings, the trend of months, left against
// right, before and after a session, the gaps of a screen, and how well a rater
// repeats. It is pure: no files, no clock, randomness only from a seed.
//
// Angles and their uncertainties are in degrees. Intervals hold 95 % unless said
// otherwise. What two readings share by their set-up, rater or lens cancels in
// part between them: see Rules.
package change
