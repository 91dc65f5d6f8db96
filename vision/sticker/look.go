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

// The least that features are taken to vary by, as standard deviations: the area by what an encoder
// makes of the rim, half a pixel on a radius of ten; the shape by a sticker that turns and a streak.
const (
	areaVaries  = 0.1
	shapeVaries = 0.35
)

func newLook(c *candidate) look {
	l := look{
		area:  feature{math.Log(c.area), areaVaries * areaVaries, areaVaries * areaVaries},
		shape: feature{math.Log(c.long / c.short), shapeVaries * shapeVaries, shapeVaries * shapeVaries},
		hue:   c.colour,
	}
	if c.cut { // how large it is, and of what shape, is not known
		l.area.variance, l.shape.variance = math.Ln2*math.Ln2, math.Ln2*math.Ln2
	}
	return l
}

// squared is the squared distance of a value, in variances that grow with the frames since it was seen.
func (f *feature) squared(v, frames float64) float64 {
	d := v - f.mean
	return d * d / (f.variance + f.floor*(frames-1)/4)
}

func (f *feature) learn(v float64) {
	d := v - f.mean
	f.mean += memory * d
	f.variance = math.Max(f.variance+memory*(d*d-f.variance), f.floor)
}

func (l *look) inverse(frames float64) sym {
	s := l.vary.plus(sym{}, 0, codedNoise*codedNoise)
	// light changes little from one frame to the next, and as between places in the end
	s.outer(l.hue, codedLight*codedLight*math.Min(frames/10, 1))
	return s.inverse()
}

// mostUnlike is how many standard deviations a single feature may be off.
const mostUnlike = 4

// odds is the logarithm of how much likelier the sticker shows what was found than something else that has its
// ink: the sticker as its features scatter; something else with any area within a factor of four either way, any
// colour of the ink, and any shape up to three to one. ok is false where it is not the sticker.
func (l *look) odds(c *candidate, frames float64) (odds float64, ok bool) {
	area, shape := l.area.squared(math.Log(c.area), frames), l.shape.squared(math.Log(c.long/c.short), frames)
	inv := l.inverse(frames)
	hue := inv.form(c.colour.sub(l.hue))
	if math.Max(area, math.Max(shape, hue)) > mostUnlike*mostUnlike {
		return 0, false
	}
	const tau = 2 * math.Pi
	odds = math.Log(2*math.Log(4)/math.Sqrt(tau*l.area.variance)) - area/2
	odds += math.Log(math.Log(3)/math.Sqrt(tau*l.shape.variance)) - shape/2
	odds += math.Log(2*tau/3*farthest*farthest*farthest/math.Pow(tau, 1.5)) - hue/2
	return odds, true
}

// learn takes in what the sticker shows.
func (l *look) learn(c *candidate) {
	l.area.learn(math.Log(c.area))
	l.shape.learn(math.Log(c.long / c.short))
	d := c.colour.sub(l.hue)
	l.hue = l.hue.add(d, memory)
	l.vary = sym{}.plus(l.vary, 1-memory, 0)
	l.vary.outer(d, memory)
}

// missing is how far the centre may be off because the area is not that of the whole sticker: a part that is
// hidden, or something of the like joined to it, has its own centre about a radius away. Where the picture ends within
// the sticker the centre may be anywhere up to a radius off.
func (l *look) missing(c *candidate) float64 {
	if c.cut {
		return cutOff * math.Sqrt(math.Max(c.area, math.Exp(l.area.mean))/math.Pi)
	}
	off := math.Abs(math.Log(c.area)-l.area.mean) - 2*math.Sqrt(l.area.variance)
	return math.Max(off, 0) * c.radius()
}

// cutOff is the standard uncertainty of a centre that is cut off, in radii: between 0 and 1, evenly, from 0.
const cutOff = 0.58
