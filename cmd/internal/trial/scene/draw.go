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
		p.sum = make([]float32, 4*w*(to-from))
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
