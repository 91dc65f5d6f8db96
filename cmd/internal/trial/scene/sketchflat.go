package scene

import (
	"image"
	"math"
	"slices"
)

// outline is the outline of a solid or a sticker in the picture.
//
// A solid is a stadium from (x0, y0) to (x1, y1) with radii r0 and r1, px. Its axis has the
// depths z0 and z1 from the camera, m, and its surface over the axis is nearer by bulge.
//
// A sticker has its middle at (x0, y0) and the depth z0. A point (a, b) of it, each -1 to 1,
// is at the middle + a u + b v.
type outline struct {
	x0, y0, x1, y1 float64
	r0, r1         float64
	z0, z1, bulge  float64
	ux, uy, vx, vy float64
	shape          shape
}

type shape uint8

const (
	noShape shape = iota // not in front of the camera
	stadium
	round
	square
)

// lensBlur is the standard deviation of the sketches' point spread function, px, without
// the area of a pixel, which adds 1/12 px2 to the variance.
const lensBlur = 0.55

// edgeReach is the distance to which an edge is blurred, px: three standard deviations.
const edgeReach = 2

// edges is a table of the share of a pixel's light that a thing covers, for distances of the
// pixel from its edge of -edgeReach (outside) to edgeReach px (inside).
var edges = func() (table [257]float64) {
	sd := math.Sqrt(lensBlur*lensBlur + 1.0/12)
	for i := range table {
		d := edgeReach * (float64(i)/128 - 1)
		table[i] = 0.5 * (1 + math.Erf(d/sd/math.Sqrt2))
	}
	return table
}()

// edge is the share covered of a pixel that is d px inside an edge.
func edge(d float64) float64 {
	switch {
	case d >= edgeReach:
		return 1
	case d <= -edgeReach:
		return 0
	}
	u := (d/edgeReach + 1) * 128
	i := int(u)
	return edges[i] + (u-float64(i))*(edges[min(i+1, 256)]-edges[i])
}

// outlines projects a rig's solids, then its stickers.
func (s *Sketch) outlines(g *rig) []outline {
	out := make([]outline, 0, len(g.solids)+len(g.discs))
	for i := range g.solids {
		out = append(out, g.solidOutline(&g.solids[i]))
	}
	for i := range g.discs {
		out = append(out, g.stickerOutline(&g.discs[i]))
	}
	return out
}

// depth is the distance of a point from the camera along its optical axis, m.
func (v *view) depth(p Vec) float64 { return -v.r[2].Dot(p.Sub(v.from)) }

func (g *rig) solidOutline(o *solid) (f outline) {
	za, zb := g.view.depth(o.a), g.view.depth(o.b)
	if za < 0.2 || zb < 0.2 {
		return f
	}
	f.x0, f.y0, _ = g.view.project(o.a)
	f.x1, f.y1, _ = g.view.project(o.b)
	f.shape = stadium
	// a section is a circle stretched along one direction: its radii across the line of sight and along it
	wide := o.toLocal[2].Norm()
	stretched := o.toLocal[2].Mul(1 / wide)
	look := g.view.r[2]
	beside, ahead := o.girth, o.girth
	if o.h > 0 {
		axis := o.b.Sub(o.a).Unit()
		reach := func(q Vec) float64 {
			q = q.Sub(axis.Mul(axis.Dot(q)))
			n := q.Norm()
			if n < 1e-6 {
				return o.girth
			}
			c := q.Dot(stretched) / n
			return math.Sqrt(1 - c*c + c*c/(wide*wide))
		}
		beside, ahead = reach(axis.Cross(look)), reach(look)
	}
	f.r0, f.r1 = g.view.focal*o.ra*beside/za, g.view.focal*o.rb*beside/zb
	f.z0, f.z1, f.bulge = za, zb, (o.ra+o.rb)/2*ahead
	return f
}

func (g *rig) stickerOutline(d *disc) (f outline) {
	z := g.view.depth(d.at)
	if z < 0.2 || d.normal.Dot(d.at.Sub(g.view.from)) >= 0 {
		return f
	}
	f.x0, f.y0, _ = g.view.project(d.at)
	f.z0 = z
	along := d.acrossLimb.Cross(d.normal)
	x, y, _ := g.view.project(d.at.Add(along.Mul(d.r)))
	f.ux, f.uy = x-f.x0, y-f.y0
	x, y, _ = g.view.project(d.at.Add(d.acrossLimb.Mul(d.r)))
	f.vx, f.vy = x-f.x0, y-f.y0
	f.shape = round
	if d.square {
		f.shape = square
	}
	return f
}

// bounds is a rectangle that contains the blurred outline.
func (f *outline) bounds() image.Rectangle {
	var x, y [2]float64
	switch f.shape {
	case noShape:
		return image.Rectangle{}
	case stadium:
		r := max(f.r0, f.r1)
		x = [2]float64{min(f.x0, f.x1) - r, max(f.x0, f.x1) + r}
		y = [2]float64{min(f.y0, f.y1) - r, max(f.y0, f.y1) + r}
	default:
		dx, dy := math.Abs(f.ux)+math.Abs(f.vx), math.Abs(f.uy)+math.Abs(f.vy)
		x, y = [2]float64{f.x0 - dx, f.x0 + dx}, [2]float64{f.y0 - dy, f.y0 + dy}
	}
	return image.Rect(int(math.Floor(x[0]))-edgeReach, int(math.Floor(y[0]))-edgeReach,
		int(math.Ceil(x[1]))+edgeReach+1, int(math.Ceil(y[1]))+edgeReach+1)
}

