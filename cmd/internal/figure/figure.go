package figure

import (
	"errors"
	"image"
	"image/png"
	"io"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"

	xdraw "golang.org/x/image/draw"
)

// Widths of a drawing, in pixels.
const (
	DefaultWidth = 1280
	MinWidth     = 320
	MaxWidth     = 8000
)

// Options are what a drawing may be told; the zero value is sensible.
type Options struct {
	// Width of the result in pixels; 0 is DefaultWidth. Text grows with it: it is
	// never smaller than 13 px once the result is shown 400 px wide.
	Width int

	// Who is written beside the measure: an athlete's pseudonym, a row's name.
	Who string

	// Whole shows all of the frame even where the athlete is small in it; without
	// it such a frame is cut to the part about the marks, and the figure says so.
	Whole bool

	// Covers hide parts of the picture, a head above all: see HeadCover. A figure
	// with covers is one that is handed out, and does not name the take's file.
	Covers []Cover

	// Part is the part of the frame that Picture shows, in pixels of the take; it may
	// reach beyond the frame, where it is paper. Empty leaves the choice to it.
	Part image.Rectangle

	// Text is the size of the words that Picture writes, in pixels; 0 is that of a
	// figure as wide as it.
	Text float64

	// Words says the landmarks and "asked" in another language; nil is English.
	Words func(english string) string

	// RangeDeg fixes the two ends of the ruler, so that stacked rulers line up;
	// where they are equal the ruler chooses its own.
	RangeDeg [2]float64

	// Format writes a value and its expanded uncertainty for people; nil is
	// uncertainty.Format.
	Format func(value, expanded float64) (v, u string)
}

// Frame draws the annotated frame: img, of which r was read, with the fan on it,
// and the reading in words and on a ruler beside or below it. The marks of r are
// in pixels of img, (0, 0) being the centre of its top-left pixel, whatever its
// bounds.
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

// Picture draws the part of img that shows the athlete with the covers and the fan
// on it, and nothing beside: what a page pastes in. opt.Width is how wide it comes
// out; its height follows from the part shown.
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

// onPaper is img with paper about it as far as part reaches.
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

// papered is a picture whose pixel (0, 0) is that of the frame and not its bounds' corner.
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

// EncodePNG writes img as a PNG that holds the picture and nothing else: no time,
// no place, no name of a program.
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
