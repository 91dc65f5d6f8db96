package figure

import (
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	xdraw "golang.org/x/image/draw"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// Widths of a drawing, in pixels.
const (
	DefaultWidth = 1280
	MinWidth     = 320
	MaxWidth     = 8000
)

// Options of a drawing; the zero value gives the defaults.
type Options struct {
	// Width of the result in pixels; 0 is DefaultWidth. Text scales with it: it is at
	// least 13 px high when the result is shown 400 px wide.
	Width int

	// Who is printed beside the measure: an athlete's pseudonym or a row's name.
	Who string

	// Whole shows the whole frame. Otherwise a frame in which the athlete is small is
	// cropped to the part about the marks, and the figure says so.
	Whole bool

	// Covers hide parts of the picture, above all the head; see HeadCover. A figure with
	// covers is meant for other people and does not name the take's file.
	Covers []Cover

	// Part is the part of the frame that Picture shows, in pixels of the take. It may
	// extend beyond the frame, and is filled with paper colour there. If it is empty,
	// Picture chooses it.
	Part image.Rectangle

	// Text is the text size in Picture, in pixels; 0 is that of a figure of the same
	// width.
	Text float64

	// Words translates the landmarks and "asked"; nil means English.
	Words func(english string) string

	// RangeDeg gives the two ends of the ruler, so that rulers can be compared. If they
	// are equal, the ruler chooses its own.
	RangeDeg [2]float64

	// Format formats a value and its expanded uncertainty; nil means uncertainty.Format.
	Format func(value, expanded float64) (v, u string)
}

// Frame draws the annotated frame: img with the fan of r on it, and the reading in words
// and on a ruler beside or below it. The marks of r are in pixels of img, with (0, 0) at
// the centre of its top-left pixel, whatever the bounds of img.
func Frame(img image.Image, r *reading.Reading, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	if err := checkReading(r); err != nil {
		return nil, err
	}
	if err := checkMarks(r, img.Bounds().Dx(), img.Bounds().Dy()); err != nil {
		return nil, err
	}
	return drawPage(img, r, opt)
}

// Picture draws the part of img that shows the athlete, with the covers and the fan on it
// and nothing else, for use in a page. opt.Width is the width of the result; its height
// follows from the part shown.
func Picture(img image.Image, r *reading.Reading, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := errors.Join(checkPicture(img), checkReading(r)); err != nil {
		return nil, err
	}
	size := img.Bounds().Size()
	if err := checkMarks(r, size.X, size.Y); err != nil {
		return nil, err
	}
	l := draw.NewLetters()
	part := opt.Part
	switch {
	case part.Empty() && opt.Whole:
		part = image.Rectangle{Max: size}
	case part.Empty():
		part = cutOut(r, size, DefaultWidth)
	case part.Dx() > 4*size.X || part.Dy() > 4*size.Y:
		return nil, draw.Problem("show the frame and what is about it", "a part of %d by %d pixels of a picture of %d by %d is none", part.Dx(), part.Dy(), size.X, size.Y)
	}
	if !part.In(image.Rectangle{Max: size}) {
		img = onPaper(img, part)
	}
	t := opt.Text
	if t == 0 {
		t = textSize(float64(opt.Width))
	}
	h := int(math.Round(float64(opt.Width) * float64(part.Dy()) / float64(part.Dx())))
	return pictureSheet(img, part, r, opt.Width, max(1, h), t, l, opt).image(), nil
}

// onPaper returns img surrounded by paper colour as far as part extends.
func onPaper(img image.Image, part image.Rectangle) papered {
	origin := img.Bounds().Min
	frame := image.Rectangle{Max: img.Bounds().Size()}
	return papered{large.Picture{Rect: part.Union(frame), Part: func(r image.Rectangle) *image.RGBA {
		out := image.NewRGBA(r)
		xdraw.Draw(out, r, image.NewUniform(draw.Paper), image.Point{}, xdraw.Src)
		in := r.Intersect(frame)
		if src, ok := img.(large.Source); ok {
			part := src.Region(in.Add(origin))
			xdraw.Draw(out, in, part, part.Rect.Min, xdraw.Src)
		} else {
			xdraw.Draw(out, in, img, in.Min.Add(origin), xdraw.Src)
		}
		return out
	}}}
}

// papered is a picture in which (0, 0) is the frame's first pixel, not the corner of the
// bounds.
type papered struct{ large.Picture }

// Ruler draws the ruler of r alone, with a line of words above it.
func Ruler(r *reading.Reading, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := checkReading(r); err != nil {
		return nil, err
	}
	l := draw.NewLetters()
	s := newSheet(opt.Width, 0, textSize(float64(opt.Width)), l)
	n := write(r, opt)
	s.Head(0.9*s.T, draw.MeasureTitle(r.Measure), opt.Who, n.Value, n.Plus)
	k := draw.NewRuler(r, opt.RangeDeg, 0.9*s.T, s.W-0.9*s.T)
	s.H = math.Ceil(s.Chances(k, s.Ruler(k, 2.9*s.T)) + 0.9*s.T)
	return s.image(), nil
}

// EncodePNG writes img as a PNG without metadata.
func EncodePNG(w io.Writer, img image.Image) error {
	if img == nil {
		return draw.Problem("draw one first", "there is no picture to write")
	}
	return png.Encode(w, img)
}

func (o Options) filled() (Options, error) {
	if o.Width == 0 {
		o.Width = DefaultWidth
	}
	if o.Width < MinWidth || o.Width > MaxWidth {
		return o, draw.Problem("ask for a width from 320 to 8000 pixels", "a figure cannot be %d pixels wide", o.Width)
	}
	if o.Words == nil {
		o.Words = func(s string) string { return s }
	}
	if o.Text != 0 && !(o.Text >= 4 && o.Text <= 400) {
		return o, draw.Problem("ask for words of 4 to 400 pixels", "words cannot be %g pixels high", o.Text)
	}
	if o.Format == nil {
		o.Format = uncertainty.Format
	}
	if !draw.Angles(o.RangeDeg[:]...) || o.RangeDeg[1] < o.RangeDeg[0] {
		return o, draw.Problem("give its lower end first, both in degrees", "a ruler cannot run from %g to %g", o.RangeDeg[0], o.RangeDeg[1])
	}
	return o, nil
}

// Bare draws opt.Part of img, or all of it, with the covers and without a reading, for
// people who are to judge the picture themselves. opt.Width is the width of the result; its
// height follows from the part.
func Bare(img image.Image, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	l := draw.NewLetters()
	whole := image.Rectangle{Max: img.Bounds().Size()}
	part := opt.Part
	if part.Empty() {
		part = whole
	}
	if !part.In(whole) {
		return nil, draw.Problem("show a part of the frame", "a part from %v to %v of a picture of %d by %d is none", part.Min, part.Max, whole.Dx(), whole.Dy())
	}
	t := opt.Text
	if t == 0 {
		t = textSize(float64(opt.Width))
	}
	h := max(1, int(math.Round(float64(opt.Width)*float64(part.Dy())/float64(part.Dx()))))
	s := newSheet(opt.Width, h, t, l)
	s.photo(img, part, opt.Covers)
	return s.image(), nil
}

// Overlay draws the fan of r on the whole of img, at the size of img, with the angle and
// its interval in a corner: one picture of a clip. A first-order reading (reading.Sketch)
// is sufficient. If r is nil, why is written instead: the reason why the angle is unknown.
// The covers lie under the fan, and are drawn also if r is nil.
func Overlay(img image.Image, r *reading.Reading, why string, covers ...Cover) (image.Image, error) {
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	size := img.Bounds().Size()
	t := max(13, 0.5*textSize(float64(size.X)))
	l := draw.NewLetters()
	if r == nil {
		s := newSheet(size.X, size.Y, t, l)
		s.photo(img, image.Rectangle{Max: size}, covers)
		s.corner(why, draw.Faint)
		return s.image(), nil
	}
	if err := checkMarks(r, size.X, size.Y); err != nil {
		return nil, err
	}
	opt, err := Options{}.filled()
	if err != nil {
		return nil, err
	}
	s := pictureSheet(img, image.Rectangle{Max: size}, r, size.X, size.Y, t, l, Options{Covers: covers})
	v, u := opt.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	s.corner(draw.Minus(v)+"° ± "+u, draw.Measured)
	return s.image(), nil
}

// corner writes words in large type in the lower left corner.
func (s *sheet) corner(words string, colour color.NRGBA) {
	s.HaloText(label{words, s.T, s.H - s.T, 0, 2.2 * s.T, draw.Serif, colour}, 0.12*s.T)
}
