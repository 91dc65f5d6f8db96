package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

const (
	// farOut is the largest distance of a mark beyond the picture's edge, in widths or
	// heights of the picture: a foot may be out of view.
	farOut = 1.0

	// mostApart is the largest difference, in degrees, between the angle of the lines and
	// r.PictureAngleDeg. The roll of a camera causes a smaller difference.
	mostApart = 30
)

func checkPicture(img image.Image) error {
	if img == nil || img.Bounds().Empty() {
		return draw.Problem("open the take and hand over one of its frames", "there is no picture to draw on")
	}
	return nil
}

func checkReading(r *reading.Reading) error {
	if r == nil {
		return draw.Problem("read a frame first", "there is no reading to draw")
	}
	if !draw.Angles(r.AngleDeg, r.PictureAngleDeg, r.IntervalDeg[0], r.IntervalDeg[1]) {
		return draw.Problem(draw.ReadAgain, "the reading's angle (%g) or its interval (%g to %g) is not an angle in degrees",
			r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	}
	if r.IntervalDeg[1] < r.IntervalDeg[0] {
		return draw.Problem(draw.ReadAgain, "the reading's interval ends (%g) below its start (%g)", r.IntervalDeg[1], r.IntervalDeg[0])
	}
	if u := r.ExpandedUncertaintyDeg; !(u >= 0 && draw.Angles(u)) {
		return draw.Problem(draw.ReadAgain, "the reading's expanded uncertainty (%g) is not known", u)
	}
	if !(r.Coverage > 0 && r.Coverage < 1) {
		return draw.Problem(draw.ReadAgain, "the reading's coverage (%g) is not a probability between 0 and 1", r.Coverage)
	}
	if err := draw.CheckDensity(r.Density); err != nil {
		return err
	}
	if r.Skill != nil && r.Verdict != nil {
		return draw.CheckVerdict(*r.Skill, *r.Verdict, false)
	}
	return nil
}

// checkMarks checks the marks and lines drawn on a picture of w by h pixels.
func checkMarks(r *reading.Reading, w, h int) error {
	if r.Take.WidthPx > 0 && r.Take.HeightPx > 0 && (r.Take.WidthPx != w || r.Take.HeightPx != h) {
		return draw.Problem("draw on the frame that was read", "the reading is of a picture of %d by %d pixels, and this one has %d by %d",
			r.Take.WidthPx, r.Take.HeightPx, w, h)
	}
	if r.Turn != 1 && r.Turn != -1 {
		return draw.Problem(draw.ReadAgain, "the reading does not say which way round its angle opens (turn is %d)", r.Turn)
	}
	near := func(x, y float64) bool {
		fw, fh := float64(w), float64(h)
		return x >= -farOut*fw && x <= (1+farOut)*fw && y >= -farOut*fh && y <= (1+farOut)*fh
	}
	for _, m := range r.Shown() {
		if !near(m.X, m.Y) {
			return draw.Problem("place the mark again", "mark %q lies at (%g, %g), far outside the picture", m.Landmark, m.X, m.Y)
		}
		if _, err := draw.EllipseOf(m); err != nil {
			return err
		}
	}
	for i, l := range r.Lines {
		if !near(l.FromX, l.FromY) || !near(l.ToX, l.ToY) {
			return draw.Problem(draw.ReadAgain, "line %d of the reading lies far outside the picture", i+1)
		}
		if math.Hypot(l.ToX-l.FromX, l.ToY-l.FromY) < 1e-6 {
			return draw.Problem("place its two marks apart", "line %d of the reading, from %q to %q, has no length", i+1, l.From, l.To)
		}
	}
	if s := draw.Sweep(r); math.Abs(s-r.PictureAngleDeg) > mostApart {
		return draw.Problem(draw.ReadAgain, "the reading says that the picture shows %.1f degrees, and its lines stand %.1f apart", r.PictureAngleDeg, s)
	}
	return nil
}
