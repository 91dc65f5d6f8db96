// Package figure draws a reading: the frame with the angle's fan, and the ruler that
// shows the angle and the asked angle. It returns pictures, writes no file and reads no
// clock: the same reading gives the same bytes.
//
//	fan, on the picture   the sector from the first line to the second, the interval as
//	                      wedges at the arms, each mark with its 95 % ellipse, the asked
//	                      angle as a dashed line
//	ruler, on paper       degrees along a line, the bands hatched more densely for a larger
//	                      deduction, a notch at the asked angle, the reading as a density
//	                      over its interval
//
// Neither depends on colour alone. The fan, the ruler and the letters come from package
// draw; this package adds the picture and the page.
package figure