// columns returns the columns that an outline may cover in a row.
func (f *outline) columns(y float64) (lo, hi int) {
	b := f.bounds()
	if f.shape != stadium {
		return b.Min.X, b.Max.X
	}
	r := max(f.r0, f.r1) + edgeReach
	s := span{x0: f.x0, y0: f.y0, x1: f.x1, y1: f.y1, r: r}
	x0, x1, ok := s.row(y)
	if !ok {
		return 0, 0
	}
	return max(b.Min.X, int(x0)-1), min(b.Max.X, int(x1)+2)
}

// shiftFrom is the distance between two outlines of one thing, px.
func (f *outline) shiftFrom(o *outline) float64 {
	if f.shape == noShape || o.shape == noShape {
		return 0
	}
	m := math.Hypot(f.x0-o.x0, f.y0-o.y0)
	if f.shape == stadium {
		m = max(m, math.Hypot(f.x1-o.x1, f.y1-o.y1))
	}
	return m
}

// interpolated is the outline at the share u between f (0) and o (1).
func (f *outline) interpolated(o *outline, u float64) outline {
	if f.shape == noShape || o.shape == noShape {
		return outline{}
	}
	mid := func(a, b float64) float64 { return a + u*(b-a) }
	return outline{
		mid(f.x0, o.x0), mid(f.y0, o.y0), mid(f.x1, o.x1), mid(f.y1, o.y1), mid(f.r0, o.r0), mid(f.r1, o.r1),
		mid(f.z0, o.z0), mid(f.z1, o.z1), mid(f.bulge, o.bulge),
		mid(f.ux, o.ux), mid(f.uy, o.uy), mid(f.vx, o.vx), mid(f.vy, o.vy), f.shape,
	}
}

