package scene

import (
	"math"
)

// keyLight is the direction to the main light: the lamps over the strip, a little in
// front and to the left.
var keyLight = Vec{-0.32, 0.86, 0.40}.Unit()

// the three lights of the hall, as shares of the light on a white wall
var (
	skyLight    = rgb{0.62, 0.63, 0.65}
	groundLight = rgb{0.30, 0.275, 0.235}
	keyColour   = rgb{0.66, 0.645, 0.61}
)

// blendReach is the distance within which the normals of adjoining parts are blended,
// m.
const blendReach = 0.022

// smoothNormal returns the normal at a point of a solid, blended with the normals of
// adjoining parts so that they look like one body.
func (g *rig) smoothNormal(s rayHit, p Vec) Vec {
	o := &g.solids[s.index]
	n := o.worldNormal(s.normal)
	if o.part == partProp {
		return n
	}
	sum := n
	for i := range g.solids {
		q := &g.solids[i]
		if i == s.index || q.owner != o.owner || !adjoins(o.part, q.part) {
			continue
		}
		mid := lerp(q.a, q.b, 0.5).Sub(p)
		if reach := q.bound + blendReach; mid.Dot(mid) > reach*reach {
			continue
		}
		d, local := q.distance(p)
		if d < blendReach {
			w := 1 - clamp(d, 0, blendReach)/blendReach
			sum = sum.Add(q.worldNormal(local).Mul(w * w))
		}
	}
	return sum.Unit()
}

// adjoins reports whether two parts of one body are joined.
func adjoins(p, q part) bool {
	if p == q {
		return true
	}
	if p > q {
		p, q = q, p
	}
	switch p {
	case partTrunk:
		return q == partHead || q == partArm || q == partArm+1 || q == partLeg || q == partLeg+1
	case partLeg, partLeg + 1:
		return q == partFoot+(p-partLeg)
	case partArm, partArm + 1:
		return q == partHand+(p-partArm)
	}
	return false
}

// lightAt is the light at a point p with normal n: sky and ground light dimmed by
// nearby solids (ambient occlusion), and the key light with soft shadows. self is the
// index of the point's own solid, -1 if it has none.
func (g *rig) lightAt(p, n Vec, self int) rgb {
	open, unshaded := 1.0, 1.0
	for i := range g.solids {
		if i == self {
			continue
		}
		o := &g.solids[i]
		begin, full := 0.005, 0.05 // m from the place where a shadow may start
		if self >= 0 && o.owner == g.solids[self].owner {
			if o.part == g.solids[self].part {
				continue
			}
			if adjoins(o.part, g.solids[self].part) {
				begin, full = 0.03, 0.14
			}
		}
		mid := Vec{(o.a.X + o.b.X) / 2, (o.a.Y + o.b.Y) / 2, (o.a.Z + o.b.Z) / 2}.Sub(p)
		d2 := mid.Dot(mid)
		if reach := o.bound + 0.45; d2 < reach*reach {
			c, s := o.nearestOnAxis(p)
			v := c.Sub(p)
			r := o.radius(s)
			l2 := v.Dot(v)
			if nv := n.Dot(v); nv > 0 && l2 > 1e-9 {
				open *= 1 - clamp(0.85*r*r*nv/(math.Max(l2, r*r)*math.Sqrt(l2)), 0, 0.7)
			}
		}
		// the distance of the solid's axis from the ray to the lamps
		along := mid.Dot(keyLight)
		if along < 0 || d2-along*along > sq(o.bound+0.25*along+0.03) {
			continue
		}
		gap, s, far := nearestToAxis(p, keyLight, o)
		if far <= begin {
			continue
		}
		r := o.radius(s)
		soft := 0.22*far + 0.01
		unshaded *= 1 - smoothstep(r+soft, r-soft, gap)*math.Min(1, r/soft)*smoothstep(begin, full, far)
	}
	wrap := (n.Dot(keyLight) + 0.25) / 1.25
	up := 0.5 + 0.5*n.Y
	light := mix(groundLight, skyLight, up).mul(open)
	if wrap > 0 {
		light = light.add(keyColour.mul(wrap * unshaded * (0.5 + 0.5*open)))
	}
	return light.mul(ceilingLight(p.X, p.Y, p.Z))
}

func sq(x float64) float64 { return x * x }

// nearestToAxis returns the distance between a ray and a solid's axis, the share
// of the axis where it is smallest, and the distance along the ray.
func nearestToAxis(p, dir Vec, o *solid) (gap, s, far float64) {
	if o.h > 0 {
		u := o.b.Sub(o.a)
		w := o.a.Sub(p)
		a, b, d, e := o.h*o.h, u.Dot(dir), u.Dot(w), dir.Dot(w)
		if den := a - b*b; den > 1e-12 {
			s = clamp((b*e-d)/den, 0, 1)
		}
	}
	q := lerp(o.a, o.b, s).Sub(p)
	far = math.Max(0, q.Dot(dir))
	return q.Sub(dir.Mul(far)).Norm(), s, far
}

