package scene

import (
	"context"
	"fmt"
	"io"
	"math"
	"os/exec"
	"strconv"
)

// SketchTruth is what is true of a sketch's clip.
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

// SketchFrame is what is true in one frame.
type SketchFrame struct {
	Frame    int          `json:"frame"`
	Stickers []SketchMark `json:"stickers"`
}

// SketchMark is one sticker. Pixels are continuous, (0, 0) the middle of the picture's top left one.
type SketchMark struct {
	Landmark string     `json:"landmark"`
	Colour   string     `json:"colour"`
	Pixel    [2]float64 `json:"pixel"`     // its middle at the middle of its row's exposure, wherever it is
	RadiusPx float64    `json:"radius_px"` // of a circle of its area, facing the camera
	StreakPx float64    `json:"streak_px"` // how far its middle moves while the shutter is open
	Visible  float64    `json:"visible"`   // share of it seen in the picture, 0 to 1
}

// Truth says what is true in a frame.
func (s *Sketch) Truth(frame int) SketchFrame {
	s.prepare(frame)
	f := &s.now
	out := SketchFrame{Frame: frame}
	first := len(f.paint) - len(s.Stickers)
	for i, k := range s.Stickers {
		j := first + i
		t := s.Time(frame)
		o := f.at(j, t)
		for range 8 { // the row decides the time, and the time the row
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
			m.Visible = s.share(j, t)
		}
		out.Stickers = append(out.Stickers, m)
	}
	return out
}

// share is how much of a sticker is seen at a time: of places spread evenly over it (a sunflower's
// spiral), those in the picture that no nearer outline covers.
func (s *Sketch) share(j int, t float64) float64 {
	const places = 160
	f := &s.now
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
			cover, z, _, _, _ := all[i].meet(x, y)
			visible = cover < 0.5 || z > o.z0-lifted
		}
		if visible {
			seen++
		}
	}
	return float64(seen) / places
}

// Write draws every frame and hands the clip to ffmpeg, with the encoder's own arguments; path is
// written by ffmpeg.
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
	err = piped(ctx, program, args, func(to io.Writer) error {
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
