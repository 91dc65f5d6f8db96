package sticker

// A sticker is flat and of one colour: a lamp five metres away gives a place 25 mm nearer one part in
// a hundred more light. But one that goes round an ankle is bent, and lit from one side: over a radius
// its light may change by a third, and a fit that takes it for even comes out beside its middle.
// One picture hardly tells a slope of light from a centre that is a little off, and what an encoder
// smears over a sticker looks like a slope: it is learned from the pixels that show the sticker alone,
// picture after picture.

// shading is how much a sticker's light grows over a radius to the right and down, as a part of it.
type shading struct {
	slope    [2]float64
	variance float64 // of each; 0 before anything was seen
}

// What was seen of flat stickers in the scenes of make cover-follow, seeds 1 and 2: a picture's slope
// is off by 0.05 to 0.1, and by about as much in the next few; those learned, by up to 0.05.
const (
	even        = 0.01 // how far a slope may be from what is taken for granted
	shadeFirst  = 0.15 // and from none, before anything is seen
	shadeSeen   = 0.2  // from that which a picture shows, where many in a row err alike
	shadeTurns  = 0.04 // by how much it changes, as the sticker turns in the light, in a second's root
	shadeFeign  = 0.06 // slopes of this size are seen where there are none
	shadePixels = 16   // that tell it, at least
	shadeKnown  = 0.3  // of what light and dark are apart on the axis, so that it tells them
)

// usual is the slope that is taken for granted: what was learned, as far as it is no mere semblance.
func (s *shading) usual() (slope [2]float64) {
	k := 1 - shadeFeign*shadeFeign/(s.slope[0]*s.slope[0]+s.slope[1]*s.slope[1])
	if !(k > 0) {
		return slope
	}
	return [2]float64{k * s.slope[0], k * s.slope[1]}
}

// see takes in what a picture shows, dt seconds after the last one.
func (s *shading) see(slope [2]float64, dt float64) {
	if s.variance == 0 {
		s.variance = shadeFirst * shadeFirst
	}
	s.variance += shadeTurns * shadeTurns * dt
	gain := s.variance / (s.variance + shadeSeen*shadeSeen)
	for k := range s.slope {
		s.slope[k] += gain * (slope[k] - s.slope[k])
	}
	s.variance *= 1 - gain
}

// shade returns how the light changes over the pixels that show the sticker alone: a plane through
// them by least squares; false where they do not tell.
func (t *fitter) shade() (slope [2]float64, ok bool) {
	p := &t.pixels
	share, place, keep := p.column(columnShare), p.column(columnPlace), p.column(columnKeep)
	x, y := p.column(columnX), p.column(columnY)
	var n, sx, sy, sf, xx, xy, yy, xf, yf float64
	for i, m := range share {
		if m < flatIn {
			continue
		}
		w, u, v, f := float64(keep[i]), float64(x[i])/t.scale, float64(y[i])/t.scale, float64(place[i])
		n += w
		sx += w * u
		sy += w * v
		sf += w * f
		xx += w * u * u
		xy += w * u * v
		yy += w * v * v
		xf += w * u * f
		yf += w * v * f
	}
	grows := t.ax.grows()
	if n < shadePixels || grows < shadeKnown {
		return slope, false
	}
	xx, xy, yy, xf, yf = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n, xf-sx*sf/n, yf-sy*sf/n
	det := (xx*yy - xy*xy) * grows
	if !(det > 0) {
		return slope, false
	}
	return [2]float64{(yy*xf - xy*yf) / det, (xx*yf - xy*xf) / det}, true
}
