package scene

import (
	"context"
	"fmt"
	"image"
	"io"
	"math"
	"os/exec"
	"strconv"
)

// Sketch draws a scene about ten times as fast as [Scene.Frame]: the body's parts are
// flat outlines with a depth and shading, in front of a picture of a wall. Unlike
// Frame it has noise reduction, sharpening, glossy stickers and the flicker of mains
// light. Positions, motion, shutter and rolling shutter are those of the scene.
//
// Set the fields before the first picture. A Sketch is not for use by two
// goroutines at once.
type Sketch struct {
	*Scene
	Lamps  Lamps
	Finish Finish
	Wall   func() *Wall // called once, for the first picture

	wall    *Wall
	current flatFrame
}

// knotStep is the time between two poses of the body, s; positions between them are
// interpolated linearly. For a foot that accelerates by 300 m/s2, seen at 600 px/m,
// the error is at most 300 * 600 * 0.001^2 / 8 = 0.02 px.
const knotStep = 0.001

// blurStep is the largest movement between two moments of an exposure, px, as long as
// mostMoments of them suffice.
const (
	blurStep    = 1.25
	mostMoments = 24
)

// flatFrame is the outlines of a frame over the time in which its rows are exposed.
type flatFrame struct {
	start   float64     // s, of the first knot
	knots   [][]outline // the same outlines in each
	paint   []outlinePaint
	order   []int // the farthest first
	moments int
	box     []image.Rectangle // bounds of each outline over all knots
	lamps   viewLamps
	offset  [2]float64 // px, of the wall
}

// prepare poses the scene for a frame.
func (s *Sketch) prepare(frame int) {
	h := s.Camera.Height
	from := s.rowTime(frame, 0) - s.Shutter/2
	to := s.rowTime(frame, float64(h-1)) + s.Shutter/2
	f := &s.current
	f.start = from
	f.knots = f.knots[:0]
	n := 2 + int(math.Ceil((to-from)/knotStep))
	far := 0.0
	for i := range n {
		k := s.outlines(s.pose(from + float64(i)*knotStep))
		f.knots = append(f.knots, k)
		if i == 0 {
			f.box = make([]image.Rectangle, len(k))
		}
		for j := range k {
			f.box[j] = f.box[j].Union(k[j].bounds())
			if i > 0 {
				far = max(far, k[j].shiftFrom(&f.knots[i-1][j]))
			}
		}
	}
	f.moments = 1
	if s.Shutter > 0 {
		f.moments = min(mostMoments, 1+int(math.Ceil(far*s.Shutter/knotStep/blurStep)))
	}
	t := s.Time(frame)
	g := s.pose(t)
	f.paint, f.lamps = s.paints(g), s.Lamps.inView(&g.view)
	f.order = farthestFirst(f.knots[n/2])
	f.offset = s.wallOffset(t)
}

// at is an outline at a time.
func (f *flatFrame) at(j int, t float64) outline {
	u := (t - f.start) / knotStep
	i := max(0, min(int(u), len(f.knots)-2))
	return f.knots[i][j].interpolated(&f.knots[i+1][j], u-float64(i))
}

// wallOffset is the shift of the wall in the picture by the shake of the camera, px.
func (s *Sketch) wallOffset(t float64) [2]float64 {
	far := Vec{X: s.Camera.Target.X, Y: s.Camera.Target.Y, Z: s.Hall.WallZ}
	x0, y0, _ := s.Camera.Project(far)
	x, y, _ := s.cameraAt(t).Project(far)
	return [2]float64{x - x0, y - y0}
}

// Picture is a picture in Y'CbCr 4:2:0, BT.709 in limited range. Chroma samples are
// sited on even columns.
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

// sketcher draws rows; each core has its own.
type sketcher struct {
	width     int
	light     []rgb // the row
	sum       []rgb // sum over the moments
	oneMoment []rgb // a moment
	depth     []float64
	active    []int
}

func newSketcher(w int) *sketcher {
	return &sketcher{width: w, light: make([]rgb, w), sum: make([]rgb, w), oneMoment: make([]rgb, w), depth: make([]float64, w)}
}

// farDepth is a depth beyond everything, m.
const farDepth = 1e9

// row draws a row: the wall, the outlines in front of it at each moment, the brightness of the
// lamps and the sensor's noise.
func (p *sketcher) row(s *Sketch, frame, y int) {
	f := &s.current
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
	rise := s.Lamps.brightness(t, s.Shutter)
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

// moment adds the row at one moment to the sum.
func (p *sketcher) moment(f *flatFrame, t float64, y, x0, x1 int) {
	copy(p.oneMoment[x0:x1], p.light[x0:x1])
	for x := x0; x < x1; x++ {
		p.depth[x] = farDepth
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
			cover, z, along, ex, ey := o.sample(float64(x), float64(y))
			if cover <= 0 || z > p.depth[x] {
				continue
			}
			c := paint.colour(&o, &f.lamps, along, ex, ey)
			if cover >= 1 {
				p.oneMoment[x] = c
			} else {
				p.oneMoment[x] = mix(p.oneMoment[x], c, cover)
			}
			if cover > 0.5 {
				p.depth[x] = z
			}
		}
	}
	for x := x0; x < x1; x++ {
		p.sum[x] = p.sum[x].add(p.oneMoment[x])
	}
}

