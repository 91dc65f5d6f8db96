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

func (c Colour) light() [3]float64 {
	return [3]float64{float64(linear[c.R]), float64(linear[c.G]), float64(linear[c.B])}
}

// shown is the colour of light.
func shown(light [3]float64) Colour {
	code := func(v float64) uint8 {
		if v <= 0.0031308 {
			v = 12.92 * max(v, 0)
		} else {
			v = 1.055*math.Pow(min(v, 1), 1/2.4) - 0.055
		}
		return uint8(math.Round(255 * v))
	}
	return Colour{code(light[0]), code(light[1]), code(light[2])}
}

// hue is the chromaticity of light, CIE 1976 u' and v', and its luminance. Chromaticity stays as
// it is when light gets brighter or dimmer; luminance does not.
type hue struct{ u, v, y float32 }

// veil is white light added to every pixel, so that the chromaticity of what is nearly black,
// which is mere noise, comes out grey.
const veil = 0.01

func hueOf(r, g, b float32) hue {
	// IEC 61966-2-1 to CIE XYZ
	x := 0.4124*r + 0.3576*g + 0.1805*b + veil*0.9505
	y := 0.2126*r + 0.7152*g + 0.0722*b + veil
	z := 0.0193*r + 0.1192*g + 0.9505*b + veil*1.089
	k := 1 / (x + 15*y + 3*z)
	return hue{4 * x * k, 9 * y * k, y}
}

func hueOfLight(c [3]float64) hue { return hueOf(float32(c[0]), float32(c[1]), float32(c[2])) }

// from is the distance of two chromaticities.
func (h hue) from(o hue) float64 { return math.Hypot(float64(h.u-o.u), float64(h.v-o.v)) }

// target is the colour that is looked for.
type target struct {
	hue
	near   float32 // distance of chromaticity that counts as one standard deviation
	bright float32 // the same of the logarithm of luminance
}
