package sticker

import (
	"math"

	"ecart/geometry"
)

// thread is a thing that is followed from frame to frame: a sticker, or a rival that looks like one.
type thread struct {
	look      look
	at        geometry.Point
	velocity  geometry.Vec // px a frame
	scale     float64      // px^2, squared scale of the deviation from the expected place that one frame adds
	turnScale float64      // px^2, scale at the moment when its velocity is first known
	radius    float64
	frames    float64   // since it was last seen
	proven    bool      // it was seen in one frame with the sticker, so that it is another thing
	steady    bool      // it was seen in every frame since then
	path      []attempt // its latest places while the sticker is lost, if it may be the sticker
	timesSeen int       // frames in which it was seen; the velocity is known from the second on
}

func newThread(c *candidate) thread {
	r := c.radius()
	return thread{look: newLook(c), at: c.at, scale: r * r, turnScale: r * r, radius: r, timesSeen: 1}
}

// expected returns its place now, frames after the last sight, at constant velocity.
func (t *thread) expected() geometry.Point {
	return geometry.Point{X: t.at.X + t.frames*t.velocity.X, Y: t.at.Y + t.frames*t.velocity.Y}
}

// spread returns the squared scale of the deviation from the expected place, px^2. Random changes of the velocity in every frame add
// up as the cube of the frames.
func (t *thread) spread() float64 {
	if t.timesSeen == 1 { // its velocity is not known
		return t.scale * t.frames * t.frames
	}
	return t.scale * t.frames * t.frames * t.frames
}

// deviation returns the squared distance of a candidate from the expected place, in squared scales.
func (t *thread) deviation(c *candidate) float64 {
	d := c.at.Sub(t.expected())
	return d.Dot(d) / t.spread()
}

// oddsOfPlace returns the log likelihood ratio of a candidate's place: for this thread against something new. picture is the area of the
// picture, px^2, and births the number of new things in a frame. The thread's place has heavy tails (Student's t in the plane with two
// degrees of freedom):
//
//	p(e) = s^2 / (pi (s^2 + e^2)^2)
func (t *thread) oddsOfPlace(c *candidate, picture, births float64) float64 {
	return math.Log(density(t.spread(), c.at.Sub(t.expected()).Norm()) * picture / births)
}

// density is the density of Student's t in the plane with two degrees of freedom and a squared scale s, at distance e.
func density(s, e float64) float64 { return s / (math.Pi * (s + e*e) * (s + e*e)) }

// odds returns the log likelihood ratio of a candidate by place and look: for this thread against something new, of any look (births) or of just
// this look (unseen); -Inf where the candidate looks like another thing.
func (t *thread) odds(c *candidate, picture, births, unseen float64) float64 {
	if t.oddsOfPlace(c, picture, births) < -mostLookOdds {
		return math.Inf(-1)
	}
	look, ok := t.look.odds(c, t.frames)
	if !ok {
		return math.Inf(-1)
	}
	return t.oddsOfPlace(c, picture, births*math.Exp(-look)+unseen)
}

// leastScale is the scale for a sticker at rest, in radii: limbs start and stop.
const leastScale = 0.25

// gone reports whether it was not seen in the previous frame.
func (t *thread) gone() bool { return t.frames > 1.5 }

// see updates the thread with a candidate that is this thing.
func (t *thread) see(c *candidate) {
	e := c.at.Sub(t.expected()).Norm()
	step := c.at.Sub(t.at).Scale(1 / t.frames)
	if t.timesSeen == 1 {
		t.scale = t.turnScale
	} else {
		least := leastScale * t.radius
		was := e * e / (t.frames * t.frames * t.frames)
		weight := math.Max(newWeight, 1/float64(t.timesSeen)) // at first, the plain mean
		t.scale = math.Max(t.scale+weight*(math.Min(was, 9*t.scale)-t.scale), least*least)
	}
	t.velocity = step
	t.at, t.radius, t.frames = c.at, c.radius(), 0
	t.timesSeen++
	t.look.learn(c)
}

// look is the appearance of a sticker so far, and how much it varies. Candidates are compared with it, not with a
// disc, so that a square tag, a ball with a highlight or a ball in a bag can be followed too.
type look struct {
	area      feature // logarithm of the area in px^2
	shape     feature // logarithm of the longer over the shorter half axis
	colour    vec     // mean, in coded values
	colourCov sym     // its covariance
}

// feature is a quantity that drifts slowly: its recent mean, the variance about that, and the least variance (floor).
type feature struct{ mean, variance, floor float64 }

// newWeight is the weight of a new frame in a running mean. If a sticker grows by a tenth a
// frame, faster than in a leap towards the camera, the mean lags by half its size.
const newWeight = 0.15

// newAreaWeight is that of the area. It is smaller, since ground of nearly the sticker's colour merges with it over a few frames. With 0.15 two marks
// of 4,500 on wood of the sticker's colour were 4 px off; with 0.05 a percent fewer marks are seen.
const newAreaWeight = 0.08

