package scene

import (
	"context"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// armsUp is a pose in which no arm is in front of a hip.
var armsUp = Pose{Hips: Vec{Y: 0.8}, Arms: [2]Arm{{Flexion: math.Pi}, {Flexion: math.Pi}}}

// bareSketch is a standing body with a matt sticker on each given landmark, square on, without noise or
// a phone's finish.
func bareSketch(k ...Sticker) *Sketch {
	b := NewBody(1.5)
	s := &Sketch{Scene: &Scene{
		Body: b, Motion: Held(armsUp), Stickers: k, FPS: 60, Frames: 1, Hall: Hall{WallZ: -3},
		Camera: LookAt(640, 360, 1100, Vec{Y: 0.8}, 5),
	}}
	s.Lamps = Lamps{Sky: [3]float64{0.6, 0.6, 0.6}, From: Vec{Z: 1}}
	s.Wall = func() *Wall { return &Wall{w: 642, h: 362, margin: 1, light: make([]float32, 3*642*362)} }
	return s
}

// middleOf is the centroid of the difference in luma between a picture with a sticker and one without.
func middleOf(with, without *Picture, at [2]float64, r float64) (x, y, sum float64) {
	n := int(r) + 8
	for j := -n; j <= n; j++ {
		for i := -n; i <= n; i++ {
			u, v := int(math.Round(at[0]))+i, int(math.Round(at[1]))+j
			// luma is curved, but no picture here has more than two tones about a sticker's edge
			d := math.Abs(float64(with.Y[v*with.Width+u]) - float64(without.Y[v*with.Width+u]))
			sum += d
			x += d * float64(u)
			y += d * float64(v)
		}
	}
	return x / sum, y / sum, sum
}

// A sticker is where its truth states, round or square, sharp or blurred, and with a rolling shutter.
func TestSketchedStickersAreAtTheirStatedPositions(t *testing.T) {
	for name, change := range map[string]func(*Sketch){
		"round":   func(*Sketch) {},
		"square":  func(s *Sketch) { s.Stickers[0].Square = true },
		"blurred": func(s *Sketch) { s.Shutter = 1.0 / 60 },
		"rolling": func(s *Sketch) { s.Shutter, s.Readout = 1.0/240, 0.015 },
	} {
		s := bareSketch(Sticker{Landmark: "right-hip", Colour: 0xffffff, RadiusMM: 30})
		s.Body.Leotard, s.Body.Skin = 0, 0
		drift := Vec{X: 1.5, Y: 0.6} // m/s
		s.Motion = drifting{armsUp, drift}
		change(s)
		bare := bareSketch()
		bare.Body.Leotard, bare.Body.Skin = 0, 0
		bare.Motion, bare.Shutter, bare.Readout = s.Motion, s.Shutter, s.Readout
		m := s.Truth(0).Stickers[0]
		require.Equal(t, 1.0, m.Visible, name)
		x, y, _ := middleOf(s.Draw(0), bare.Draw(0), m.Pixel, m.RadiusPx+m.StreakPx)
		// luma is rounded to levels: over some 200 pixels of an edge that scatters by 0.3 / 235 of the
		// radius each; the curve of sRGB is the same on both sides of a sticker
		assert.InDelta(t, m.Pixel[0], x, 0.05, name)
		assert.InDelta(t, m.Pixel[1], y, 0.05, name)
	}
}

// drifting is a pose that moves at a constant velocity.
type drifting struct {
	pose  Pose
	speed Vec // m/s
}

func (d drifting) At(t float64) Pose {
	p := d.pose
	p.Hips = p.Hips.Add(d.speed.Mul(t))
	return p
}

// The truth gives a smaller visible share if a stick is in front of a sticker.
func TestSketchedStickersAreHidden(t *testing.T) {
	for _, c := range []struct{ off, least, most float64 }{{1, 1, 1}, {0, 0, 0}, {0.05, 0.3, 0.7}} {
		s := bareSketch(Sticker{Landmark: "right-hip", Colour: 0xffffff, RadiusMM: 20})
		p, _ := s.Body.Joints(s.Motion.At(0)).At("right-hip")
		s.flyers = []flyer{{from: Vec{X: p.X + c.off, Y: p.Y - 0.5, Z: 0.5}, along: Vec{Y: 1}, radius: 0.05 * 4.5 / 5}}
		v := s.Truth(0).Stickers[0].Visible
		assert.GreaterOrEqual(t, v, c.least, c.off)
		assert.LessOrEqual(t, v, c.most, c.off)
	}
}

// Sharpening makes halos beside an edge, noise reduction leaves the edge.
func TestPhonesFinish(t *testing.T) {
	const w, h = 64, 32
	step := func() *developer {
		d := newDeveloper(w, h)
		row := make([]rgb, w)
		for x := range row {
			row[x] = grey(linear(80))
			if x >= w/2 {
				row[x] = grey(linear(160))
			}
		}
		for y := range h {
			d.row(y, row)
		}
		return d
	}
	at := func(p *Picture, x int) int { return int(p.Y[h/2*w+x]) }
	plain := step().finish(&Finish{})
	sharp := step().finish(&Finish{Sharpen: 1})
	quiet := step().finish(&Finish{Denoise: 8})
	assert.Equal(t, 85, at(plain, 10), "16 + 80 * 219 / 255")
	assert.Less(t, at(sharp, w/2-1), at(plain, w/2-1)-5)
	assert.Greater(t, at(sharp, w/2), at(plain, w/2)+5)
	assert.Equal(t, plain.Y, quiet.Y)
	assert.Equal(t, uint8(128), plain.Cb[0])
}

// The flicker of mains light is averaged over the exposure, and vanishes if this is a whole period.
func TestFlicker(t *testing.T) {
	l := Lamps{Flicker: 0.2, Hertz: 100}
	assert.InDelta(t, 1.2, l.brightness(0, 0), 1e-12)
	assert.InDelta(t, 0.8, l.brightness(0.005, 0), 1e-12)
	assert.InDelta(t, 1, l.brightness(0, 0.01), 1e-12)
}

// Sketches of many seeds: repeatable, within their stated ranges, and different from each other.
func TestSketches(t *testing.T) {
	about := map[string]bool{}
	for seed := range uint64(40) {
		s := NewSketch(seed)
		require.NoError(t, s.Check())
		about[s.About] = true
		assert.Equal(t, s.About, NewSketch(seed).About)
		assert.Zero(t, s.Camera.Width%4+s.Camera.Height%4)
		for _, k := range s.Stickers {
			assert.GreaterOrEqual(t, k.RadiusMM, 5.7)
			assert.LessOrEqual(t, k.RadiusMM, 21.0)
			// further away than aimed at by no more than half a metre of at least 4
			assert.GreaterOrEqual(t, s.Camera.Focal/s.Camera.Distance*k.RadiusMM/1000, leastRadius*0.9)
		}
		assert.LessOrEqual(t, s.Readout, 1/s.FPS+1e-12)
	}
	assert.Len(t, about, 40)
}

func TestSketchIsWritten(t *testing.T) {
	s := bareSketch(Sticker{Landmark: "right-hip", Colour: green})
	s.Frames = 3
	path := filepath.Join(t.TempDir(), "a.mp4")
	truth, err := s.Write(context.Background(), path, "-c:v", "libx264", "-crf", "20")
	require.NoError(t, err)
	assert.Len(t, truth.Frames, 3)
	out, err := exec.Command("ffprobe", "-v", "error", "-count_frames", "-show_entries", "stream=nb_read_frames,width,color_space", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	assert.Equal(t, "640,bt709,3", strings.TrimSpace(string(out)))
}
