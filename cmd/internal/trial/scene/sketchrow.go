package scene

// sketcher draws rows; each core has its own.
type sketcher struct {
	width  int
	light  []rgb // the row
	sum    []rgb // of the moments, where something moves
	one    []rgb // a moment
	depth  []float64
	active []int
}

func newSketcher(w int) *sketcher {
	return &sketcher{width: w, light: make([]rgb, w), sum: make([]rgb, w), one: make([]rgb, w), depth: make([]float64, w)}
}

// nothing is a depth behind everything, m.
const nothing = 1e9

// row draws a row: the wall, then at each moment what stands before it, then the lamps' rise and
// fall and the sensor's noise.
func (p *sketcher) row(s *Sketch, frame, y int) {
	f := &s.now
	s.wall.row(p.light, float64(y)-f.offset[1], f.offset[0])
	p.active = p.active[:0]
	x0, x1 := p.width, 0
	for _, j := range f.order {
		if b := f.box[j]; y >= b.Min.Y && y < b.Max.Y && b.Min.X < p.width && b.Max.X > 0 {
			p.active = append(p.active, j)
			x0, x1 = min(x0, b.Min.X), max(x1, b.Max.X)
		}
	}
	x0, x1 = max(0, x0), min(p.width, x1)
	t := s.rowTime(frame, float64(y))
	if x0 < x1 {
		clear(p.sum[x0:x1])
		for m := range f.moments {
			off := s.Shutter * ((float64(m)+0.5)/float64(f.moments) - 0.5)
			p.moment(f, t+off, y, x0, x1)
		}
		share := 1 / float64(f.moments)
		for x := x0; x < x1; x++ {
			p.light[x] = p.sum[x].mul(share)
		}
	}
	rise := s.Lamps.rise(t, s.Shutter)
	g := newGrain(s.Seed, frame, y)
	for x := range p.light {
		c := p.light[x].mul(rise)
		if s.Noise != (Noise{}) {
			c.r += float64(s.Noise.amount(float32(c.r)) * g.next())
			c.g += float64(s.Noise.amount(float32(c.g)) * g.next())
			c.b += float64(s.Noise.amount(float32(c.b)) * g.next())
		}
		p.light[x] = c
	}
}

// moment adds the row at one moment.
func (p *sketcher) moment(f *flatFrame, t float64, y, x0, x1 int) {
	copy(p.one[x0:x1], p.light[x0:x1])
	for x := x0; x < x1; x++ {
		p.depth[x] = nothing
	}
	for _, j := range p.active {
		o := f.at(j, t)
		b := o.bounds()
		if y < b.Min.Y || y >= b.Max.Y {
			continue
		}
		lo, hi := o.columns(float64(y))
		paint := &f.paint[j]
		for x := max(x0, lo); x < min(x1, hi); x++ {
			cover, z, along, ex, ey := o.meet(float64(x), float64(y))
			if cover <= 0 || z > p.depth[x] {
				continue
			}
			c := paint.colour(&o, &f.lamps, along, ex, ey)
			if cover >= 1 {
				p.one[x] = c
			} else {
				p.one[x] = mix(p.one[x], c, cover)
			}
			if cover > 0.5 {
				p.depth[x] = z
			}
		}
	}
	for x := x0; x < x1; x++ {
		p.sum[x] = p.sum[x].add(p.one[x])
	}
}
