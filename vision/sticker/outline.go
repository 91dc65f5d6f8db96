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

// distance returns how far outside the streaked outline a place is, px, negative within; and how
// far outside the part that the sticker covered all the time. Both are exact for a circle, and
// within a few per cent near the rim of an ellipse.
func (o *outline) distance(x, y, radius float64) (out, core float64) {
	dx, dy := x-o.at.X, y-o.at.Y
	along := dx*o.way.X + dy*o.way.Y
	half := o.long / 2
	near := math.Max(-half, math.Min(along, half))
	far := half
	if along > 0 {
		far = -half
	}
	return (o.rho(dx-near*o.way.X, dy-near*o.way.Y) - 1) * radius, (o.rho(dx-far*o.way.X, dy-far*o.way.Y) - 1) * radius
}

func (o *outline) rho(dx, dy float64) float64 {
	ex, ey := o.b[0]*dx+o.b[1]*dy, o.b[1]*dx+o.b[2]*dy
	return math.Sqrt(ex*ex + ey*ey)
}

// the derivatives that a slope holds: of a pixel's share by the centre (1/px), by the three
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

type slope [shapeCount]float64

// shaper evaluates an outline pixel by pixel.
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

// share returns the share of the sticker's light in the pixel at (x, y), and its derivatives.
func (s *shaper) share(x, y float64, d *slope) (m float64) {
	*d = slope{}
	dx0, dy0 := x-s.at.X, y-s.at.Y
	b0, b1, b2 := s.b[0], s.b[1], s.b[2]
	perScale := 1 / s.scale
	for _, n := range s.nodes {
		step := n.off * s.long
		dx, dy := dx0-step*s.way.X, dy0-step*s.way.Y
		ex, ey := b0*dx+b1*dy, b1*dx+b2*dy
		rho := math.Sqrt(ex*ex + ey*ey)
		if rho < 1e-6 {
			m += n.weight
			continue
		}
		inv := 1 / rho
		nx, ny := ex*inv, ey*inv
		gx, gy := b0*nx+b1*ny, b1*nx+b2*ny
		perG := 1 / (math.Sqrt(gx*gx+gy*gy) * s.wide)
		t := (1 - rho) * perG
		if t >= s.reach {
			m += n.weight
			continue
		}
		if t <= -s.reach {
			continue
		}
		var cdf, pdf, moment float64
		if s.half == 0 {
			cdf, pdf = normal(t)
			moment = pdf * t
			// the blur is a part of the width only
			moment *= (s.blur / s.wide) * (s.blur / s.wide)
		} else {
			c1, p1 := normal(t - s.half)
			c2, p2 := normal(t + s.half)
			cdf, pdf = (c1+c2)/2, (p1+p2)/2
			moment = (p1*(t-s.half) + p2*(t+s.half)) / 2
		}
		m += n.weight * cdf
		k := n.weight * pdf * perG
		cx, cy := k*gx, k*gy
		d[byX] += cx
		d[byY] += cy
		kb := k * perScale
		d[byB11] -= kb * nx * dx
		d[byB12] -= kb * (nx*dy + ny*dx)
		d[byB22] -= kb * ny * dy
		d[byBlur] -= n.weight * moment
		d[byLong] += n.off * (cx*s.way.X + cy*s.way.Y)
	}
	return m
}

// normalSteps is the table's steps per unit: linear interpolation then errs by under 1e-5.
const normalSteps = 128

var normalTable = func() (t [821][2]float64) {
	for i := range t {
		x := float64(i)/normalSteps - reach
		t[i] = [2]float64{0.5 * math.Erfc(-x/math.Sqrt2), math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)}
	}
	return t
}()

// normal returns the normal distribution function and its density.
func normal(t float64) (cdf, pdf float64) {
	f := (t + reach) * normalSteps
	if f <= 0 {
		return 0, 0
	}
	if f >= 2*reach*normalSteps {
		return 1, 0
	}
	i := int(f)
	f -= float64(i)
	a, b := &normalTable[i], &normalTable[i+1]
	return a[0] + f*(b[0]-a[0]), a[1] + f*(b[1]-a[1])
}
