package draw

import (
	"image/color"
	"math"
)

// The palette: paper and ink, a warm accent for what is measured, and a grey-blue for
// what is asked. Colours of text have a contrast with paper of at least 4.5 to 1 (WCAG
// 2.2, success criterion 1.4.3).
var (
	Paper    = color.NRGBA{0xfb, 0xfa, 0xf5, 0xff}
	White    = color.NRGBA{0xff, 0xff, 0xff, 0xff} // inside a band, and the border of a pasted-in print
	Ink      = color.NRGBA{0x1f, 0x1c, 0x17, 0xff}
	Faint    = color.NRGBA{0x6a, 0x65, 0x5b, 0xff}
	Rule     = color.NRGBA{0xd2, 0xcc, 0xbd, 0xff} // decorative lines
	Measured = color.NRGBA{0xb9, 0x40, 0x2a, 0xff}
	Asked    = color.NRGBA{0x4d, 0x62, 0x72, 0xff}
)

// Thin returns c with the given opacity, 0 to 1.
func Thin(c color.NRGBA, opacity float64) color.NRGBA {
	c.A = uint8(math.Round(255 * opacity))
	return c
}
