package scene

import "math"

// keyLight is where most of the light comes from: the lamps over the strip, a
// little in front and to the left.
var keyLight = Vec{-0.32, 0.86, 0.40}.Unit()

// sky, ground and key are the three lights of the hall, in shares of what a
// white wall gets.
var (
	skyLight    = rgb{0.62, 0.63, 0.65}
	groundLight = rgb{0.30, 0.275, 0.235}
	keyColour   = rgb{0.66, 0.645, 0.61}
)

// blend is how near two parts of a body must be for their surfaces to run into
// each other, m.
const blendReach = 0.022

// smooth returns the normal at a point of a solid, softened towards its
// neighbours so that the parts look like one body.
func (g *rig) smooth(s seen, p Vec) Vec {
	o := &g.solids[s.index]
	n := o.out(s.normal)
	if o.part == partProp {
		return n
	}
	sum := n
	for i := range g.solids {
		q := &g.solids[i]
		if i == s.index || q.owner != o.owner || !runsInto(o.part, q.part) {
			continue
		}
		mid := lerp(q.a, q.b, 0.5).Sub(p)
		if reach := q.bound + blendReach; mid.Dot(mid) > reach*reach {
			continue
		}
		d, local := q.away(p)
		if d < blendReach {
			w := 1 - clamp(d, 0, blendReach)/blendReach
			sum = sum.Add(q.out(local).Mul(w * w))
		}
	}
	return sum.Unit()
}

// runsInto says whether two parts of one body run into each other.
func runsInto(p, q part) bool {
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

// lit is the light that falls on a place: sky and ground dimmed by what stands
// near, and the key light softened by what stands before it.
func (g *rig) lit(p, n Vec, self int) rgb {
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
			if runsInto(o.part, g.solids[self].part) {
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
		// how near the way to the lamps passes the solid's axis
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
	return light.mul(lamps(p.X, p.Y, p.Z))
}

func sq(x float64) float64 { return x * x }

// nearestToAxis returns the gap between a ray and a solid's axis, the share
// along the axis where it is, and how far along the ray.
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

// shade is the light that comes back along a ray from what it met.
func (g *rig) shade(s seen, from, dir Vec) rgb {
	if k := s.index - len(g.solids); k >= len(g.discs) {
		return g.sheets[k-len(g.discs)].colour(from.Add(dir.Mul(s.t)))
	} else if k >= 0 {
		return g.discs[k].under(from.Add(dir.Mul(s.t)))
	}
	o := &g.solids[s.index]
	p := from.Add(dir.Mul(s.t))
	n := g.smooth(s, p)
	light := g.lit(p, n, s.index)
	f := o.stuff.finish(p)
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

// illuminate works out the light on each sticker and sheet once: one tone all over, or for a sticker
// that is bent one that changes evenly.
func (g *rig) illuminate() {
	for i := range g.discs {
		d := &g.discs[i]
		p := d.at.Add(d.normal.Mul(0.012))
		facing := func(n Vec) rgb { return d.colour.times(g.lit(p, n, -1).mul(0.85).add(grey(0.15))) }
		d.lit = facing(d.normal)
		if d.turn > 0 {
			out, way := d.normal.Mul(math.Cos(d.turn)), d.round.Mul(math.Sin(d.turn))
			d.lean = facing(out.Add(way)).add(facing(out.Sub(way)).mul(-1)).mul(0.5)
		}
	}
	for i := range g.sheets {
		h := &g.sheets[i]
		light := g.lit(h.at.Add(h.n.Mul(0.01)), h.n, -1)
		h.white, h.dark = paint(paperWhite).times(light), paint(inkDark).times(light)
	}
}
