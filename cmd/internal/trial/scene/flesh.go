package scene

// finish is a colour and how it shines.
type finish struct {
	colour rgb
	sheen  float64 // of cloth and hair at a grazing look
	gloss  float64 // of skin
}

// stuff is what a solid is made of: one finish, or two that meet at a cut.
type stuff struct {
	near, far finish
	cut       Vec // a point p is far where p.cut >= at, in the world
	at        float64
	two       bool
}

// all is one finish everywhere.
func all(f finish) stuff { return stuff{near: f} }

// split has near behind a plane through point and far beyond it, along way.
func split(near, far finish, point, way Vec) stuff {
	return stuff{near: near, far: far, two: true, cut: way, at: point.Dot(way)}
}

// beyond says on which side of the cut a point is.
func (s *stuff) beyond(p Vec) bool { return s.two && p.Dot(s.cut) >= s.at }

func (s *stuff) finish(p Vec) *finish {
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
	skin := finish{colour: paint(b.Skin), gloss: 0.05}
	cloth := finish{colour: paint(b.Leotard), sheen: 0.10}
	hair := finish{colour: paint(b.Hair), sheen: 0.08}
	first := len(out)
	add := func(o solid) { out = append(out, o) }
	cone := func(a, b Vec, ra, rb float64, p part, s stuff) {
		add(newSolid(a, b, ra*t, rb*t, 1, Vec{Z: 1}, p, s))
	}
	r := sk.right

	// trunk
	pelvis := sk.hips.Add(sk.lower.Mul(0.012 * h))
	belly := sk.hips.Add(sk.lower.Mul(0.092 * h))
	ribs := sk.waist.Add(sk.upper.Mul(0.030 * h))
	breast := sk.waist.Add(sk.upper.Mul(0.088 * h)).Add(sk.chest.Mul(0.004 * h))
	top := sk.neck.Sub(sk.upper.Mul(0.022 * h))
	add(newSolid(pelvis, belly, 0.052*t, 0.044*t, 1.62, r, partTrunk, all(cloth)))
	add(newSolid(belly, ribs, 0.044*t, 0.050*t, 1.48, r, partTrunk, all(cloth)))
	neckline := split(cloth, skin, sk.neck.Add(sk.chest.Mul(0.012*h)).Sub(sk.upper.Mul(0.018*h)), sk.upper.Add(sk.chest.Mul(0.35)).Unit())
	add(newSolid(ribs, breast, 0.052*t, 0.053*t, 1.50, r, partTrunk, all(cloth)))
	add(newSolid(breast, top, 0.053*t, 0.034*t, 1.50, r, partTrunk, neckline))
	for s := range 2 {
		side := r.Mul(Side(s).outward())
		glute := sk.hips.Add(side.Mul(0.036 * h)).Sub(sk.facing.Mul(0.020 * h)).Sub(sk.up.Mul(0.010 * h))
		add(newSolid(glute, glute.Add(sk.legs[s].along[0].Mul(0.02*h)), 0.047*t, 0.045*t, 1, r, partTrunk, all(cloth)))
		// collar and shoulder; the straps of the leotard end short of the shoulder
		root := sk.arms[s].root
		strap := split(cloth, skin, lerp(sk.neck, root, 0.60), side)
		add(newSolid(sk.neck.Add(sk.upper.Mul(0.004*h)), root, 0.030*t, 0.026*t, 1, r, partTrunk, strap))
	}

	// neck and head
	add(newSolid(sk.neck.Sub(sk.upper.Mul(0.010*h)), sk.neck.Add(sk.upper.Mul(0.05*h)), 0.029*t, 0.025*t, 1, r, partHead, all(skin)))
	out = b.headOf(sk, skin, hair, out)

	for s := range 2 {
		leg, arm := &sk.legs[s], &sk.arms[s]
		pl, pa := partLeg+part(s), partArm+part(s)

		// the leotard has short legs; the hem runs a little higher outside
		hem := split(cloth, skin, leg.root.Add(leg.along[0].Mul(0.074*h)), leg.along[0].Add(r.Mul(0.22*Side(s).outward())).Unit())
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
		cone(leg.mid, leg.low, 0.0302, 0.0185, pl, all(skin))
		cone(on(leg, 1, leg.mid, 0.012, -0.001), on(leg, 1, leg.mid, 0.070, -0.0075), 0.0290, 0.0305, pl, all(skin))
		cone(on(leg, 1, leg.mid, 0.070, -0.0075), on(leg, 1, leg.mid, 0.190, -0.0005), 0.0305, 0.0195, pl, all(skin))
		ft := partFoot + part(s)
		ball := leg.low.Add(leg.along[2].Mul(0.66 * b.Foot))
		cone(heel(b, *leg), leg.low, 0.0165, 0.0185, ft, all(skin))
		add(newSolid(leg.low, ball, 0.0180*t, 0.0125*t, 1.25, r, ft, all(skin)))
		add(newSolid(heel(b, *leg), ball, 0.0150*t, 0.0115*t, 1.2, r, ft, all(skin)))
		add(newSolid(ball, leg.tip, 0.0125*t, 0.0090*t, 1.7, r, ft, all(skin)))

		cone(arm.root, arm.mid, 0.0270, 0.0195, pa, all(skin))
		cone(on(arm, 0, arm.root, 0.02, 0.001), on(arm, 0, arm.mid, -0.03, 0), 0.0275, 0.0205, pa, all(skin))
		cone(arm.mid, arm.low, 0.0195, 0.0135, pa, all(skin))
		cone(on(arm, 1, arm.mid, 0.008, 0), on(arm, 1, arm.mid, 0.045, 0.001), 0.0195, 0.0203, pa, all(skin))
		cone(on(arm, 1, arm.mid, 0.045, 0.001), on(arm, 1, arm.low, -0.03, 0), 0.0203, 0.0145, pa, all(skin))
		hd := partHand + part(s)
		// flat hand; its breadth stands across the palm
		broad := arm.along[2].Cross(arm.front[2])
		palm := arm.low.Add(arm.along[2].Mul(0.45 * b.Hand))
		add(newSolid(arm.low, palm, 0.0115*t, 0.0115*t, 1.5, broad, hd, all(skin)))
		add(newSolid(palm, arm.tip.Sub(arm.along[2].Mul(0.008*h)), 0.0100*t, 0.0060*t, 1.7, broad, hd, all(skin)))
		thumb := arm.low.Add(arm.along[2].Mul(0.28 * b.Hand)).Add(arm.front[2].Mul(0.006 * h))
		add(newSolid(thumb, thumb.Add(arm.along[2].Mul(0.028*h)).Add(arm.front[2].Mul(0.012*h)), 0.0065*t, 0.0045*t, 1, r, hd, all(skin)))
	}
	for i := first; i < len(out); i++ {
		out[i].owner = owner
	}
	return out
}

