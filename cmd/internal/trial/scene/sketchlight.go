package scene

import "math"

// Lamps light a [Sketch]. Light is in shares of what a white wall sends back.
type Lamps struct {
	Sky  [3]float64 // from everywhere
	Key  [3]float64 // from one side
	From Vec        // the way to that side, in the world

	Flicker float64 // share by which mains light rises and falls
	Hertz   float64 // of that: twice the mains' frequency
	Drift   float64 // share by which the exposure changes over Beat
	Beat    float64 // s
}

// rise is the share of light that a row gets whose exposure lasts from t - shutter/2 to
// t + shutter/2: the mean of the flicker over it, times the drift.
func (l *Lamps) rise(t, shutter float64) float64 {
	g := 1.0
	if l.Flicker > 0 {
		x := math.Pi * l.Hertz * shutter
		mean := 1.0
		if x > 1e-9 {
			mean = math.Sin(x) / x
		}
		g += l.Flicker * mean * math.Cos(2*math.Pi*l.Hertz*t)
	}
	if l.Drift != 0 {
		g *= 1 + l.Drift*math.Sin(2*math.Pi*t/l.Beat)
	}
	return g
}

// paintOf is the colour of an outline under the lamps of a frame.
type paintOf struct {
	near, far rgb     // of a solid: its two finishes,
	cutA      float64 // which meet where a line from cutA to cutB along it is 0; far is above
	cutB      float64

	lit, lean rgb // of a sticker: in its middle, and what it grows by to its rim, across the limb
	gleam     rgb
	ga, gb    float64 // where on it the lamp is mirrored
	wa, wb    float64 // how large that is
}

// paints works out the colours of a rig's outlines, in the order of flatten.
func (s *Sketch) paints(g *rig) []paintOf {
	out := make([]paintOf, 0, len(g.solids)+len(g.discs))
	for i := range g.solids {
		o := &g.solids[i]
		p := paintOf{near: o.stuff.near.colour, far: o.stuff.near.colour, cutA: -1, cutB: -1}
		if o.stuff.two {
			p.far = o.stuff.far.colour
			p.cutA, p.cutB = o.a.Dot(o.stuff.cut)-o.stuff.at, o.b.Dot(o.stuff.cut)-o.stuff.at
		}
		out = append(out, p)
	}
	for i := range g.discs {
		out = append(out, s.sticker(g, &g.discs[i], s.Stickers[i].Gloss))
	}
	return out
}

// dome is how much a sticker bulges along the limb, rad from its middle to its rim.
const dome = 0.10

// shine is how far from the mirror's way a glossy sticker still shines, rad.
const shine = 0.09

func (s *Sketch) sticker(g *rig, d *disc, gloss float64) paintOf {
	facing := func(n Vec) rgb { return d.colour.times(s.Lamps.on(n)) }
	p := paintOf{lit: facing(d.normal)}
	turn := max(d.turn, dome)
	if d.turn > 0 {
		out, way := d.normal.Mul(math.Cos(d.turn)), d.round.Mul(math.Sin(d.turn))
		p.lean = facing(out.Add(way)).add(facing(out.Sub(way)).mul(-1)).mul(0.5)
	}
	if gloss > 0 {
		to := g.view.from.Sub(d.at).Unit()
		half := s.Lamps.From.Unit().Add(to).Unit()
		along := d.round.Cross(d.normal)
		p.gleam = tint(s.Lamps.Key).add(tint(s.Lamps.Sky).mul(0.3)).mul(gloss)
		p.ga, p.gb = half.Dot(along)/dome, half.Dot(d.round)/turn
		p.wa, p.wb = shine/dome, shine/turn
	}
	return p
}

func tint(c [3]float64) rgb { return rgb{c[0], c[1], c[2]} }

// on is the light on a place that faces along n.
func (l *Lamps) on(n Vec) rgb {
	sky := tint(l.Sky).mul(0.85 + 0.15*n.Y)
	return sky.add(tint(l.Key).mul(max(0, n.Dot(l.From.Unit()))))
}

// colour is that of an outline where [outline.meet] met it.
func (p *paintOf) colour(f *outline, light *lampsSeen, along, ex, ey float64) rgb {
	if f.shape == stadium {
		c := p.near
		if p.cutA+(p.cutB-p.cutA)*along >= 0 {
			c = p.far
		}
		return c.times(light.on(ex, ey))
	}
	a, b := ex, ey
	c := p.lit.add(p.lean.mul(b))
	if p.gleam != (rgb{}) {
		q := sq((a-p.ga)/p.wa) + sq((b-p.gb)/p.wb)
		if q < 18 {
			c = c.add(p.gleam.mul(math.Exp(-q / 2)))
		}
	}
	return c
}

// lampsSeen are the lamps in the axes of the picture: x right, y down, z to the camera.
type lampsSeen struct {
	sky, key rgb
	from     Vec
	up       Vec
}

func (l *Lamps) seen(v *view) lampsSeen {
	turned := func(d Vec) Vec { q := v.r.mul(d); return Vec{q.X, -q.Y, q.Z} }
	return lampsSeen{tint(l.Sky), tint(l.Key), turned(l.From.Unit()), turned(Vec{Y: 1})}
}

// on is the light on a stadium's surface, across at (ex, ey).
func (l *lampsSeen) on(ex, ey float64) rgb {
	n := Vec{ex, ey, math.Sqrt(max(0, 1-ex*ex-ey*ey))}
	return l.sky.mul(0.85 + 0.15*n.Dot(l.up)).add(l.key.mul(max(0, n.Dot(l.from))))
}
