package scene

import (
	"image"
	"math"
	"slices"
)

// outline is the outline of a solid or a sticker in the picture. A solid is a stadium from
// (x0, y0) to (x1, y1), px; its depth is that of its surface on the axis, m before the
// camera, bulging by bulge there. A sticker has its middle at (x0, y0), and a
// place (a, b) of it, each -1 to 1, at the middle + a u + b v.
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

// lens blur of the sketches: the standard deviation of a point's picture, px. A pixel's own
// square adds 1/12 px2.
const lensBlur = 0.55

// edgeReach is how far from an edge, px, it is blurred: three standard deviations.
const edgeReach = 2

// edges is the share of light that a thing covers whose edge is at a distance, from
// -edgeReach to edgeReach px.
var edges = func() (table [257]float64) {
	sd := math.Sqrt(lensBlur*lensBlur + 1.0/12)
	for i := range table {
		d := edgeReach * (float64(i)/128 - 1)
		table[i] = 0.5 * (1 + math.Erf(d/sd/math.Sqrt2))
	}
	return table
}()

// edge is the share covered of a pixel that is d px within an edge.
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

// flatten projects a rig: its solids, then its stickers.
func (s *Sketch) flatten(g *rig) []outline {
	out := make([]outline, 0, len(g.solids)+len(g.discs))
	for i := range g.solids {
		out = append(out, g.stadium(&g.solids[i]))
	}
	for i := range g.discs {
		out = append(out, g.patch(&g.discs[i]))
	}
	return out
}

// depth is how far before the camera a point is, m.
func (v *view) depth(p Vec) float64 { return -v.r[2].Dot(p.Sub(v.from)) }

func (g *rig) stadium(o *solid) (f outline) {
	za, zb := g.view.depth(o.a), g.view.depth(o.b)
	if za < 0.2 || zb < 0.2 {
		return f
	}
	f.x0, f.y0, _ = g.view.project(o.a)
	f.x1, f.y1, _ = g.view.project(o.b)
	f.shape = stadium
	// a section is a circle stretched along one direction: its reach across the look and along it
	wide := o.to[2].Norm()
	stretched := o.to[2].Mul(1 / wide)
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

func (g *rig) patch(d *disc) (f outline) {
	z := g.view.depth(d.at)
	if z < 0.2 || d.normal.Dot(d.at.Sub(g.view.from)) >= 0 {
		return f
	}
	f.x0, f.y0, _ = g.view.project(d.at)
	f.z0 = z
	along := d.round.Cross(d.normal)
	x, y, _ := g.view.project(d.at.Add(along.Mul(d.r)))
	f.ux, f.uy = x-f.x0, y-f.y0
	x, y, _ = g.view.project(d.at.Add(d.round.Mul(d.r)))
	f.vx, f.vy = x-f.x0, y-f.y0
	f.shape = round
	if d.square {
		f.shape = square
	}
	return f
}

// bounds is a rectangle that holds the outline.
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

// columns returns the columns in which an outline may show in a row.
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

// moved is how far an outline is from where it was, px.
func (f *outline) moved(o *outline) float64 {
	if f.shape == noShape || o.shape == noShape {
		return 0
	}
	m := math.Hypot(f.x0-o.x0, f.y0-o.y0)
	if f.shape == stadium {
		m = max(m, math.Hypot(f.x1-o.x1, f.y1-o.y1))
	}
	return m
}

// towards is the outline a share u of the way to another.
func (f *outline) towards(o *outline, u float64) outline {
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

// inOrder lists outlines, the farthest first.
func inOrder(all []outline) []int {
	near := func(f *outline) float64 {
		if f.shape == stadium {
			return min(f.z0, f.z1) - f.bulge
		}
		return f.z0 - lifted
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

// lifted is how far a sticker is taken to be before the skin, m, so that the flat outlines of the
// part that carries it, which are rougher than its solids, do not hide it.
const lifted = 0.012

// meet is what an outline is at a pixel: the share covered, its depth, and where on it
// (a stadium: share of the way along, and how far across in x and y, each -1 to 1; a sticker: a, b).
func (f *outline) meet(x, y float64) (cover, z, along, ex, ey float64) {
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
	return cover, f.z0 - lifted, 0, a, b
}
