package figure

import (
	"fmt"
	"image"
	"math"

	"ecart/cmd/internal/reading"
)

const (
	// farOut is how far beyond the picture a mark may lie, in pictures: a foot may
	// be out of view, but not further than the picture is wide.
	farOut = 1.0

	// largestAngle bounds every angle of a reading, in degrees: two full turns.
	largestAngle = 720

	// mostApart is how far, in degrees, the lines may differ from the angle that
	// the reading says they show. A rolled camera parts the two, and by less.
	mostApart = 30

	// mostBands is more than any rule book has.
	mostBands = 40
)

func problem(do, format string, args ...any) error {
	return &Error{Text: fmt.Sprintf(format, args...), Do: do}
}

const readAgain = "read the frame again; nothing is drawn from numbers that are not known"

func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func angles(vs ...float64) bool {
	for _, v := range vs {
		if !(math.Abs(v) <= largestAngle) {
			return false
		}
	}
	return true
}

func checkPicture(img image.Image) error {
	if img == nil || img.Bounds().Empty() {
		return problem("open the take and hand over one of its frames", "there is no picture to draw on")
	}
	return nil
}

func checkReading(r *reading.Reading) error {
	if r == nil {
		return problem("read a frame first", "there is no reading to draw")
	}
	if !angles(r.AngleDeg, r.PictureAngleDeg, r.IntervalDeg[0], r.IntervalDeg[1]) {
		return problem(readAgain, "the reading's angle (%g) or its interval (%g to %g) is not an angle in degrees",
			r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	}
	if r.IntervalDeg[1] < r.IntervalDeg[0] {
		return problem(readAgain, "the reading's interval ends (%g) below its start (%g)", r.IntervalDeg[1], r.IntervalDeg[0])
	}
	if u := r.ExpandedUncertaintyDeg; !(u >= 0 && u <= largestAngle) {
		return problem(readAgain, "the reading's expanded uncertainty (%g) is not known", u)
	}
	if !(r.Coverage > 0 && r.Coverage < 1) {
		return problem(readAgain, "the reading's coverage (%g) is not a probability between 0 and 1", r.Coverage)
	}
	if err := checkDensity(r.Density); err != nil {
		return err
	}
	if r.Skill != nil && r.Verdict != nil {
		return checkVerdict(*r.Skill, *r.Verdict)
	}
	return nil
}

func checkDensity(d reading.Density) error {
	if len(d.Values) == 0 {
		return nil
	}
	if !angles(d.FromDeg) || !(d.StepDeg > 0 && d.StepDeg*float64(len(d.Values)) <= 2*largestAngle) {
		return problem(readAgain, "the reading's density starts at %g in steps of %g, which cannot be drawn", d.FromDeg, d.StepDeg)
	}
	for i, v := range d.Values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return problem(readAgain, "the reading's density has no value at %g", d.FromDeg+(float64(i)+0.5)*d.StepDeg)
		}
	}
	return nil
}

func checkVerdict(s reading.SkillRef, v reading.Verdict) error {
	if !angles(s.ThresholdDeg, v.ShortfallDeg) {
		return problem("check the rule book", "skill %q asks %g degrees, which is not an angle", s.Name, s.ThresholdDeg)
	}
	if !(v.MeetsProbability >= 0 && v.MeetsProbability <= 1) {
		return problem(readAgain, "the probability of meeting skill %q is given as %g", s.Name, v.MeetsProbability)
	}
	if len(v.Bands) > mostBands {
		return problem("check the rule book", "skill %q has %d bands; at most %d can be drawn", s.Name, len(v.Bands), mostBands)
	}
	for i, b := range v.Bands {
		if !(b.Probability >= 0 && b.Probability <= 1) {
			return problem(readAgain, "the probability of band %q is given as %g", b.Label, b.Probability)
		}
		if !angles(b.FromDeg) || b.ToDeg != nil && !(angles(*b.ToDeg) && *b.ToDeg > b.FromDeg) {
			return problem("check the rule book", "band %q of skill %q has no extent in degrees", b.Label, s.Name)
		}
		if i > 0 && b.FromDeg < v.Bands[i-1].FromDeg {
			return problem("check the rule book", "band %q of skill %q stands before the one it follows", b.Label, s.Name)
		}
	}
	return nil
}

// checkMarks checks what is drawn on the picture, of w by h pixels.
func checkMarks(r *reading.Reading, w, h int) error {
	if r.Take.WidthPx > 0 && r.Take.HeightPx > 0 && (r.Take.WidthPx != w || r.Take.HeightPx != h) {
		return problem("draw on the frame that was read", "the reading is of a picture of %d by %d pixels, and this one has %d by %d",
			r.Take.WidthPx, r.Take.HeightPx, w, h)
	}
	if r.Turn != 1 && r.Turn != -1 {
		return problem(readAgain, "the reading does not say which way round its angle opens (turn is %d)", r.Turn)
	}
	near := func(x, y float64) bool {
		fw, fh := float64(w), float64(h)
		return x >= -farOut*fw && x <= (1+farOut)*fw && y >= -farOut*fh && y <= (1+farOut)*fh
	}
	for _, m := range r.Marks {
		if !near(m.X, m.Y) {
			return problem("place the mark again", "mark %q lies at (%g, %g), far outside the picture", m.Landmark, m.X, m.Y)
		}
		if _, err := ellipseOf(m); err != nil {
			return err
		}
	}
	for i, l := range r.Lines {
		if !near(l.FromX, l.FromY) || !near(l.ToX, l.ToY) {
			return problem(readAgain, "line %d of the reading lies far outside the picture", i+1)
		}
		if math.Hypot(l.ToX-l.FromX, l.ToY-l.FromY) < 1e-6 {
			return problem("place its two marks apart", "line %d of the reading, from %q to %q, has no length", i+1, l.From, l.To)
		}
	}
	if s := sweepOf(r); math.Abs(s-r.PictureAngleDeg) > mostApart {
		return problem(readAgain, "the reading says that the picture shows %.1f degrees, and its lines stand %.1f apart", r.PictureAngleDeg, s)
	}
	return nil
}
