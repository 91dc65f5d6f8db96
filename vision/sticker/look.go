package sticker

import (
	"math"
)

// look is what a sticker looks like: its colour against what lies around it, and its shape.
type look struct {
	target
	first  hue        // its chromaticity when it was pointed at
	light  [3]float64 // linear, where 1 is a white wall
	around [3]float64
	shade  shading
	shape  outline
}

// A sticker differs from what lies around it by this much, in chromaticity (CIE 1976) or in the
// logarithm of luminance. The first is about three times the least difference that is seen side
// by side.
const (
	leastHue    = 0.012
	leastBright = 0.4
)

// newLook is the look of what was fitted; false where it does not differ from what lies around it.
func newLook(r *result) (look, bool) {
	l := look{light: r.inside, around: r.around, shape: r.outline}
	l.shape.long = 0
	l.hue = hueOfLight(r.inside)
	l.first = l.hue
	ok := l.tolerate()
	return l, ok
}

// tolerate sets how far a pixel may be from the colour: well short of what lies around.
func (l *look) tolerate() bool {
	ring := hueOfLight(l.around)
	apart, brighter := l.from(ring), math.Abs(math.Log(float64(l.y/ring.y)))
	l.near = float32(math.Min(math.Max(0.2*apart, 0.008), 0.022))
	l.bright = float32(math.Min(0.35, math.Max(0.12, 0.3*brighter)))
	if apart > 4*leastHue {
		l.bright = 0.35
	}
	return apart >= leastHue || brighter >= leastBright
}

// belief is what the look says of the shape before the next picture is looked at. A sticker turns
// and comes nearer slowly.
func (l *look) belief(shape float64) *belief {
	return &belief{outline: l.shape, shape: shape, blurRange: 0.25, longRange: 0.2, light: l.light, known: true, shade: l.shade, alike: &l.target}
}

// How a sticker is judged: standard deviations of what differs from one picture to the next, and
// the limits beyond which it is not the sticker.
const (
	sizeSD     = 0.12 // of the logarithm of the radius
	shareLeast = 0.5  // of the rim
	misfitMost = 0.22 // of the sticker's contrast
	judgeMost  = 3.2  // standard deviations of colour or of size
	contrastSD = 0.2  // of what is known of its contrast
	vague      = 0.15 // standard deviation of the centre, in radii, from which on no rim is seen
)

// judge says how unlike the sticker a fitted outline is, as a sum of squares, and whether it can
// be it.
func (l *look) judge(r *result) (cost float64, ok bool) {
	var far, dim float64
	if r.core {
		h := hueOfLight(r.inside)
		far = h.from(l.hue) / float64(l.near)
		dim = math.Log(float64(h.y/l.y)) / float64(l.bright)
	} else { // no pixel shows the sticker alone: its contrast was known, and must be there
		dim = (r.contrast - 1) / contrastSD
	}
	size := math.Log(r.radius()/l.shape.radius()) / sizeSD
	long, short := r.axes()
	ok = far < judgeMost && math.Abs(dim) < judgeMost && math.Abs(size) < judgeMost && r.likely() && short > 0.25*long && math.Max(r.cov[0][0], r.cov[1][1]) < vague*vague*r.radius()*r.radius()
	hidden := (1 - r.share*(1-r.blind)) / 0.25
	rough := r.misfit / 0.08
	return far*far + dim*dim + size*size + hidden*hidden + rough*rough, ok
}

// likely reports whether the rim is that of a sticker.
func (r *result) likely() bool {
	return r.share >= shareLeast && r.misfit <= misfitMost && r.blur < 0.6*r.radius()+0.8
}

const (
	colourMemory = 0.08 // s in which a colour follows the light
	shapeMemory  = 0.05 // s in which the shape follows
	wanders      = 0.12 // farthest that chromaticity may wander from where it began
)

// learn lets the look follow a mark that is seen whole.
func (l *look) learn(r *result, dt float64) {
	if r.share < 0.8 {
		return
	}
	k := 1 - math.Exp(-dt/shapeMemory)
	for i := range l.shape.b {
		l.shape.b[i] += k * (r.b[i] - l.shape.b[i])
	}
	l.shape.blur *= math.Pow(r.blur/l.shape.blur, k)
	if r.shaded && r.long < r.radius() {
		l.shade.see(r.shade, dt)
	}
	if !r.core {
		return
	}
	k = 1 - math.Exp(-dt/colourMemory)
	for i := range l.light {
		l.light[i] += k * (r.inside[i] - l.light[i])
		l.around[i] += k * (r.around[i] - l.around[i])
	}
	h := hueOfLight(l.light)
	if d := h.from(l.first); d > wanders {
		h.u = l.first.u + (h.u-l.first.u)*float32(wanders/d)
		h.v = l.first.v + (h.v-l.first.v)*float32(wanders/d)
	}
	l.hue = h
	l.tolerate()
}