// farthestFirst returns the indices of outlines, the farthest first.
func farthestFirst(all []outline) []int {
	near := func(f *outline) float64 {
		if f.shape == stadium {
			return min(f.z0, f.z1) - f.bulge
		}
		return f.z0 - stickerLift
	}
	out := make([]int, len(all))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(a, b int) int {
		switch x, y := near(&all[a]), near(&all[b]); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// stickerLift is subtracted from a sticker's depth, m, so that the flat outlines of the part under it,
// which are less exact than its solids, do not hide it.
const stickerLift = 0.012

// sample returns the share of a pixel that an outline covers, its depth there, m, and the place on the
// outline. On a stadium this is the share along its axis and the offsets ex, ey from it in units of the
// radius; on a sticker ex, ey are a and b.
func (f *outline) sample(x, y float64) (cover, z, along, ex, ey float64) {
	if f.shape == stadium {
		dx, dy := f.x1-f.x0, f.y1-f.y0
		px, py := x-f.x0, y-f.y0
		s := 0.0
		if l := dx*dx + dy*dy; l > 1e-9 {
			s = clamp((px*dx+py*dy)/l, 0, 1)
		}
		r := f.r0 + (f.r1-f.r0)*s
		ex, ey = (px-s*dx)/r, (py-s*dy)/r
		q := ex*ex + ey*ey
		cover = edge((1 - math.Sqrt(q)) * r)
		return cover, f.z0 + (f.z1-f.z0)*s - f.bulge*math.Sqrt(max(0, 1-q)), s, ex, ey
	}
	det := f.ux*f.vy - f.uy*f.vx
	if math.Abs(det) < 1e-9 {
		return 0, 0, 0, 0, 0
	}
	px, py := x-f.x0, y-f.y0
	a, b := (px*f.vy-py*f.vx)/det, (py*f.ux-px*f.uy)/det
	// gradients of a and b, per px
	ax, ay, bx, by := f.vy/det, -f.vx/det, -f.uy/det, f.ux/det
	if f.shape == square {
		la, lb := 1/math.Hypot(ax, ay), 1/math.Hypot(bx, by)
		cover = (edge((1-a)*la) + edge((1+a)*la) - 1) * (edge((1-b)*lb) + edge((1+b)*lb) - 1)
	} else {
		q := math.Sqrt(a*a + b*b)
		slope := math.Hypot(a*ax+b*bx, a*ay+b*by)
		cover = 1
		if slope > 1e-12 {
			cover = edge((1 - q) * q / slope)
		}
	}
	return cover, f.z0 - stickerLift, 0, a, b
}

// Lamps light a [Sketch]. Light is relative to the light that a white wall reflects.
type Lamps struct {
	Sky  [3]float64 // from all directions
	Key  [3]float64 // from one direction
	From Vec        // the direction to the key light, in the world

	Flicker float64 // amplitude of the flicker of mains light, as a share
	Hertz   float64 // frequency of the flicker: twice the mains' frequency
	Drift   float64 // amplitude of a slow change of exposure, as a share
	Beat    float64 // period of that change, s
}

// brightness is the factor of the light in a row exposed from t - shutter/2 to t + shutter/2:
// the mean of the flicker over the exposure, times the drift.
func (l *Lamps) brightness(t, shutter float64) float64 {
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

// outlinePaint is the colour of an outline under the lamps of a frame.
type outlinePaint struct {
	// of a solid: its two finishes; far where cutA + (cutB - cutA) s >= 0 at the share s of the axis
	near, far  rgb
	cutA, cutB float64

	// of a sticker
	lit, litSlope rgb     // in its middle, and the change to its rim across the limb
	gleam         rgb     // the reflection of the lamps
	ga, gb        float64 // place (a, b) of the gleam's middle
	wa, wb        float64 // standard deviations of the gleam in a and b
}

// paints works out the colours of a rig's outlines, in the order of outlines.
func (s *Sketch) paints(g *rig) []outlinePaint {
	out := make([]outlinePaint, 0, len(g.solids)+len(g.discs))
	for i := range g.solids {
		o := &g.solids[i]
		p := outlinePaint{near: o.material.near.colour, far: o.material.near.colour, cutA: -1, cutB: -1}
		if o.material.twoFinishes {
			p.far = o.material.far.colour
			p.cutA, p.cutB = o.a.Dot(o.material.cut)-o.material.cutAt, o.b.Dot(o.material.cut)-o.material.cutAt
		}
		out = append(out, p)
	}
	for i := range g.discs {
		out = append(out, s.sticker(g, &g.discs[i], s.Stickers[i].Gloss))
	}
	return out
}

// dome is the curvature of a sticker along the limb, rad from its middle to its rim.
const dome = 0.10

// gleamWidth is the standard deviation of the gleam about the mirror direction, rad.
const gleamWidth = 0.09

func (s *Sketch) sticker(g *rig, d *disc, gloss float64) outlinePaint {
	facing := func(n Vec) rgb { return d.colour.times(s.Lamps.lightOn(n)) }
	p := outlinePaint{lit: facing(d.normal)}
	turn := max(d.bendAngle, dome)
	if d.bendAngle > 0 {
		out, way := d.normal.Mul(math.Cos(d.bendAngle)), d.acrossLimb.Mul(math.Sin(d.bendAngle))
		p.litSlope = facing(out.Add(way)).add(facing(out.Sub(way)).mul(-1)).mul(0.5)
	}
	if gloss > 0 {
		to := g.view.from.Sub(d.at).Unit()
		half := s.Lamps.From.Unit().Add(to).Unit()
		along := d.acrossLimb.Cross(d.normal)
		p.gleam = toRGB(s.Lamps.Key).add(toRGB(s.Lamps.Sky).mul(0.3)).mul(gloss)
		p.ga, p.gb = half.Dot(along)/dome, half.Dot(d.acrossLimb)/turn
		p.wa, p.wb = gleamWidth/dome, gleamWidth/turn
	}
	return p
}

func toRGB(c [3]float64) rgb { return rgb{c[0], c[1], c[2]} }

// lightOn is the light on a surface with the normal n.
func (l *Lamps) lightOn(n Vec) rgb {
	sky := toRGB(l.Sky).mul(0.85 + 0.15*n.Y)
	return sky.add(toRGB(l.Key).mul(max(0, n.Dot(l.From.Unit()))))
}

// colour is the colour of an outline at a place that [outline.sample] returned.
func (p *outlinePaint) colour(f *outline, light *viewLamps, along, ex, ey float64) rgb {
	if f.shape == stadium {
		c := p.near
		if p.cutA+(p.cutB-p.cutA)*along >= 0 {
			c = p.far
		}
		return c.times(light.on(ex, ey))
	}
	a, b := ex, ey
	c := p.lit.add(p.litSlope.mul(b))
	if p.gleam != (rgb{}) {
		q := sq((a-p.ga)/p.wa) + sq((b-p.gb)/p.wb)
		if q < 18 {
			c = c.add(p.gleam.mul(math.Exp(-q / 2)))
		}
	}
	return c
}

// viewLamps are the lamps in the axes of the picture: x right, y down, z to the camera.
type viewLamps struct {
	sky, key rgb
	from     Vec
	up       Vec
}

func (l *Lamps) inView(v *view) viewLamps {
	turned := func(d Vec) Vec { q := v.r.mul(d); return Vec{q.X, -q.Y, q.Z} }
	return viewLamps{toRGB(l.Sky), toRGB(l.Key), turned(l.From.Unit()), turned(Vec{Y: 1})}
}

// on is the light on a stadium's surface at the offsets (ex, ey) of [outline.sample].
func (l *viewLamps) on(ex, ey float64) rgb {
	n := Vec{ex, ey, math.Sqrt(max(0, 1-ex*ex-ey*ey))}
	return l.sky.mul(0.85 + 0.15*n.Dot(l.up)).add(l.key.mul(max(0, n.Dot(l.from))))
}
