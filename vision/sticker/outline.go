package sticker

import (
	"math"

	"ecart/geometry"
)

// outline is the shape that a sticker shows in a picture: an ellipse whose rim is blurred, drawn
// out along a streak where the sticker moved while the shutter was open.
//
// A place d away from the centre lies on the rim where |B d| = 1, with B symmetric. At the
// distance t inside the rim, along its normal, the share of the sticker's light is Phi(t/blur):
// a sharp edge seen through a lens and an encoder, each of which adds its variance; a pixel's
// square then takes the mean. The streak is the mean of that over a segment centred on the
// middle of the exposure.
type outline struct {
	at   geometry.Point // centre at mid-exposure, px
	b    [3]float64     // B11, B12, B22, 1/px
	blur float64        // px
	way  geometry.Vec   // unit direction of the streak
	long float64        // length of the streak, px
}

// circle is a round outline.
func circle(at geometry.Point, radius, blur float64) outline {
	return outline{at: at, b: [3]float64{1 / radius, 0, 1 / radius}, blur: blur, way: geometry.Vec{X: 1}}
}

// radius is that of the circle with the same area, without the streak.
func (o *outline) radius() float64 { return 1 / math.Sqrt(math.Abs(o.b[0]*o.b[2]-o.b[1]*o.b[1])) }

// axes returns the longer and the shorter half axis.
func (o *outline) axes() (long, short float64) {
	mean, half := (o.b[0]+o.b[2])/2, math.Hypot((o.b[0]-o.b[2])/2, o.b[1])
	return 1 / (mean - half), 1 / (mean + half)
}

// form is the shape in three numbers that do not depend on the place: the mean of B's two
// diagonal entries, half their difference, and the other entry, in units of 1/scale.
func (o *outline) form(scale float64) [3]float64 {
	return [3]float64{(o.b[0] + o.b[2]) / 2 * scale, (o.b[0] - o.b[2]) / 2 * scale, o.b[1] * scale}
}

// sound reports whether the outline is one at all.
func (o *outline) sound() bool {
	det := o.b[0]*o.b[2] - o.b[1]*o.b[1]
	sum := o.at.X + o.at.Y + o.b[0] + o.b[1] + o.b[2] + o.blur + o.long
	return o.b[0] > 0 && o.b[2] > 0 && det > 0 && o.blur > 0 && !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// the derivatives that the columns of slopes hold: of a pixel's share by the centre (1/px), by the three
// entries of B in units of 1/scale, by the logarithm of the blur, and by the streak's length
const (
	byX = iota
	byY
	byB11
	byB12
	byB22
	byBlur
	byLong
	shapeCount
)

// shaper is an outline with what it takes to evaluate it, pixel by pixel, in rim.h.
type shaper struct {
	outline
	scale  float64 // what the entries of B are counted in, px
	nodes  []node
	buffer [maxNodes]node
	wide   float64 // the blur, with a pixel's square in it where that may be
	half   float64 // otherwise where the square is sampled, in blurs
	reach  float64 // blurs beyond which a pixel is wholly in or out
}

// node is one place on the streak, in streak lengths from its middle, with its weight.
type node struct{ off, weight float64 }

// gauss are the nodes of Gauss and Legendre on (-1/2, 1/2), by their number less one. Two of
// them give a streak up to three blurs long its variance exactly.
var gauss = [...][]node{
	{{0, 1}},
	{{-0.288675134594813, 0.5}, {0.288675134594813, 0.5}},
	{{-0.387298334620742, 0.277777777777778}, {0, 0.444444444444444}, {0.387298334620742, 0.277777777777778}},
	{{-0.430568155797026, 0.173927422568727}, {-0.169990521792428, 0.326072577431273}, {0.169990521792428, 0.326072577431273}, {0.430568155797026, 0.173927422568727}},
}

const (
	maxNodes = 16  // bounds the work on a long streak
	between  = 1.6 // blurs between the nodes of a long streak, whose ripple is then a thousandth

	// halfPixel is where a pixel's square is sampled to either side of its middle, along the
	// rim's normal: Gauss's two nodes, which give its variance of 1/12 exactly.
	halfPixel = 0.288675134594813

	// broad is the blur from which on the square only adds its variance, px.
	broad = 0.75

	// leastBlur is that of a picture sharper than its pixels.
	leastBlur = 0.12

	// reach is where the normal distribution counts as ended.
	reach = 3.2
)

func (s *shaper) set(o outline) {
	s.outline = o
	s.wide, s.half, s.reach = o.blur, halfPixel/o.blur, reach+halfPixel/o.blur
	if o.blur >= broad {
		s.wide, s.half, s.reach = math.Sqrt(o.blur*o.blur+halfPixel*halfPixel), 0, reach
	}
	ratio := o.long / o.blur
	switch {
	case ratio < 0.3:
		s.nodes = gauss[0]
	case ratio < 2.5:
		s.nodes = gauss[1]
	case ratio < 4.5:
		s.nodes = gauss[2]
	case ratio < 6.5:
		s.nodes = gauss[3]
	default: // the trapezoid of a long streak: evenly spread
		n := min(maxNodes, int(math.Ceil(ratio/between)))
		s.nodes = s.buffer[:n]
		for i := range s.nodes {
			s.nodes[i] = node{(float64(i)+0.5)/float64(n) - 0.5, 1 / float64(n)}
		}
	}
}

// band is how far from the rim a pixel may hold a share between all and nothing, px.
func (s *shaper) band() float64 { return s.reach * s.wide }
