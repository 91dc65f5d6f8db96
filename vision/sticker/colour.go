package sticker

import (
	"fmt"
	"math"
	"strconv"
)

// Colour is a colour as a screen shows it, sRGB.
type Colour struct{ R, G, B uint8 }

// String is the colour as #rrggbb.
func (c Colour) String() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// ParseColour reads #rrggbb.
func ParseColour(s string) (Colour, error) {
	if len(s) == 7 && s[0] == '#' {
		if v, err := strconv.ParseUint(s[1:], 16, 32); err == nil {
			return Colour{uint8(v >> 16), uint8(v >> 8), uint8(v)}, nil
		}
	}
	return Colour{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%q is not a colour", s), hint: "give it as #rrggbb, such as #28dc28"}
}

// code is the colour as coded, 0 to 255.
func (c Colour) code() vec { return vec{float64(c.R), float64(c.G), float64(c.B)} }

// rounded is the nearest Colour.
func rounded(c vec) Colour {
	r := func(v float64) uint8 { return uint8(math.Round(math.Min(math.Max(v, 0), 255))) }
	return Colour{r(c.r), r(c.g), r(c.b)}
}
