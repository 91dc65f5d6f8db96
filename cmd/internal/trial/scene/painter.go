package scene

import (
	"image"
	"math"
)

// painter draws a band of rows: first the bodies, moment by moment, then the hall
// behind them.
type painter struct {
	scene      *Scene
	stage      *stage
	dim        *shadow
	edge, fine int             // rays on each side of a pixel at an edge
	region     image.Rectangle // the part of the picture with bodies or shadows
	from, to   int
	sum        []float32 // 4 for each pixel: the bodies' light, and their cover summed over the moments
	rows       [3]traced
}

// traced is a row with one ray through the middle of each pixel.
type traced struct {
	row    int
	rig    *rig
	list   []active
	x0, x1 int // columns traced
	id     []int32
	met    []rayHit
}

// expose adds one moment's light to the band's sum.
func (p *painter) expose(e *exposure) {
	lo, hi := max(p.from, p.region.Min.Y), min(p.to, p.region.Max.Y)
	if lo >= hi {
		return
	}
	a, b, c := &p.rows[0], &p.rows[1], &p.rows[2]
	p.trace(a, e, lo-1)
	p.trace(b, e, lo)
	for y := lo; y < hi; y++ {
		p.trace(c, e, y+1)
		p.paintRow(a, b, c)
		a, b, c = b, c, a
	}
}

func (p *painter) trace(r *traced, e *exposure, y int) {
	w := p.scene.Camera.Width
	if r.id == nil {
		r.id, r.met = make([]int32, w), make([]rayHit, w)
	}
	clear(r.id)
	r.row, r.rig = y, e.rig(y)
	r.list = r.rig.activeIn(float64(y), r.list)
	r.x0, r.x1 = w, 0
	for _, a := range r.list {
		r.x0, r.x1 = min(r.x0, int(a.lo)-1), max(r.x1, int(a.hi)+2)
	}
	r.x0, r.x1 = max(r.x0, 0), min(r.x1, w)
	v := &r.rig.view
	for x := r.x0; x < r.x1; x++ {
		if !covered(r.list, float64(x)) {
			continue
		}
		dir := v.ray(float64(x), float64(y))
		s := r.rig.firstHit(v.from, dir, float64(x), r.list)
		if s.index >= 0 {
			r.id[x], r.met[x] = r.rig.identity(s, v.from, dir), s
		}
	}
}

func covered(list []active, x float64) bool {
	for _, a := range list {
		if x >= a.lo && x <= a.hi {
			return true
		}
	}
	return false
}

func (p *painter) paintRow(above, r, below *traced) {
	w := p.scene.Camera.Width
	sum := p.sum[4*w*(r.row-p.from) : 4*w*(r.row-p.from+1)]
	v := &r.rig.view
	first := int32(2 * (len(r.rig.solids) + 1)) // identities from here on are stickers
	lo := max(0, min(above.x0, r.x0, below.x0)-1)
	hi := min(w, max(above.x1, r.x1, below.x1)+1)
	for x := lo; x < hi; x++ {
		id := r.id[x]
		same := id == above.id[x] && id == below.id[x]
		sticker := max(id, above.id[x], below.id[x]) >= first
		for d := -1; d <= 1; d += 2 {
			if x+d >= 0 && x+d < w {
				n := r.id[x+d]
				same = same && n == id
				sticker = sticker || n >= first
			}
		}
		if same && id == 0 {
			continue
		}
		var c rgb
		cover := 1.0
		if same {
			c = r.rig.shade(r.met[x], v.from, v.ray(float64(x), float64(r.row)))
		} else {
			n := p.edge
			if sticker {
				n = p.fine
			}
			c, cover = supersample(r, x, n)
		}
		sum[4*x] += float32(c.r)
		sum[4*x+1] += float32(c.g)
		sum[4*x+2] += float32(c.b)
		sum[4*x+3] += float32(cover)
	}
}

// latticeStep makes i -> (i, i step mod n) a lattice whose points share neither
// a column nor a row (a rank-1 lattice, Korobov 1959): the step prime to n that is
// nearest to n over the golden ratio. The rays of a pixel lie on it, so that a straight
// edge is never parallel to a row of them.
func latticeStep(n int) int {
	prime := func(a int) bool {
		b := n
		for b > 0 {
			a, b = b, a%b
		}
		return a == 1
	}
	want := int(math.Round(float64(n) * 0.6180339887498949))
	for d := range n {
		if want+d < n && prime(want+d) {
			return want + d
		}
		if want-d > 0 && prime(want-d) {
			return want - d
		}
	}
	return 1
}

