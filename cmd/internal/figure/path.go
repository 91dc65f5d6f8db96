package figure

import (
	"fmt"
	"image"
	"image/color"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// pathColours are the colours of the points of a track, in order. They are dark, to contrast
// with their halo.
var pathColours = []color.NRGBA{draw.Measured, {0x1d, 0x5f, 0x8a, 0xff}, {0x3d, 0x6b, 0x21, 0xff}, {0x7a, 0x3c, 0x8c, 0xff}, {0x8a, 0x5a, 0x00, 0xff}, draw.Asked}

// Paths are the paths of a track's points over the picture.
type Paths struct {
	Track    *reading.Track
	From, To int // first and last frame drawn
	At       int // the picture's own frame
	Jumps    []reading.Jump
}

// DrawPaths draws the paths on the whole of img, at the size of img: a line where a point
// was seen, with gaps where it was not seen or jumps; a dot at its position in the picture's
// own frame; and its name.
func DrawPaths(img image.Image, p Paths, covers ...Cover) (image.Image, error) {
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	if p.Track == nil || len(p.Track.Frames) == 0 {
		return nil, draw.Problem("follow a clip first", "there are no paths of no frames")
	}
	size := img.Bounds().Size()
	t := max(11, 0.5*textSize(float64(size.X)))
	l := draw.NewLetters()
	s := newSheet(size.X, size.Y, t, l)
	v := s.photo(img, image.Rectangle{Max: size}, covers)
	for k, name := range p.Track.Landmarks {
		colour := pathColours[k%len(pathColours)]
		for _, run := range p.runs(k) {
			var line []point
			for _, m := range run {
				line = append(line, v.at(m.X, m.Y))
			}
			s.Line(draw.Pen{Colour: colour, Width: 0.16 * t, Halo: 0.08 * t}, line...)
		}
		where, seen := p.now(k)
		if where == nil {
			continue
		}
		at := v.at(where.X, where.Y)
		if seen {
			s.Disc(draw.White, at, 0.42*t)
			s.Disc(colour, at, 0.30*t)
		}
		words := draw.Clean(name)
		if !seen {
			words += " (not seen here)"
		}
		x, anchor := at.X+0.7*t, 0.0
		if x+l.Width(draw.Sans, t, words) > float64(size.X)-0.5*t {
			x, anchor = at.X-0.7*t, 1
		}
		s.HaloText(label{words, x, max(1.2*t, at.Y-0.6*t), anchor, t, draw.Sans, colour}, 0.12*t)
	}
	s.HaloText(label{fmt.Sprintf("frame %d", p.At), t, float64(size.Y) - t, 0, 1.4 * t, draw.Sans, draw.Ink}, 0.12*t)
	return s.image(), nil
}

// runs returns the parts of point k's path without gaps and jumps.
func (p *Paths) runs(k int) [][]reading.Tracked {
	broken := map[int]bool{}
	for _, j := range p.Jumps {
		if j.Landmark == p.Track.Landmarks[k] {
			broken[j.To] = true
		}
	}
	var out [][]reading.Tracked
	last := -2
	for _, f := range p.Track.Frames {
		if m := f.Marks[k]; f.Frame >= p.From && f.Frame <= p.To && m.Seen == reading.Found {
			if f.Frame != last+1 || broken[f.Frame] {
				out = append(out, nil)
			}
			last = f.Frame
			out[len(out)-1] = append(out[len(out)-1], m)
		}
	}
	return out
}

// now returns the position of point k in the picture's own frame, or its last known position
// before it; seen tells which.
func (p *Paths) now(k int) (at *reading.Tracked, seen bool) {
	for i := range p.Track.Frames {
		f := &p.Track.Frames[i]
		if f.Frame > p.At {
			break
		}
		if f.Frame >= p.From && f.Marks[k].Seen == reading.Found {
			at, seen = &f.Marks[k], f.Frame == p.At
		}
	}
	return at, seen
}
