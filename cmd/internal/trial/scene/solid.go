package scene

import "math"

// solid is the convex hull of two spheres on one axis (a tapered capsule; a
// sphere where the axis has no length), stretched along one direction across
// that axis.
type solid struct {
	a, b   Vec     // ends of the axis in the world
	to     mat     // world to local: axis along y, a at the origin, circular sections
	h      float64 // length of the axis
	ra, rb float64 // radii at a and b, in local lengths
	sin    float64 // of the taper
	cos    float64
	bound  float64 // radius about the middle of the axis that holds the solid
	girth  float64 // mean of stretched and unstretched radius over the unstretched one
	stuff  stuff
	part   part
	owner  int8 // which figure of the scene
}

// part says to what of the body a solid belongs; neighbours blend.
type part uint8

const (
	partTrunk part = iota
	partHead
	partHair
	partArm // + side
	_
	partLeg // + side
	_
	partFoot // + side
	_
	partHand // + side
	_
	partProp
)

// newSolid makes a solid with radii ra at a and rb at b, wide times as wide
// along the direction across.
func newSolid(a, b Vec, ra, rb float64, wide float64, along Vec, p part, s stuff) solid {
	axis := b.Sub(a)
	h := axis.Norm()
	y := axis.Unit()
	if h < math.Abs(ra-rb)+1e-9 { // one sphere holds the other
		if ra < rb {
			a, ra = b, rb
		}
		b, rb, h = a, ra, 0
		y = Vec{Y: 1}
		if math.Abs(along.Y) > 0.9 {
			y = Vec{X: 1}
		}
	}
	z := across(y, along)
	x := y.Cross(z)
	o := solid{
		a: a, b: b, h: h, ra: ra, rb: rb, cos: 1,
		to: mat{x, y, z.Mul(1 / wide)}, stuff: s, part: p,
		bound: h/2 + max(ra, rb)*max(1, wide), girth: (1 + wide) / 2,
	}
	if h > 0 {
		o.sin = (ra - rb) / h
		o.cos = math.Sqrt(1 - o.sin*o.sin)
	}
	return o
}

// ellipsoid makes an ellipsoid with half-axes along three perpendicular unit
// directions.
func ellipsoid(at, x, y, z Vec, rx, ry, rz float64, p part, s stuff) solid {
	big := max(rx, ry, rz)
	return solid{
		a: at, b: at, ra: 1, rb: 1, cos: 1,
		to: mat{x.Mul(1 / rx), y.Mul(1 / ry), z.Mul(1 / rz)}, stuff: s, part: p,
		bound: big, girth: (rx + ry + rz) / 3,
	}
}

// radius is the mean radius at the share s along the axis, in the world.
func (o *solid) radius(s float64) float64 { return (o.ra + (o.rb-o.ra)*s) * o.girth }

// hit is where a ray enters a solid: its parameter and the local normal.
func (o *solid) hit(from, dir Vec) (t float64, normal Vec, ok bool) {
	// a quick miss: the bounding sphere
	mid := Vec{(o.a.X + o.b.X) / 2, (o.a.Y + o.b.Y) / 2, (o.a.Z + o.b.Z) / 2}.Sub(from)
	along := mid.Dot(dir)
	if mid.Dot(mid)-along*along > o.bound*o.bound {
		return 0, Vec{}, false
	}
	p, d := o.to.mul(from.Sub(o.a)), o.to.mul(dir)
	if o.h > 0 {
		// the cone between: cos rho = ra - y sin, where rho is the distance to the axis
		c2 := o.cos * o.cos
		w, wd := o.ra-p.Y*o.sin, -d.Y*o.sin
		qa := c2*(d.X*d.X+d.Z*d.Z) - wd*wd
		qb := c2*(p.X*d.X+p.Z*d.Z) - w*wd
		qc := c2*(p.X*p.X+p.Z*p.Z) - w*w
		if disc := qb*qb - qa*qc; disc >= 0 && qa != 0 {
			root := math.Sqrt(disc)
			t1, t2 := (-qb-root)/qa, (-qb+root)/qa
			if t1 > t2 {
				t1, t2 = t2, t1
			}
			for _, t := range [2]float64{t1, t2} {
				y := p.Y + t*d.Y
				if t > 0 && y >= o.ra*o.sin && y <= o.h+o.rb*o.sin {
					x, z := p.X+t*d.X, p.Z+t*d.Z
					rho := math.Sqrt(x*x + z*z)
					n := Vec{x / rho * o.cos, o.sin, z / rho * o.cos}
					if n.Dot(d) < 0 { // the way in, not the way out
						return t, n, true
					}
				}
			}
		}
	}
	dd := d.Dot(d)
	t = math.Inf(1)
	if s, n, hit := ball(p, d, dd, o.ra); hit {
		t, normal, ok = s, n, true
	}
	if o.h > 0 {
		p.Y -= o.h
		if s, n, hit := ball(p, d, dd, o.rb); hit && s < t {
			t, normal, ok = s, n, true
		}
	}
	return t, normal, ok
}