func (b Body) headOf(sk *skeleton, skin, hair finish, out []solid) []solid {
	h := b.Stature
	up := sk.head
	ahead := across(up, sk.chest)
	r := sk.right
	at := func(x, y float64) Vec {
		return sk.neck.Add(up.Mul(y * h)).Add(ahead.Mul(x * h))
	}
	skull := at(0.006, 0.121)
	out = append(out,
		ellipsoid(skull, ahead, up, r, 0.0535*h, 0.0560*h, 0.0445*h, partHead, all(skin)),
		newSolid(at(0.020, 0.098), at(0.036, 0.078), 0.032*h, 0.020*h, 1.05, r, partHead, all(skin)), // jaw
		newSolid(at(0.054, 0.120), at(0.064, 0.105), 0.0055*h, 0.0075*h, 1, r, partHead, all(skin)),  // nose
	)
	// hair: a cap that ends in a line from brow to nape, and a bun
	line := up.Mul(0.72).Sub(ahead.Mul(0.70)).Unit()
	scalp := split(skin, hair, at(0.030, 0.140), line)
	out = append(out,
		ellipsoid(at(0.004, 0.1235), ahead, up, r, 0.0560*h, 0.0570*h, 0.0470*h, partHair, scalp),
		newSolid(at(-0.056, 0.156), at(-0.062, 0.162), 0.0255*h, 0.0245*h, 1, r, partHair, all(hair)),
	)
	for s := range 2 {
		ear := at(-0.002, 0.112).Add(r.Mul(0.043 * h * Side(s).outward()))
		out = append(out, ellipsoid(ear, ahead, up, r, 0.008*h, 0.014*h, 0.006*h, partHead, all(skin)))
	}
	return out
}
