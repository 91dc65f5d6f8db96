package scene

import (
	"image"
	"math"
)

// Sketch draws a scene for speed, about ten times as fast as [Scene.Frame]: the
// body's parts are flat outlines with a depth, lit across, before a picture of a
// wall. It has what a phone does to a picture and Frame has not: noise reduction,
// sharpening, stickers that shine, mains light that flickers. Places, motion,
// shutter and rolling shutter are those of the scene.
//
// Set the fields before the first picture. A Sketch is not for use by two
// goroutines at once.
type Sketch struct {
	*Scene
	Lamps  Lamps
	Finish Finish
	Wall   func() *Wall // called once, for the first picture

	wall *Wall
	now  flatFrame
}

// knotStep is the time between two moments at which the body is posed, s; places
// between them are interpolated linearly. A foot that accelerates by 300 m/s2, seen at
// 600 px/m, is then within 300 * 600 * 0.001^2 / 8 = 0.02 px.
const knotStep = 0.001

// blurStep is how far anything moves between two of the moments of which an exposure
// is made, px, up to mostMoments of them.
const (
	blurStep    = 1.25
	mostMoments = 24
)

// flatFrame is a frame's outlines at all times at which a row of it is exposed.
type flatFrame struct {
	start   float64     // s, of the first knot
	knots   [][]outline // the same outlines in each
	paint   []paintOf
	order   []int // the farthest first
	moments int
	box     []image.Rectangle // that hold each outline
	lamps   lampsSeen
	offset  [2]float64 // px, of the wall
}

// prepare poses the scene for a frame.
func (s *Sketch) prepare(frame int) {
	h := s.Camera.Height
	from := s.rowTime(frame, 0) - s.Shutter/2
	to := s.rowTime(frame, float64(h-1)) + s.Shutter/2
	f := &s.now
	f.start = from
	f.knots = f.knots[:0]
	n := 2 + int(math.Ceil((to-from)/knotStep))
	far := 0.0
	for i := range n {
		k := s.flatten(s.pose(from + float64(i)*knotStep))
		f.knots = append(f.knots, k)
		if i == 0 {
			f.box = make([]image.Rectangle, len(k))
		}
		for j := range k {
			f.box[j] = f.box[j].Union(k[j].bounds())
			if i > 0 {
				far = max(far, k[j].moved(&f.knots[i-1][j]))
			}
		}
	}
	f.moments = 1
	if s.Shutter > 0 {
		f.moments = min(mostMoments, 1+int(math.Ceil(far*s.Shutter/knotStep/blurStep)))
	}
	t := s.Time(frame)
	g := s.pose(t)
	f.paint, f.lamps = s.paints(g), s.Lamps.seen(&g.view)
	f.order = inOrder(f.knots[n/2])
	f.offset = s.wallOffset(t)
}

// at is an outline at a time.
func (f *flatFrame) at(j int, t float64) outline {
	u := (t - f.start) / knotStep
	i := max(0, min(int(u), len(f.knots)-2))
	return f.knots[i][j].towards(&f.knots[i+1][j], u-float64(i))
}

// wallOffset is by how much the wall is shifted in the picture by a camera that is not
// quite still.
func (s *Sketch) wallOffset(t float64) [2]float64 {
	far := Vec{X: s.Camera.Target.X, Y: s.Camera.Target.Y, Z: s.Hall.WallZ}
	x0, y0, _ := s.Camera.Project(far)
	x, y, _ := s.cameraAt(t).Project(far)
	return [2]float64{x - x0, y - y0}
}

// Picture is a picture as a phone stores it: luma, and chroma at half the resolution,
// BT.709 in limited range, chroma in line with every second column.
type Picture struct {
	Width, Height int
	Y, Cb, Cr     []uint8
}

// Draw draws a frame.
func (s *Sketch) Draw(frame int) *Picture {
	if s.wall == nil {
		s.wall = s.Wall()
	}
	s.prepare(frame)
	w, h := s.Camera.Width, s.Camera.Height
	dev := newDeveloper(w, h)
	inBands(h, bandRows, func(from, to int) {
		p := newSketcher(w)
		for y := from; y < to; y++ {
			p.row(s, frame, y)
			dev.row(y, p.light)
		}
	})
	return dev.finish(&s.Finish)
}
