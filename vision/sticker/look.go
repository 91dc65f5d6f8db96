package sticker

import "math"

// look is what a sticker has shown so far, and how much that varies: what is found is compared with it, and
// not with a disc. A tag, a ball with a gleam, a ball in a bag are each as they are.
type look struct {
	area  feature // logarithm of the area in px^2
	shape feature // logarithm of the longer over the shorter half axis
	hue   vec     // colour as coded
	vary  sym     // its covariance
}

// feature is a quantity that drifts slowly: its mean of late, and the variance about that.
type feature struct{ mean, variance, floor float64 }

// memory is the weight of a new frame against what was known. A sticker that comes nearer by a tenth a
// frame, faster than a leap brings it, is followed with a lag of half its size.
const memory = 0.15

// areaMemory is that of the area, which is remembered for longer, since a ground of nearly its colour grows onto a sticker over a few frames. With 0.15 two marks
// of 4,500 on wood of the sticker's colour were 4 px off; with 0.05 a percent less is seen.
const areaMemory = 0.08

// The least that features are taken to vary by, as standard deviations: the area by what an encoder
// makes of the rim, half a pixel on the radius; the shape by a sticker that turns and a streak.
const (
	rimVaries   = 0.5 // px
	shapeVaries = 0.35
)

// areaVaries is the standard deviation of the logarithm of the area of a thing of some radius, a tenth at least.
func areaVaries(radius float64) float64 { return math.Max(2*rimVaries/radius, 0.1) }

func newLook(c *candidate) look {
	area := areaVaries(c.radius())
	return look{
		area:  feature{math.Log(c.area), area * area, area * area},
		shape: feature{math.Log(c.long / c.short), shapeVaries * shapeVaries, shapeVaries * shapeVaries},
		hue:   c.colour,
	}
}

// squared is the squared distance of a value, in variances that grow with the frames since it was seen.
func (f *feature) squared(v, frames float64) float64 {
	d := v - f.mean
	return d * d / (f.variance + f.floor*(frames-1)/4)
}

// learn takes in a value with a weight against what was known.
func (f *feature) learn(v, memory float64) {
	d := v - f.mean
	f.mean += memory * d
	f.variance = math.Max(f.variance+memory*(d*d-f.variance), f.floor)
}

// lightApart is after how many frames the light on a sticker differs as between places.
const lightApart = 10

// covariance is that of a colour that is measured, so many frames after the last. The wider the rim against the
// radius, the more of the ground is mixed into it.
func (l *look) covariance(c *candidate, frames float64) sym {
	noise := codedNoise * (1 + c.rim/c.radius())
	s := l.vary.plus(sym{}, 0, noise*noise)
	// light changes little from one frame to the next, and as between places in the end
	s.outer(l.hue, codedLight*codedLight*math.Min(frames/lightApart, 1))
	return s
}

// mostUnlike is how many standard deviations a single feature may be off.
const mostUnlike = 4

// mostLook is the largest that odds can be.
var mostLook = 2*math.Log(2*mostUnlike/math.Sqrt(2*math.Pi)) + math.Log(4*math.Pi/3*mostUnlike*mostUnlike*mostUnlike/math.Pow(2*math.Pi, 1.5))

// odds is the logarithm of how much likelier the sticker shows what was found than something else that may pass for it:
// its features scatter normally, and those of the other evenly, over the 2 mostUnlike of area and shape and the ball of colours with
// that radius.  ok is false where it is not the sticker.
func (l *look) odds(c *candidate, frames float64) (odds float64, ok bool) {
	area, shape := l.area.squared(math.Log(c.area), frames), l.shape.squared(math.Log(c.long/c.short), frames)
	s := l.covariance(c, frames)
	inv := s.inverse()
	hue := inv.form(c.colour.sub(l.hue))
	return mostLook - (area+shape+hue)/2, math.Max(area, math.Max(shape, hue)) <= mostUnlike*mostUnlike
}

// learn takes in what the sticker shows.
func (l *look) learn(c *candidate) {
	l.area.learn(math.Log(c.area), areaMemory)
	l.shape.learn(math.Log(c.long/c.short), memory)
	d := c.colour.sub(l.hue)
	l.hue = l.hue.add(d, memory)
	l.vary = sym{}.plus(l.vary, 1-memory, 0)
	l.vary.outer(d, memory)
}

// missing is how far the centre may be off because the area is not that of the whole sticker: a part that is
// hidden, or something of the like joined to it, has its own centre about a radius away; what an encoder makes of the rim does
// not count. Where the picture ends within the sticker the centre may be anywhere up to a radius off.
func (l *look) missing(c *candidate) float64 {
	if c.cut {
		return cutOff * math.Sqrt(math.Max(c.area, math.Exp(l.area.mean))/math.Pi)
	}
	off, rim := math.Log(c.area)-l.area.mean, 2*rimVaries/c.radius()
	return math.Sqrt(math.Max(math.Max(off*off-rim*rim, l.area.variance-l.area.floor), 0)) * c.radius()
}

// cutOff is the standard uncertainty of a centre that is cut off, in radii: between 0 and 1, evenly, from 0.
const cutOff = 0.58
