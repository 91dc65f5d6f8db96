package scene

import (
	"math"
)

// rgb is linear light; 1 is the light that a perfectly white wall reflects.
type rgb struct{ r, g, b float64 }

func (c rgb) mul(s float64) rgb   { return rgb{c.r * s, c.g * s, c.b * s} }
func (c rgb) times(d rgb) rgb     { return rgb{c.r * d.r, c.g * d.g, c.b * d.b} }
func (c rgb) add(d rgb) rgb       { return rgb{c.r + d.r, c.g + d.g, c.b + d.b} }
func mix(c, d rgb, s float64) rgb { return c.mul(1 - s).add(d.mul(s)) }
func grey(v float64) rgb          { return rgb{v, v, v} }

// hexToLinear turns 0xRRGGBB in sRGB into linear light.
func hexToLinear(hex uint32) rgb {
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

// srgbCurve is the sRGB curve, 0 to 1.
func srgbCurve(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}

// encodeSteps is the number of steps of the sRGB table. Where the curve is steepest
// one step is 12.92 * 255 / 65535, a twentieth of an 8-bit step.
const encodeSteps = 65535

var encoded = func() (table [encodeSteps + 1]uint8) {
	for i := range table {
		table[i] = uint8(math.Round(255 * srgbCurve(float64(i)/encodeSteps)))
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

// hash is a pseudo-random number in [0, 1), a function of two coordinates.
func hash(x, y float64) float64 {
	h := uint64(int64(x))*0x9e3779b97f4a7c15 ^ uint64(int64(y))*0xc2b2ae3d27d4eb4f
	return float64(scramble(h)>>11) / (1 << 53)
}

// scramble is the output function of SplitMix64 (Steele, Lea and Flood 2014).
func scramble(h uint64) uint64 {
	h ^= h >> 30
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 27
	h *= 0x94d049bb133111eb
	return h ^ h>>31
}

// noise is value noise: a smooth pseudo-random function in [0, 1] with lattice
// points one unit apart.
func noise(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	u, v := x-fx, y-fy
	u, v = u*u*(3-2*u), v*v*(3-2*v)
	a, b := hash(fx, fy), hash(fx+1, fy)
	c, d := hash(fx, fy+1), hash(fx+1, fy+1)
	return (a*(1-u)+b*u)*(1-v) + (c*(1-u)+d*u)*v
}
