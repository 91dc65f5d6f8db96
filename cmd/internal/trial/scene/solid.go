package scene

import (
	"math"
)

// solid is the convex hull of two spheres on one axis (a tapered capsule; a
// sphere where the axis has no length), stretched along one direction across
// that axis.
type solid struct {
	a, b     Vec     // ends of the axis in the world
	toLocal  mat     // world to local: axis along y, a at the origin, circular sections
	h        float64 // length of the axis
	ra, rb   float64 // radii at a and b, in local lengths
	sin      float64 // of half the angle of the taper
	cos      float64
	bound    float64 // radius of the bounding sphere about the middle of the axis
	girth    float64 // mean of stretched and unstretched radius over the unstretched one
	material material
	part     part
	owner    int8 // which figure of the scene
}

// part is the part of the body that a solid belongs to. Adjoining parts are blended.
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

// newSolid makes a solid with radii ra at a and rb at b, stretched by the factor wide
// along the component of along that is perpendicular to its axis.
func newSolid(a, b Vec, ra, rb float64, wide float64, along Vec, p part, s material) solid {
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
		toLocal: mat{x, y, z.Mul(1 / wide)}, material: s, part: p,
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
func ellipsoid(at, x, y, z Vec, rx, ry, rz float64, p part, s material) solid {
	big := max(rx, ry, rz)
	return solid{
		a: at, b: at, ra: 1, rb: 1, cos: 1,
		toLocal: mat{x.Mul(1 / rx), y.Mul(1 / ry), z.Mul(1 / rz)}, material: s, part: p,
		bound: big, girth: (rx + ry + rz) / 3,
	}
}

// radius is the mean radius at the share s of the axis, m.
func (o *solid) radius(s float64) float64 { return (o.ra + (o.rb-o.ra)*s) * o.girth }

// hit returns where a ray enters a solid: the ray's parameter and the local normal.
func (o *solid) hit(from, dir Vec) (t float64, normal Vec, ok bool) {
	// the bounding sphere first
	mid := Vec{(o.a.X + o.b.X) / 2, (o.a.Y + o.b.Y) / 2, (o.a.Z + o.b.Z) / 2}.Sub(from)
	along := mid.Dot(dir)
	if mid.Dot(mid)-along*along > o.bound*o.bound {
		return 0, Vec{}, false
	}
	p, d := o.toLocal.mul(from.Sub(o.a)), o.toLocal.mul(dir)
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
					if n.Dot(d) < 0 { // the ray enters here
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

// distance returns the approximate distance of a point from the surface, m, and the
// local normal there.
func (o *solid) distance(p Vec) (float64, Vec) {
	q := o.toLocal.mul(p.Sub(o.a))
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

// worldNormal transforms a local normal to the world.
func (o *solid) worldNormal(n Vec) Vec { return o.toLocal.mulT(n).Unit() }

// nearestOnAxis returns the point of the axis nearest to p and its share along.
func (o *solid) nearestOnAxis(p Vec) (Vec, float64) {
	if o.h == 0 {
		return o.a, 0
	}
	ab := o.b.Sub(o.a)
	s := clamp(p.Sub(o.a).Dot(ab)/(o.h*o.h), 0, 1)
	return o.a.Add(ab.Mul(s)), s
}

// finish is a colour and its reflections.
type finish struct {
	colour rgb
	sheen  float64 // of cloth and hair at grazing angles
	gloss  float64 // of skin
}

// material is one finish, or two that meet in a plane.
type material struct {
	near, far   finish
	cut         Vec // normal of the plane: a point p has the far finish if p.cut >= cutAt, in the world
	cutAt       float64
	twoFinishes bool
}

// uniform is a material of one finish.
func uniform(f finish) material { return material{near: f} }

// splitMaterial has near behind a plane through point and far beyond it, along way.
func splitMaterial(near, far finish, point, way Vec) material {
	return material{near: near, far: far, twoFinishes: true, cut: way, cutAt: point.Dot(way)}
}

// beyond reports whether a point has the far finish.
func (s *material) beyond(p Vec) bool { return s.twoFinishes && p.Dot(s.cut) >= s.cutAt }

func (s *material) finish(p Vec) *finish {
	if s.beyond(p) {
		return &s.far
	}
	return &s.near
}

// thighAtHip is the thigh's radius at the hip's axis, in statures.
const thighAtHip = 0.0555

// flesh builds the solids of a posed body. Thicknesses are shares of stature, by
// eye.
func (b Body) flesh(sk *skeleton, owner int8, out []solid) []solid {
	g := b.Girth
	if g == 0 {
		g = 1
	}
	h := b.Stature
	t := h * g // thickness
	skin := finish{colour: hexToLinear(b.Skin), gloss: 0.05}
	cloth := finish{colour: hexToLinear(b.Leotard), sheen: 0.10}
	hair := finish{colour: hexToLinear(b.Hair), sheen: 0.08}
	first := len(out)
	add := func(o solid) { out = append(out, o) }
	cone := func(a, b Vec, ra, rb float64, p part, s material) {
		add(newSolid(a, b, ra*t, rb*t, 1, Vec{Z: 1}, p, s))
	}
	r := sk.right

	// trunk
	pelvis := sk.hips.Add(sk.lower.Mul(0.012 * h))
	belly := sk.hips.Add(sk.lower.Mul(0.092 * h))
	ribs := sk.waist.Add(sk.upper.Mul(0.030 * h))
	breast := sk.waist.Add(sk.upper.Mul(0.088 * h)).Add(sk.chest.Mul(0.004 * h))
	top := sk.neck.Sub(sk.upper.Mul(0.022 * h))
	add(newSolid(pelvis, belly, 0.052*t, 0.044*t, 1.62, r, partTrunk, uniform(cloth)))
	add(newSolid(belly, ribs, 0.044*t, 0.050*t, 1.48, r, partTrunk, uniform(cloth)))
	neckline := splitMaterial(cloth, skin, sk.neck.Add(sk.chest.Mul(0.012*h)).Sub(sk.upper.Mul(0.018*h)), sk.upper.Add(sk.chest.Mul(0.35)).Unit())
	add(newSolid(ribs, breast, 0.052*t, 0.053*t, 1.50, r, partTrunk, uniform(cloth)))
	add(newSolid(breast, top, 0.053*t, 0.034*t, 1.50, r, partTrunk, neckline))
	for s := range 2 {
		side := r.Mul(Side(s).outward())
		glute := sk.hips.Add(side.Mul(0.036 * h)).Sub(sk.facing.Mul(0.020 * h)).Sub(sk.up.Mul(0.010 * h))
		add(newSolid(glute, glute.Add(sk.legs[s].along[0].Mul(0.02*h)), 0.047*t, 0.045*t, 1, r, partTrunk, uniform(cloth)))
		// collar and shoulder; the straps of the leotard end short of the shoulder
		root := sk.arms[s].root
		strap := splitMaterial(cloth, skin, lerp(sk.neck, root, 0.60), side)
		add(newSolid(sk.neck.Add(sk.upper.Mul(0.004*h)), root, 0.030*t, 0.026*t, 1, r, partTrunk, strap))
	}

	// neck and head
	add(newSolid(sk.neck.Sub(sk.upper.Mul(0.010*h)), sk.neck.Add(sk.upper.Mul(0.05*h)), 0.029*t, 0.025*t, 1, r, partHead, uniform(skin)))
	out = b.head(sk, skin, hair, out)

	for s := range 2 {
		leg, arm := &sk.legs[s], &sk.arms[s]
		pl, pa := partLeg+part(s), partArm+part(s)

		// the leotard has short legs; the hem runs a little higher outside
		hem := splitMaterial(cloth, skin, leg.root.Add(leg.along[0].Mul(0.074*h)), leg.along[0].Add(r.Mul(0.22*Side(s).outward())).Unit())
		on := func(l *limb, seg int, from Vec, down, ahead float64) Vec {
			return from.Add(l.along[seg].Mul(down * h)).Add(l.front[seg].Mul(ahead * h))
		}
		wide, outward := 1.0, Vec{Z: 1}
		if b.HipFlesh > 0 {
			wide, outward = b.HipFlesh/(thighAtHip*h), leg.along[0].Cross(leg.front[0])
		}
		add(newSolid(leg.root, leg.mid, thighAtHip*t, 0.0305*t, wide, outward, pl, hem))
		cone(on(leg, 0, leg.root, 0.08, 0.009), on(leg, 0, leg.mid, -0.02, 0.002), 0.0440, 0.0300, pl, hem)
		cone(on(leg, 0, leg.root, 0.07, -0.006), on(leg, 0, leg.mid, -0.02, -0.001), 0.0440, 0.0290, pl, hem)
		cone(leg.mid, leg.low, 0.0302, 0.0185, pl, uniform(skin))
		cone(on(leg, 1, leg.mid, 0.012, -0.001), on(leg, 1, leg.mid, 0.070, -0.0075), 0.0290, 0.0305, pl, uniform(skin))
		cone(on(leg, 1, leg.mid, 0.070, -0.0075), on(leg, 1, leg.mid, 0.190, -0.0005), 0.0305, 0.0195, pl, uniform(skin))
		ft := partFoot + part(s)
		ball := leg.low.Add(leg.along[2].Mul(0.66 * b.Foot))
		cone(heel(b, *leg), leg.low, 0.0165, 0.0185, ft, uniform(skin))
		add(newSolid(leg.low, ball, 0.0180*t, 0.0125*t, 1.25, r, ft, uniform(skin)))
		add(newSolid(heel(b, *leg), ball, 0.0150*t, 0.0115*t, 1.2, r, ft, uniform(skin)))
		add(newSolid(ball, leg.tip, 0.0125*t, 0.0090*t, 1.7, r, ft, uniform(skin)))

		cone(arm.root, arm.mid, 0.0270, 0.0195, pa, uniform(skin))
		cone(on(arm, 0, arm.root, 0.02, 0.001), on(arm, 0, arm.mid, -0.03, 0), 0.0275, 0.0205, pa, uniform(skin))
		cone(arm.mid, arm.low, 0.0195, 0.0135, pa, uniform(skin))
		cone(on(arm, 1, arm.mid, 0.008, 0), on(arm, 1, arm.mid, 0.045, 0.001), 0.0195, 0.0203, pa, uniform(skin))
		cone(on(arm, 1, arm.mid, 0.045, 0.001), on(arm, 1, arm.low, -0.03, 0), 0.0203, 0.0145, pa, uniform(skin))
		hd := partHand + part(s)
		// a flat hand, wide across the palm
		broad := arm.along[2].Cross(arm.front[2])
		palm := arm.low.Add(arm.along[2].Mul(0.45 * b.Hand))
		add(newSolid(arm.low, palm, 0.0115*t, 0.0115*t, 1.5, broad, hd, uniform(skin)))
		add(newSolid(palm, arm.tip.Sub(arm.along[2].Mul(0.008*h)), 0.0100*t, 0.0060*t, 1.7, broad, hd, uniform(skin)))
		thumb := arm.low.Add(arm.along[2].Mul(0.28 * b.Hand)).Add(arm.front[2].Mul(0.006 * h))
		add(newSolid(thumb, thumb.Add(arm.along[2].Mul(0.028*h)).Add(arm.front[2].Mul(0.012*h)), 0.0065*t, 0.0045*t, 1, r, hd, uniform(skin)))
	}
	for i := first; i < len(out); i++ {
		out[i].owner = owner
	}
	return out
}

func (b Body) head(sk *skeleton, skin, hair finish, out []solid) []solid {
	h := b.Stature
	up := sk.head
	ahead := across(up, sk.chest)
	r := sk.right
	at := func(x, y float64) Vec {
		return sk.neck.Add(up.Mul(y * h)).Add(ahead.Mul(x * h))
	}
	skull := at(0.006, 0.121)
	out = append(out,
		ellipsoid(skull, ahead, up, r, 0.0535*h, 0.0560*h, 0.0445*h, partHead, uniform(skin)),
		newSolid(at(0.020, 0.098), at(0.036, 0.078), 0.032*h, 0.020*h, 1.05, r, partHead, uniform(skin)), // jaw
		newSolid(at(0.054, 0.120), at(0.064, 0.105), 0.0055*h, 0.0075*h, 1, r, partHead, uniform(skin)),  // nose
	)
	// hair: a cap that ends in a line from brow to nape, and a bun
	line := up.Mul(0.72).Sub(ahead.Mul(0.70)).Unit()
	scalp := splitMaterial(skin, hair, at(0.030, 0.140), line)
	out = append(out,
		ellipsoid(at(0.004, 0.1235), ahead, up, r, 0.0560*h, 0.0570*h, 0.0470*h, partHair, scalp),
		newSolid(at(-0.056, 0.156), at(-0.062, 0.162), 0.0255*h, 0.0245*h, 1, r, partHair, uniform(hair)),
	)
	for s := range 2 {
		ear := at(-0.002, 0.112).Add(r.Mul(0.043 * h * Side(s).outward()))
		out = append(out, ellipsoid(ear, ahead, up, r, 0.008*h, 0.014*h, 0.006*h, partHead, uniform(skin)))
	}
	return out
}
