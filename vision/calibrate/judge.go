package calibrate

import (
	"fmt"
	"math"
	"strings"
)

// Limits beyond which a picture, or a set of pictures, should be taken again; common
// practice.
const (
	wantedPictures = 8

	// A picture is blurred if its edges are wider than blurLeast, and wider than
	// blurTimes or blurSquare.
	blurLeast  = 3.0  // px
	blurTimes  = 2.0  // times the median edge width of the pictures
	blurSquare = 0.25 // of a square, beyond which corners lose their shape

	smallSquare = 8.0 // px between corners: the board is too small below that

	leaning     = 20.0 // tilt that determines a focal length, degrees
	wantLeaning = 4    // smallest number of pictures with that tilt
	oneWay      = 0.12 // smallest root mean square of the sine of the tilt about any axis: 7 degrees

	visible = 0.001 // share of the shorter side: a larger uncertainty of the lens shows in angles there

	bent = 3.0 // of the prior's standard deviation: a larger bow contradicts the prior
)

// judge fills in Coverage, Advice and each picture's Retake.
func (r *Result) judge(u *bundle) {
	used := r.used()
	r.Coverage = r.cover()
	var edge []float64
	var residual []float64
	for _, v := range used {
		edge, residual = append(edge, v.EdgePx), append(residual, v.ResidualPx)
	}
	usualEdge, usual := median(edge), median(residual)
	for i := range r.Pictures {
		v := &r.Pictures[i]
		v.Retake = r.fault(v, usualEdge, usual)
	}
	advise := func(format string, a ...any) { r.Advice = append(r.Advice, fmt.Sprintf(format, a...)) }
	if n := len(used); n < wantedPictures {
		advise("%d pictures are few: take ten or so", n)
	}
	lean := 0
	for _, v := range used {
		if v.Tilt.Degrees() >= leaning {
			lean++
		}
	}
	switch weak := weakLean(u); {
	case lean < min(wantLeaning, len(used)):
		advise("the board leans by more than %.0f degrees in %d of %d pictures: lean it 20 to 45 degrees, to each side, and up and down", leaning, lean, len(used))
	case weak < oneWay:
		advise("the board leans one way only: lean it to the sides as well as up and down")
	}
	var missing []string
	worst := 0.0
	for _, p := range r.Coverage.Missing {
		if p.BendStandard > visible*float64(min(r.Lens.Width, r.Lens.Height)) {
			missing, worst = append(missing, p.Name), math.Max(worst, p.BendStandard)
		}
	}
	if len(missing) > 0 {
		known := fmt.Sprintf("known to %.2g px only", worst)
		if math.IsInf(worst, 1) {
			known = "not known"
		}
		advise("the board has hardly been in the %s of the picture, where the lens is %s: hold it there", joined(missing), known)
	}
	if undetermined := r.undetermined(); len(undetermined) > 0 && len(missing) == 0 {
		advise("these pictures say little of %s: bring the board to the edges of the picture", joined(undetermined))
	}
	if bow := r.Sheet.Bow; bow > bent*priorBow && bow > 2*r.Sheet.BowStandard {
		advise("the board is not flat, its ends %.1f %% of its half length off: stick it on something stiff", 100*bow)
	}
}

func (r *Result) fault(v *View, usualEdge, usual float64) string {
	if v.Retake != "" { // set before the fit
		return v.Retake
	}
	if v.Stopped {
		return "the search for the board ended before its time in this picture: take it again"
	}
	if v.Corners == nil {
		return "the board is not found as a whole: keep all of it in the picture, with some white around it"
	}
	var spacing []float64
	for i := range v.Corners {
		spacing = append(spacing, r.Board.spacing(v.Corners, i))
	}
	square := median(spacing)
	blurred := v.EdgePx > blurLeast && (v.EdgePx > blurTimes*usualEdge || v.EdgePx > blurSquare*square)
	switch {
	case blurred:
		return fmt.Sprintf("blurred: its edges are %.1f px wide; hold still, with more light", v.EdgePx)
	case !v.Used:
		return fmt.Sprintf("its corners lie %.2g px off, those of the others %.2g: the board or the camera moved, or the board flexed", v.ResidualPx, usual)
	case square < smallSquare:
		return fmt.Sprintf("the board is small in it, %.0f px a square: come nearer", square)
	}
	return ""
}

// undetermined returns the names of the parameters that the pictures do not determine.
func (r *Result) undetermined() []string {
	var names []string
	for _, p := range r.Parameters {
		if !p.Told {
			names = append(names, p.Name)
		}
	}
	return names
}

// weakLean returns the root mean square over the pictures of the sine of the tilt, about
// the axis for which it is smallest.
func weakLean(u *bundle) float64 {
	var xx, xy, yy float64
	n := float64(len(u.poses))
	for i := range u.poses {
		x, y := u.poses[i].r[0][2], u.poses[i].r[1][2]
		xx, xy, yy = xx+x*x/n, xy+x*y/n, yy+y*y/n
	}
	return math.Sqrt(math.Max(0, (xx+yy)/2-math.Hypot((xx-yy)/2, xy)))
}

func joined(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}
