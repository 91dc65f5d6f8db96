package scene

import (
	"image"
	"math"
)

// bandRows is how many rows one core draws at a time.
const bandRows = 24

// bodySamples is how many rays on each side of a pixel draw the edge of a body,
// where one picture is one moment; stickerSamples the edge of a sticker, whose
// middle must be true.
const (
	bodySamples    = 4
	stickerSamples = 7
)

// exposure is one moment of a frame's exposure, row by row where rows have times of
// their own.
type exposure struct {
	scene  *Scene
	frame  int
	offset float64 // s from the middle of the exposure
	one    *rig    // all rows at once
	nudge  [2]float64
}

func (e *exposure) rig(row int) *rig {
	if e.one != nil {
		return e.one
	}
	g := e.scene.pose(e.scene.rowTime(e.frame, float64(row)) + e.offset)
	g.illuminate()
	return g
}

// draw renders a frame.
func (s *Scene) draw(frame int) *image.RGBA {
	k := s.stage()
	w, h := s.Camera.Width, s.Camera.Height
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	exposures := s.exposures(frame)
	middle := s.pose(s.Time(frame))
	dim := middle.shadow()
	region := s.region(frame, exposures, middle, &dim)
	edge := max(1, int(math.Ceil(bodySamples/math.Sqrt(float64(len(exposures))))))
	fine := max(2, int(math.Ceil(stickerSamples/math.Sqrt(float64(len(exposures))))))

	inBands(h, bandRows, func(from, to int) {
		p := painter{scene: s, stage: k, dim: &dim, edge: edge, fine: fine, region: region, from: from, to: to}
		p.sum = make([]float32, 3*w*(to-from))
		for i := range exposures {
			p.expose(&exposures[i])
		}
		p.develop(out, frame, 1/float32(len(exposures)))
	})
	return out
}

// exposures splits the open shutter into moments close enough that nothing
// moves much more than a pixel between two of them.
func (s *Scene) exposures(frame int) []exposure {
	n := 1
	if s.Shutter > 0 {
		t := s.Time(frame)
		a, b := s.pose(t-s.Shutter/2), s.pose(t+s.Shutter/2)
		far := 0.0
		for i := range a.spans {
			p, q := &a.spans[i], &b.spans[i]
			if p.none || q.none {
				continue
			}
			far = max(far, math.Hypot(p.x0-q.x0, p.y0-q.y0), math.Hypot(p.x1-q.x1, p.y1-q.y1))
		}
		const most = 24
		n = min(most, 1+int(math.Ceil(far/1.25)))
	}
	out := make([]exposure, n)
	for i := range out {
		e := exposure{scene: s, frame: frame, offset: s.Shutter * ((float64(i)+0.5)/float64(n) - 0.5)}
		if s.Readout == 0 {
			e.one = s.pose(s.Time(frame) + e.offset)
			e.one.illuminate()
		}
		if s.moving() && n > 1 {
			// the hall's own rays move about within the pixel
			e.nudge = [2]float64{float64(i)/float64(n) - 0.5 + 0.5/float64(n), hash(float64(i), 3) - 0.5}
		}
		out[i] = e
	}
	return out
}

// region is the part of the picture that the bodies or their shadows touch.
func (s *Scene) region(frame int, exposures []exposure, middle *rig, dim *shadow) image.Rectangle {
	full := image.Rect(0, 0, s.Camera.Width, s.Camera.Height)
	if s.moving() {
		return full
	}
	var r image.Rectangle
	take := func(g *rig) {
		for i := range g.spans {
			p := &g.spans[i]
			if p.none {
				continue
			}
			r = r.Union(image.Rect(int(min(p.x0, p.x1)-p.r)-2, int(min(p.y0, p.y1)-p.r)-2, int(max(p.x0, p.x1)+p.r)+3, int(max(p.y0, p.y1)+p.r)+3))
		}
	}
	take(middle)
	for _, e := range exposures {
		if e.one != nil {
			take(e.one)
		}
	}
	if s.Readout > 0 {
		half := s.Readout/2 + s.Shutter/2
		for k := range 9 {
			take(s.pose(s.Time(frame) + half*(float64(k)/4-1)))
		}
		r = r.Inset(-4)
	}
	for _, p := range dim.corners() {
		x, y, ok := middle.view.project(p)
		if !ok {
			return full
		}
		r = r.Union(image.Rect(int(x)-2, int(y)-2, int(x)+3, int(y)+3))
	}
	return r.Intersect(full)
}

// corners of the grid, and points along its sides: lines bend in a lens.
func (s *shadow) corners() []Vec {
	var out []Vec
	w, d := float64(s.nx)*shadowStep, float64(s.nz)*shadowStep
	for k := range 9 {
		f := float64(k) / 8
		out = append(out, Vec{X: s.x0 + f*w, Z: s.z0}, Vec{X: s.x0 + f*w, Z: s.z0 + d},
			Vec{X: s.x0, Z: s.z0 + f*d}, Vec{X: s.x0 + w, Z: s.z0 + f*d})
	}
	return out
}

// painter draws a band of rows.
type painter struct {
	scene      *Scene
	stage      *stage
	dim        *shadow
	edge, fine int
	region     image.Rectangle
	from, to   int
	sum        []float32
	rows       [3]traced // the row before, the row itself, and the row after
}

// traced is one row's first look: what each pixel's middle meets.
type traced struct {
	row  int
	rig  *rig
	list []active
	id   []int32
	met  []seen
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
		p.paintRow(e, a, b, c)
		a, b, c = b, c, a
	}
}