// supersample averages n by n rays over a pixel and returns the share of them that hit
// something. Each identity is shaded once.
func supersample(r *traced, x, n int) (sum rgb, cover float64) {
	type shaded struct {
		id int32
		c  rgb
	}
	var known [8]shaded
	count, met := 0, 0
	v := &r.rig.view
	step := latticeStep(n * n)
	for i := range n * n {
		px := float64(x) + (float64(i)+0.5)/float64(n*n) - 0.5
		py := float64(r.row) + (float64(i*step%(n*n))+0.5)/float64(n*n) - 0.5
		dir := v.ray(px, py)
		s := r.rig.firstHit(v.from, dir, px, r.list)
		if s.index < 0 {
			continue
		}
		met++
		id := r.rig.identity(s, v.from, dir)
		var c rgb
		found := false
		for _, k := range known[:count] {
			if k.id == id {
				c, found = k.c, true
			}
		}
		if !found {
			c = r.rig.shade(s, v.from, dir)
			if count < len(known) {
				known[count] = shaded{id, c}
				count++
			}
		}
		sum = sum.add(c)
	}
	per := 1 / float64(n*n)
	return sum.mul(per), float64(met) * per
}

// handViews is the number of rays per pixel, each at its own moment of the exposure
// and place within the pixel, that draw the hall if the camera moves.
const handViews = 4

// hallRow draws a row of the hall with the bodies' shadow, without the bodies.
func (p *painter) hallRow(frame, y int, row []rgb) {
	s, k := p.scene, p.stage
	w := s.Camera.Width
	if k.light != nil {
		shaded := y >= p.region.Min.Y && y < p.region.Max.Y
		for x := range row {
			i := y*w + x
			row[x] = rgb{float64(k.light[3*i]), float64(k.light[3*i+1]), float64(k.light[3*i+2])}
			if shaded && x >= p.region.Min.X && x < p.region.Max.X {
				row[x] = row[x].mul(p.dim.at(float64(k.floor[2*i]), float64(k.floor[2*i+1])))
			}
		}
		return
	}
	clear(row)
	t := s.rowTime(frame, float64(y))
	for i := range handViews {
		v := s.cameraAt(t + s.Shutter*((float64(i)+0.5)/handViews-0.5)).view()
		dx, dy := (float64(i)+0.5)/handViews-0.5, math.Mod(0.375+0.5*float64(i), 1)+float64(i/2)*0.25-0.5
		for x := range row {
			c := k.room.cast(v.from, v.ray(float64(x)+dx, float64(y)+dy))
			if c.floor {
				c.light = c.light.mul(p.dim.at(c.x, c.z))
			}
			row[x] = row[x].add(c.light.mul(1.0 / handViews))
		}
	}
}

// develop converts the band's light to bytes. The changing light of the hall and the
// sensor's noise are applied in linear light, the sRGB curve last. share is one over
// the number of moments.
func (p *painter) develop(out *image.RGBA, frame int, share float32) {
	s, k := p.scene, p.stage
	w := s.Camera.Width
	quiet := s.Light == (Light{}) && s.Noise == (Noise{}) && k.bytes != nil
	row, gains := make([]rgb, w), make([]rgb, w)
	for y := p.from; y < p.to; y++ {
		to := out.Pix[y*out.Stride : y*out.Stride+4*w]
		x0, x1 := 0, w
		if quiet {
			copy(to, k.bytes[4*w*y:4*w*(y+1)])
			if y < p.region.Min.Y || y >= p.region.Max.Y {
				continue
			}
			x0, x1 = p.region.Min.X, p.region.Max.X
		}
		p.hallRow(frame, y, row)
		t := s.rowTime(frame, float64(y))
		for x := range gains {
			gains[x] = s.Light.gain(t, float64(x)/float64(w)-0.5)
		}
		g := newGrain(s.Seed, frame, y)
		sum := p.sum[4*w*(y-p.from):]
		for x := x0; x < x1; x++ {
			q := sum[4*x : 4*x+4]
			left := 1 - q[3]*share
			c := [3]float32{
				(q[0]*share + left*float32(row[x].r)) * float32(gains[x].r),
				(q[1]*share + left*float32(row[x].g)) * float32(gains[x].g),
				(q[2]*share + left*float32(row[x].b)) * float32(gains[x].b),
			}
			if s.Noise != (Noise{}) {
				for i := range c {
					c[i] += s.Noise.amount(c[i]) * g.next()
				}
			}
			to[4*x], to[4*x+1], to[4*x+2], to[4*x+3] = encode(c[0]), encode(c[1]), encode(c[2]), 255
		}
	}
}