// Least standard deviations of features: of the radius half a pixel, from what an encoder does to the rim; of the
// logarithm of the axes' ratio, for a sticker that turns or is blurred by motion.
const (
	rimSD   = 0.5 // px
	shapeSD = 0.35
)

// areaSD returns the least standard deviation of the logarithm of the area for a radius, px; at least a tenth.
func areaSD(radius float64) float64 { return math.Max(2*rimSD/radius, 0.1) }

func newLook(c *candidate) look {
	area := areaSD(c.radius())
	return look{
		area:   feature{math.Log(c.area), area * area, area * area},
		shape:  feature{math.Log(c.long / c.short), shapeSD * shapeSD, shapeSD * shapeSD},
		colour: c.colour,
	}
}

// squaredDistance returns the squared distance of a value from the mean, in variances. The variance grows with the frames since
// the last sight.
func (f *feature) squaredDistance(v, frames float64) float64 {
	d := v - f.mean
	return d * d / f.varianceAfter(frames)
}

func (f *feature) varianceAfter(frames float64) float64 { return f.variance + f.floor*(frames-1)/4 }

// learn updates the mean and the variance with a value of some weight.
func (f *feature) learn(v, weight float64) {
	d := v - f.mean
	f.mean += weight * d
	f.variance = math.Max(f.variance+weight*(d*d-f.variance), f.floor)
}

// lightFrames is the number of frames after which the light on a sticker may differ as much as between two places.
const lightFrames = 10

// covariance returns the covariance of a colour that is measured so many frames after the last. The wider the rim relative to the
// radius, the more of the ground is mixed into the colour.
func (l *look) covariance(c *candidate, frames float64) sym {
	noise := codedNoise * (1 + c.rim/c.radius())
	s := l.colourCov.plus(sym{}, 0, noise*noise)
	// light changes little from one frame to the next; after lightFrames as much as between two places
	s.outer(l.colour, codedLight*codedLight*math.Min(frames/lightFrames, 1))
	return s
}

// mostDeviation is the limit for a single feature, in standard deviations.
const mostDeviation = 4

// mostLookOdds is the largest value of odds: that of a perfect match.
var mostLookOdds = 2*math.Log(2*mostDeviation/math.Sqrt(2*math.Pi)) + math.Log(4*math.Pi/3*mostDeviation*mostDeviation*mostDeviation/math.Pow(2*math.Pi, 1.5))

// odds returns the log likelihood ratio of a candidate's look: for the sticker against another thing that may pass for it. The
// sticker's features have normal distributions, those of the other thing uniform ones: within mostDeviation standard deviations of area and of
// shape, and within the ball of colours with that radius. ok is false where a feature is farther off: it is not the sticker.
func (l *look) odds(c *candidate, frames float64) (odds float64, ok bool) {
	area, shape := l.area.squaredDistance(math.Log(c.area), frames), l.shape.squaredDistance(math.Log(c.long/c.short), frames)
	s := l.covariance(c, frames)
	inv := s.inverse()
	colour := inv.form(c.colour.sub(l.colour))
	return mostLookOdds - (area+shape+colour)/2, math.Max(area, math.Max(shape, colour)) <= mostDeviation*mostDeviation
}

// logRange returns the logarithm of the range of looks with which odds compares a candidate: of the product of the standard deviations of the features,
// up to a constant. The odds of two looks for one candidate are of the same other things only after this is taken into account.
func (l *look) logRange(c *candidate, frames float64) float64 {
	s := l.covariance(c, frames)
	return math.Log(l.area.varianceAfter(frames)*l.shape.varianceAfter(frames)*s.determinant()) / 2
}

// learn updates the look with a candidate that is the sticker.
func (l *look) learn(c *candidate) {
	l.area.learn(math.Log(c.area), newAreaWeight)
	l.shape.learn(math.Log(c.long/c.short), newWeight)
	d := c.colour.sub(l.colour)
	l.colour = l.colour.add(d, newWeight)
	l.colourCov = sym{}.plus(l.colourCov, 1-newWeight, 0)
	l.colourCov.outer(d, newWeight)
}

// centreSD returns the standard deviation of the centre, px, because the area is not that of the whole sticker. The centre of a hidden
// part, or of something of its colour that touches it, is about a radius away. What an encoder does to the rim does
// not count. Where the edge of the picture cuts the sticker, the centre may be up to a radius off.
func (l *look) centreSD(c *candidate) float64 {
	if c.cut {
		return cutSD * math.Sqrt(math.Max(c.area, math.Exp(l.area.mean))/math.Pi)
	}
	off, rim := math.Log(c.area)-l.area.mean, 2*rimSD/c.radius()
	return math.Sqrt(math.Max(math.Max(off*off-rim*rim, l.area.variance-l.area.floor), 0)) * c.radius()
}

// cutSD is the standard uncertainty, in radii, of the centre of a sticker that the picture's edge cuts: the rms of a uniform
// distribution from 0 to 1.
const cutSD = 0.58