func ball(p, d Vec, dd, r float64) (float64, Vec, bool) {
	b := p.Dot(d)
	disc := b*b - dd*(p.Dot(p)-r*r)
	if disc < 0 {
		return 0, Vec{}, false
	}
	t := (-b - math.Sqrt(disc)) / dd
	if t <= 0 {
		return 0, Vec{}, false
	}
	return t, p.Add(d.Mul(t)).Mul(1 / r), true
}

// away is about how far a point is outside, in metres, and the local normal there.
func (o *solid) away(p Vec) (float64, Vec) {
	q := o.to.mul(p.Sub(o.a))
	rho := math.Sqrt(q.X*q.X + q.Z*q.Z)
	s := q.Y*o.cos - rho*o.sin
	var n Vec
	var d float64
	switch {
	case o.h == 0 || s <= 0:
		l := q.Norm()
		n, d = q.Mul(1/l), l-o.ra
	case s >= o.h*o.cos:
		q.Y -= o.h
		l := q.Norm()
		n, d = q.Mul(1/l), l-o.rb
	default:
		n = Vec{q.X / rho * o.cos, o.sin, q.Z / rho * o.cos}
		d = rho*o.cos + q.Y*o.sin - o.ra
	}
	return d * o.girth, n
}

// out turns a local normal into the world's.
func (o *solid) out(n Vec) Vec { return o.to.mulT(n).Unit() }

// nearestOnAxis returns the point of the axis nearest to p and its share along.
func (o *solid) nearestOnAxis(p Vec) (Vec, float64) {
	if o.h == 0 {
		return o.a, 0
	}
	ab := o.b.Sub(o.a)
	s := clamp(p.Sub(o.a).Dot(ab)/(o.h*o.h), 0, 1)
	return o.a.Add(ab.Mul(s)), s
}

// disc is a sticker: one-sided, a little over the skin.
type disc struct {
	at, normal Vec
	r          float64 // half the side of a square one
	square     bool
	colour     rgb
	lit        rgb // colour under the light it gets in its middle

	round Vec     // across the limb; the way in which it is bent round it,
	turn  float64 // by so much from the middle to its rim, rad; 0 where it is flat
	lean  rgb     // what its light grows by, that way
}

// under is the disc's colour, under the light it gets, where a ray meets it.
func (d *disc) under(p Vec) rgb {
	if d.turn == 0 {
		return d.lit
	}
	return d.lit.add(d.lean.mul(p.Sub(d.at).Dot(d.round) / d.r))
}

func (d *disc) hit(from, dir Vec) (float64, bool) {
	dn := dir.Dot(d.normal)
	if dn >= -1e-9 {
		return 0, false
	}
	t := d.at.Sub(from).Dot(d.normal) / dn
	q := from.Add(dir.Mul(t)).Sub(d.at)
	if d.square {
		a, b := q.Dot(d.round), q.Dot(d.round.Cross(d.normal))
		return t, t > 0 && max(math.Abs(a), math.Abs(b)) <= d.r
	}
	return t, t > 0 && q.Dot(q) <= d.r*d.r
}