func (p *painter) trace(r *traced, e *exposure, y int) {
	w := p.scene.Camera.Width
	if r.id == nil {
		r.id, r.met = make([]int32, w), make([]seen, w)
	}
	clear(r.id)
	r.row, r.rig = y, e.rig(y)
	r.list = r.rig.activeIn(float64(y), r.list)
	if len(r.list) == 0 {
		return
	}
	x0, x1 := w, 0
	for _, a := range r.list {
		x0, x1 = min(x0, int(a.lo)-1), max(x1, int(a.hi)+2)
	}
	v := &r.rig.view
	for x := max(0, x0); x < min(w, x1); x++ {
		if !covered(r.list, float64(x)) {
			continue
		}
		dir := v.ray(float64(x), float64(y))
		s := r.rig.first(v.from, dir, float64(x), r.list)
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

func (p *painter) paintRow(e *exposure, above, r, below *traced) {
	w := p.scene.Camera.Width
	y := r.row
	sum := p.sum[3*w*(y-p.from) : 3*w*(y-p.from+1)]
	v := &r.rig.view
	first := int32(2 * (len(r.rig.solids) + 1)) // identities from here on are stickers
	for x := p.region.Min.X; x < p.region.Max.X; x++ {
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
		var c rgb
		switch {
		case same && id == 0:
			c = p.behind(e, v, x, y)
		case same:
			c = r.rig.shade(r.met[x], v.from, v.ray(float64(x), float64(y)))
		default:
			n := p.edge
			if sticker {
				n = p.fine
			}
			c = p.closer(e, r, x, n)
		}
		sum[3*x] += float32(c.r)
		sum[3*x+1] += float32(c.g)
		sum[3*x+2] += float32(c.b)
	}
}

// closer averages n by n rays over a pixel; a thing met twice is shaded once.
func (p *painter) closer(e *exposure, r *traced, x, n int) rgb {
	type shaded struct {
		id int32
		c  rgb
	}
	var known [8]shaded
	count := 0
	var sum rgb
	v := &r.rig.view
	for j := range n {
		for i := range n {
			px := float64(x) + (float64(i)+0.5)/float64(n) - 0.5
			py := float64(r.row) + (float64(j)+0.5)/float64(n) - 0.5
			dir := v.ray(px, py)
			s := r.rig.first(v.from, dir, px, r.list)
			id := r.rig.identity(s, v.from, dir)
			var c rgb
			found := false
			for _, k := range known[:count] {
				if k.id == id {
					c, found = k.c, true
				}
			}
			if !found {
				if id == 0 {
					c = p.behind(e, v, x, r.row)
				} else {
					c = r.rig.shade(s, v.from, dir)
				}
				if count < len(known) {
					known[count] = shaded{id, c}
					count++
				}
			}
			sum = sum.add(c)
		}
	}
	return sum.mul(1 / float64(n*n))
}

// behind is the hall in a pixel, with the bodies' shadow on it.
func (p *painter) behind(e *exposure, v *view, x, y int) rgb {
	k := p.stage
	var c rgb
	var f [2]float32
	if k.light != nil {
		i := y*k.camera.Width + x
		c = rgb{float64(k.light[3*i]), float64(k.light[3*i+1]), float64(k.light[3*i+2])}
		f = [2]float32{k.floor[2*i], k.floor[2*i+1]}
	} else {
		n := 1
		if e.nudge == ([2]float64{}) {
			n = 2
		}
		c, f = k.room.pixel(v, float64(x)+e.nudge[0], float64(y)+e.nudge[1], n)
	}
	if f[0] == f[0] {
		c = c.mul(p.dim.at(float64(f[0]), float64(f[1])))
	}
	return c
}

// develop turns the band's light into bytes: the hall's light and the sensor's
// noise come in linear light, the sRGB curve last.
func (p *painter) develop(out *image.RGBA, frame int, share float32) {
	s, k := p.scene, p.stage
	w := s.Camera.Width
	quiet := s.Light == (Light{}) && s.Noise == (Noise{})
	gains := make([]rgb, w)
	for y := p.from; y < p.to; y++ {
		row := out.Pix[y*out.Stride : y*out.Stride+4*w]
		drawn := y >= p.region.Min.Y && y < p.region.Max.Y
		if quiet && k.bytes != nil {
			copy(row, k.bytes[4*w*y:4*w*(y+1)])
			if !drawn {
				continue
			}
			for x := p.region.Min.X; x < p.region.Max.X; x++ {
				c := p.sum[3*(w*(y-p.from)+x):]
				row[4*x], row[4*x+1], row[4*x+2] = encode(c[0]*share), encode(c[1]*share), encode(c[2]*share)
			}
			continue
		}
		t := s.rowTime(frame, float64(y))
		for x := range gains {
			gains[x] = s.Light.gain(t, float64(x)/float64(w)-0.5)
		}
		g := newGrain(s.Seed, frame, y)
		for x := range w {
			var c [3]float32
			if drawn && x >= p.region.Min.X && x < p.region.Max.X {
				q := p.sum[3*(w*(y-p.from)+x):]
				c = [3]float32{q[0] * share, q[1] * share, q[2] * share}
			} else {
				c = [3]float32(k.light[3*(w*y+x) : 3*(w*y+x)+3])
			}
			c[0] *= float32(gains[x].r)
			c[1] *= float32(gains[x].g)
			c[2] *= float32(gains[x].b)
			if s.Noise != (Noise{}) {
				for i := range c {
					c[i] += s.Noise.amount(c[i]) * g.next()
				}
			}
			row[4*x], row[4*x+1], row[4*x+2], row[4*x+3] = encode(c[0]), encode(c[1]), encode(c[2]), 255
		}
	}
}
