package sticker

import (
	"math"

	"ecart/vision/take"
)

// What is kept of a picture until it is followed backwards is what may be a sticker. Its colour will
// not be just what it was in the frame of its seed.
const (
	keptHue    = 0.6  // of the way to the colour about it, in chromaticity,
	keptNear   = 0.07 // but at least this,
	keptFar    = 0.12 // and at most this
	keptBright = 1.8  // of the logarithm of luminance: six times as bright, or a sixth
)

// colours are those that the stickers may have anywhere in the clip.
func (j *job) colours() *take.Colours {
	type zone struct {
		hue
		far float64
	}
	var zones []zone
	of := &take.Colours{Least: math.MaxInt}
	for i := range j.begin {
		l := &j.begin[i].look
		far := keptHue * l.from(hueOfLight(l.around))
		zones = append(zones, zone{l.hue, math.Min(math.Max(far, keptNear), keptFar)})
		r := l.shape.radius()
		of.Margin = max(of.Margin, int(r/2+2*l.shape.blur)+16)
		of.Least = min(of.Least, int(1.4*r)) // it may get smaller by a third
	}
	of.Like = func(r, g, b uint8) bool {
		h := hueOf(linear[r], linear[g], linear[b])
		for i := range zones {
			if z := &zones[i]; h.from(z.hue) < z.far && math.Abs(math.Log(float64(h.y/z.y))) < keptBright {
				return true
			}
		}
		return false
	}
	return of
}
