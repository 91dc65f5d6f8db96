package scene

import "math"

// rgb is linear light; 1 is what a perfectly white wall sends back.
type rgb struct{ r, g, b float64 }

func (c rgb) mul(s float64) rgb   { return rgb{c.r * s, c.g * s, c.b * s} }
func (c rgb) times(d rgb) rgb     { return rgb{c.r * d.r, c.g * d.g, c.b * d.b} }
func (c rgb) add(d rgb) rgb       { return rgb{c.r + d.r, c.g + d.g, c.b + d.b} }
func mix(c, d rgb, s float64) rgb { return c.mul(1 - s).add(d.mul(s)) }
func grey(v float64) rgb          { return rgb{v, v, v} }

// paint turns 0xRRGGBB in sRGB into linear light.
func paint(hex uint32) rgb {
	return rgb{linear(float64(hex >> 16 & 255)), linear(float64(hex >> 8 & 255)), linear(float64(hex & 255))}
}

// linear is the inverse of the sRGB curve for an 8-bit value (IEC 61966-2-1).
func linear(v float64) float64 {
	v /= 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// curved is the sRGB curve, 0 to 1.
func curved(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}

// encodeSteps is fine enough that the darkest 8-bit steps keep their place: the
// sRGB curve's steepest slope is 12.92 * 255 / 65535, a twentieth of a step.
const encodeSteps = 65535

var encoded = func() (table [encodeSteps + 1]uint8) {
	for i := range table {
		table[i] = uint8(math.Round(255 * curved(float64(i)/encodeSteps)))
	}
	return table
}()

// encode rounds linear light to an 8-bit sRGB value.
func encode(v float32) uint8 {
	if !(v > 0) {
		return 0
	}
	if v >= 1 {
		return 255
	}
	return encoded[int(v*encodeSteps+0.5)]
}
