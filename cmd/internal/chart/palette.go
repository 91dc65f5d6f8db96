package chart

import (
	"image/color"
	"math"
)

// The palette: paper and ink, one warm accent for what is measured, a cool
// grey-blue for what is asked. Every one that carries words stands out from paper
// by at least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3).
var (
	paper    = color.NRGBA{0xfb, 0xfa, 0xf5, 0xff}
	border   = color.NRGBA{0xff, 0xff, 0xff, 0xff} // inside a band
	ink      = color.NRGBA{0x1f, 0x1c, 0x17, 0xff}
	faint    = color.NRGBA{0x6a, 0x65, 0x5b, 0xff}
	rule     = color.NRGBA{0xd2, 0xcc, 0xbd, 0xff} // lines that carry nothing
	measured = color.NRGBA{0xb9, 0x40, 0x2a, 0xff}
	asked    = color.NRGBA{0x4d, 0x62, 0x72, 0xff}
)

// thin returns c with the given opacity, 0 to 1.
func thin(c color.NRGBA, opacity float64) color.NRGBA {
	c.A = uint8(math.Round(255 * opacity))
	return c
}