// shade is the light that the hit point sends back along the ray.
func (g *rig) shade(s rayHit, from, dir Vec) rgb {
	if k := s.index - len(g.solids); k >= len(g.discs) {
		return g.sheets[k-len(g.discs)].colour(from.Add(dir.Mul(s.t)))
	} else if k >= 0 {
		return g.discs[k].litColour(from.Add(dir.Mul(s.t)))
	}
	o := &g.solids[s.index]
	p := from.Add(dir.Mul(s.t))
	n := g.smoothNormal(s, p)
	light := g.lightAt(p, n, s.index)
	f := o.material.finish(p)
	c := f.colour.times(light)
	if f.sheen > 0 {
		graze := 1 - math.Max(0, -n.Dot(dir))
		c = c.add(light.mul(f.sheen * graze * graze))
	}
	if f.gloss > 0 {
		half := keyLight.Sub(dir).Unit()
		c = c.add(keyColour.mul(f.gloss * math.Pow(math.Max(0, n.Dot(half)), 18)))
	}
	return c
}

// illuminate works out the light on each sticker and sheet: constant, or linear across a bent sticker.
func (g *rig) illuminate() {
	for i := range g.discs {
		d := &g.discs[i]
		p := d.at.Add(d.normal.Mul(0.012))
		facing := func(n Vec) rgb { return d.colour.times(g.lightAt(p, n, -1).mul(0.85).add(grey(0.15))) }
		d.lit = facing(d.normal)
		if d.bendAngle > 0 {
			out, side := d.normal.Mul(math.Cos(d.bendAngle)), d.acrossLimb.Mul(math.Sin(d.bendAngle))
			d.litSlope = facing(out.Add(side)).add(facing(out.Sub(side)).mul(-1)).mul(0.5)
		}
	}
	for i := range g.sheets {
		h := &g.sheets[i]
		light := g.lightAt(h.at.Add(h.n.Mul(0.01)), h.n, -1)
		h.white, h.dark = hexToLinear(paperWhite).times(light), hexToLinear(inkDark).times(light)
	}
}

// shadow is the shadow of the bodies on the floor, on a grid that is worked out once
// for a frame.
type shadow struct {
	x0, z0 float64
	nx, nz int
	dim    []float32 // share of the light left
}

const (
	shadowStep  = 0.025 // m
	shadowReach = 1.1   // margin of the grid about the bodies, m
)

func (g *rig) shadow() shadow {
	lo, hi := Vec{X: math.Inf(1), Z: math.Inf(1)}, Vec{X: math.Inf(-1), Z: math.Inf(-1)}
	for i := range g.solids {
		for _, p := range [2]Vec{g.solids[i].a, g.solids[i].b} {
			lo.X, lo.Z = math.Min(lo.X, p.X), math.Min(lo.Z, p.Z)
			hi.X, hi.Z = math.Max(hi.X, p.X), math.Max(hi.Z, p.Z)
		}
	}
	s := shadow{x0: lo.X - shadowReach, z0: lo.Z - shadowReach}
	s.nx = int((hi.X-lo.X+2*shadowReach)/shadowStep) + 2
	s.nz = int((hi.Z-lo.Z+2*shadowReach)/shadowStep) + 2
	s.dim = make([]float32, s.nx*s.nz)
	type spot struct {
		c Vec
		r float64
	}
	var spots []spot
	for i := range g.solids {
		o := &g.solids[i]
		n := 1 + int(o.h/0.12)
		for k := range n {
			f := (float64(k) + 0.5) / float64(n)
			spots = append(spots, spot{lerp(o.a, o.b, f), o.radius(f) / math.Sqrt(math.Sqrt(float64(n)))})
		}
	}
	inBands(s.nz, 8, func(from, to int) {
		for iz := from; iz < to; iz++ {
			for ix := range s.nx {
				p := Vec{X: s.x0 + float64(ix)*shadowStep, Z: s.z0 + float64(iz)*shadowStep}
				lost := 0.0
				for i := range spots {
					q := &spots[i]
					v := q.c.Sub(p)
					d2 := v.Dot(v) + 0.25*q.r*q.r
					// the lamps over the strip weigh most: the cosine to them, cubed
					cos := v.Dot(keyLight) / math.Sqrt(d2)
					if cos > 0 {
						lost += 1.7 * q.r * q.r * cos * cos * cos / d2
					}
				}
				s.dim[iz*s.nx+ix] = float32(math.Exp(-lost * edgeFade(ix, s.nx) * edgeFade(iz, s.nz)))
			}
		}
	})
	return s
}

// edgeFade fades the shadow out at the rim of the grid.
func edgeFade(i, n int) float64 {
	const rim = 24
	return clamp(float64(min(i, n-1-i))/rim, 0, 1)
}

// at is the share of light left at a place on the floor; 1 outside the grid and if
// the place is NaN.
func (s *shadow) at(x, z float64) float64 {
	fx, fz := (x-s.x0)/shadowStep, (z-s.z0)/shadowStep
	if !(fx >= 0 && fz >= 0 && fx < float64(s.nx-1) && fz < float64(s.nz-1)) {
		return 1
	}
	ix, iz := int(fx), int(fz)
	u, v := float32(fx-float64(ix)), float32(fz-float64(iz))
	a := s.dim[iz*s.nx+ix:]
	b := s.dim[(iz+1)*s.nx+ix:]
	return float64((a[0]*(1-u)+a[1]*u)*(1-v) + (b[0]*(1-u)+b[1]*u)*v)
}