// SketchTruth is the ground truth of a sketch's clip.
type SketchTruth struct {
	Seed     uint64        `json:"seed"`
	About    string        `json:"about"`
	Width    int           `json:"width_px"`
	Height   int           `json:"height_px"`
	FPS      float64       `json:"fps"`
	ShutterS float64       `json:"shutter_s"`
	ReadoutS float64       `json:"readout_s"`
	Frames   []SketchFrame `json:"frames"`
}

// SketchFrame is the ground truth of one frame.
type SketchFrame struct {
	Frame    int          `json:"frame"`
	Stickers []SketchMark `json:"stickers"`
}

// SketchMark is one sticker. Pixels are continuous with the centre of the top-left pixel at (0, 0).
type SketchMark struct {
	Landmark string     `json:"landmark"`
	Colour   string     `json:"colour"`
	Pixel    [2]float64 `json:"pixel"`     // its middle at mid-exposure of its row, even outside the picture
	RadiusPx float64    `json:"radius_px"` // of a circle of the same area that faces the camera
	StreakPx float64    `json:"streak_px"` // movement of its middle during the exposure
	Visible  float64    `json:"visible"`   // share of it that can be seen, 0 to 1
}

// Truth returns the ground truth of a frame.
func (s *Sketch) Truth(frame int) SketchFrame {
	s.prepare(frame)
	f := &s.current
	out := SketchFrame{Frame: frame}
	first := len(f.paint) - len(s.Stickers)
	for i, k := range s.Stickers {
		j := first + i
		t := s.Time(frame)
		o := f.at(j, t)
		for range 8 { // fixed-point iteration: the row gives the time, and the time gives the row
			t = s.rowTime(frame, clamp(o.y0, 0, float64(s.Camera.Height-1)))
			o = f.at(j, t)
		}
		a, b := f.at(j, t-s.Shutter/2), f.at(j, t+s.Shutter/2)
		m := SketchMark{
			Landmark: k.Landmark, Colour: hexColour(k.Colour), Pixel: [2]float64{o.x0, o.y0},
			RadiusPx: s.Camera.Focal * k.radius() / o.z0, StreakPx: math.Hypot(a.x0-b.x0, a.y0-b.y0),
		}
		if k.Square {
			m.RadiusPx *= 2 / math.Sqrt(math.Pi)
		}
		if o.shape != noShape {
			m.Visible = s.visibleShare(j, t)
		}
		out.Stickers = append(out.Stickers, m)
	}
	return out
}

// visibleShare is the share of points spread evenly over a sticker (Fermat's spiral at the golden
// angle) that are in the picture and not covered by a nearer outline at a time.
func (s *Sketch) visibleShare(j int, t float64) float64 {
	const places = 160
	f := &s.current
	all := make([]outline, len(f.paint))
	for i := range all {
		all[i] = f.at(i, t)
	}
	o := &all[j]
	seen := 0
	for n := range places {
		r := math.Sqrt((float64(n) + 0.5) / places)
		sa, ca := math.Sincos(float64(n) * 2.399963229728653) // the golden angle
		x, y := o.x0+r*(ca*o.ux+sa*o.vx), o.y0+r*(ca*o.uy+sa*o.vy)
		visible := s.inside(x, y)
		for i := range all {
			if i == j || all[i].shape == noShape || !visible {
				continue
			}
			cover, z, _, _, _ := all[i].sample(x, y)
			visible = cover < 0.5 || z > o.z0-stickerLift
		}
		if visible {
			seen++
		}
	}
	return float64(seen) / places
}

// Write draws every frame and writes the clip to path with ffmpeg. encoder holds ffmpeg's arguments
// that choose the encoder.
func (s *Sketch) Write(ctx context.Context, path string, encoder ...string) (SketchTruth, error) {
	out := SketchTruth{
		Seed: s.Seed - 1, About: s.About, Width: s.Camera.Width, Height: s.Camera.Height, FPS: s.FPS, ShutterS: s.Shutter, ReadoutS: s.Readout,
	}
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return out, &noEncoder{err}
	}
	args := []string{
		"-hide_banner", "-loglevel", "error", "-y", "-f", "rawvideo", "-pixel_format", "yuv420p",
		"-video_size", fmt.Sprintf("%dx%d", out.Width, out.Height), "-framerate", strconv.FormatFloat(s.FPS, 'f', -1, 64), "-i", "pipe:0",
	}
	args = append(append(args, encoder...), "-pix_fmt", "yuv420p", "-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709", "-color_range", "tv", path)
	err = runPiped(ctx, program, args, func(to io.Writer) error {
		for i := range s.Frames {
			if err := ctx.Err(); err != nil {
				return err
			}
			out.Frames = append(out.Frames, s.Truth(i))
			p := s.Draw(i)
			for _, plane := range [][]uint8{p.Y, p.Cb, p.Cr} {
				if _, err := to.Write(plane); err != nil {
					return err
				}
			}
		}
		return nil
	})
	return out, err
}
