// Package change decides whether an angle has changed by more than the measurement error.
//
//	Compare           difference of two readings
//	Steps             before and after, within a session
//	Sides             left against right
//	NewTrend          progress over months
//	NewGroup          mean change of several athletes
//	NewPlan           which takes find a change by a day
//	NewScreen         gaps between what is asked, passive, active and in-skill
//	NewRepeatability  error of a rater who marks the same frames again
//
// It reads no files and no clock, and random numbers come from a given seed.
//
// Angles and their uncertainties are in degrees. Intervals have 95 % coverage unless
// stated otherwise. Errors that two readings have in common through their set-up, rater
// or lens cancel in part in their difference: see Rules.
package change
