// Package figure draws a reading: the frame with the angle's fan, and the ruler
// that shows the angle against what is asked. It returns pictures and writes no
// file, and it reads no clock: the same reading gives the same bytes.
//
// Two drawings carry everything and always look the same. The fan stands on the
// picture: the sector from the first line to the second, the interval as wedges
// at the arms, each mark with its 95 % ellipse, what is asked as a dashed line.
// The ruler stands on paper: degrees along a line, the bands hatched (the denser
// the dearer), a notch for what is asked, the reading as a density over its
// interval. Neither leans on colour alone.
//
// The fan, the ruler and the letters come from package draw; what is here lays a picture
// under them and a page around them.
package figure
