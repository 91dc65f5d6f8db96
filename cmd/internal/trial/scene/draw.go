package scene

import (
	"image"
	"math"
	"reflect"
	"runtime"
	"sync"
)

// bandRows is the number of rows that one core draws at a time.
const bandRows = 24

// Samples per side of a pixel at an edge, for a picture of one moment: of a body, and
// of a sticker, whose middle must be exact.
const (
	bodySamples    = 4
	stickerSamples = 7
)

// exposure is one moment of a frame's exposure. With a rolling shutter each row has
// its own time.
type exposure struct {
	scene  *Scene
	frame  int
	offset float64 // s from the middle of the exposure
	one    *rig    // the rig of all rows; nil with a rolling shutter
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

// exposures divides the exposure into at most 24 moments, so that nothing moves much
// more than a pixel between two of them unless it is too fast for that.
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
	if s.cameraMoves() {
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

// corners are the corners of the grid and points along its sides, since a lens bends
// straight lines.
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

// stage is the empty hall, drawn once for a camera that does not move.
type stage struct {
	camera Camera
	hall   Hall
	room   *room

	light []float32 // 3 for each pixel, linear
	floor []float32 // X and Z for each pixel, NaN where it is not floor
	bytes []uint8   // light as sRGB, 4 for each pixel
}

// hallSamples is the number of rays per side of a pixel for the empty hall.
const hallSamples = 4

// stage returns the empty hall; it is redrawn only if it or the camera changed.
func (s *Scene) stage() *stage {
	if k := s.emptyHall; k != nil && k.camera == s.Camera && reflect.DeepEqual(k.hall, s.Hall) {
		return k
	}
	k := &stage{camera: s.Camera, hall: s.Hall, room: s.Hall.prepare()}
	s.emptyHall = k
	if s.cameraMoves() {
		return k // drawn in every frame
	}
	w, h := s.Camera.Width, s.Camera.Height
	k.light, k.floor, k.bytes = make([]float32, 3*w*h), make([]float32, 2*w*h), make([]uint8, 4*w*h)
	v := s.Camera.view()
	inBands(h, 8, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range w {
				i := y*w + x
				c, f := k.room.pixel(&v, float64(x), float64(y), hallSamples)
				k.light[3*i], k.light[3*i+1], k.light[3*i+2] = float32(c.r), float32(c.g), float32(c.b)
				k.floor[2*i], k.floor[2*i+1] = f[0], f[1]
				k.bytes[4*i], k.bytes[4*i+1], k.bytes[4*i+2], k.bytes[4*i+3] = encode(float32(c.r)), encode(float32(c.g)), encode(float32(c.b)), 255
			}
		}
	})
	return k
}

// cameraMoves reports whether the view of the empty hall differs between frames.
func (s *Scene) cameraMoves() bool { return s.Shake.Turn != 0 || s.Shake.Shift != 0 }

// flatEnough is the range of linear light among the four rays of a pixel below which
// no more rays are cast: a hundredth of white, under three of 255 steps.
const flatEnough = 0.01

// pixel averages n by n rays over a pixel, or 2 by 2 if these are alike, and returns
// the place of the floor in it (X, Z; NaN if none).
func (r *room) pixel(v *view, x, y float64, n int) (c rgb, floor [2]float32) {
	if n > 2 {
		var alike bool
		if c, floor, alike = r.rays(v, x, y, 2); alike {
			return c, floor
		}
	}
	c, floor, _ = r.rays(v, x, y, n)
	return c, floor
}

func (r *room) rays(v *view, x, y float64, n int) (c rgb, floor [2]float32, alike bool) {
	floor = [2]float32{nan32, nan32}
	lo, hi := grey(math.Inf(1)), grey(math.Inf(-1))
	for j := range n {
		for i := range n {
			dir := v.ray(x+(float64(i)+0.5)/float64(n)-0.5, y+(float64(j)+0.5)/float64(n)-0.5)
			s := r.cast(v.from, dir)
			c = c.add(s.light)
			lo = rgb{min(lo.r, s.light.r), min(lo.g, s.light.g), min(lo.b, s.light.b)}
			hi = rgb{max(hi.r, s.light.r), max(hi.g, s.light.g), max(hi.b, s.light.b)}
			if s.floor {
				floor = [2]float32{float32(s.x), float32(s.z)}
			}
		}
	}
	alike = hi.r-lo.r < flatEnough && hi.g-lo.g < flatEnough && hi.b-lo.b < flatEnough
	return c.mul(1 / float64(n*n)), floor, alike
}

var nan32 = float32(math.NaN())

// inBands divides [0, n) into bands and works on them in parallel.
func inBands(n, band int, work func(from, to int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+band-1)/band) {
		wg.Go(func() {
			for from := range next {
				work(from, min(n, from+band))
			}
		})
	}
	for from := 0; from < n; from += band {
		next <- from
	}
	close(next)
	wg.Wait()
}
