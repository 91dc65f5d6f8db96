package calibrate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
	"ecart/geometry/camera"
)

// leastPictures is the smallest number of pictures. About ten are recommended.
const leastPictures = 3

// mostFocalUncertainty is the largest relative standard uncertainty of the focal length
// in a usable lens.
const mostFocalUncertainty = 0.1

// Estimate estimates a lens from pictures of one board. It leaves out pictures without
// a board and outliers; the result describes every picture. The error is an *Error if
// the pictures do not determine a lens: too few boards, pictures of several sizes, or an
// undetermined focal length.
func Estimate(pictures []Picture, b Board) (*Result, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	if err := oneSize(pictures); err != nil {
		return nil, err
	}
	r := &Result{Board: b}
	for _, p := range pictures {
		v := View{Picture: p, Used: len(p.Corners) == b.Columns*b.Rows, ResidualPx: math.NaN(), Tilt: geometry.Angle(math.NaN()), Distance: math.NaN()}
		for _, q := range r.Pictures {
			if v.Used && q.Used && slices.Equal(v.Corners, q.Corners) {
				v.Used, v.Retake = false, fmt.Sprintf("the same picture as %q: it counts once", q.Name)
			}
		}
		r.Pictures = append(r.Pictures, v)
	}
	if n := len(r.used()); n < leastPictures {
		return nil, tooFew(n, pictures, b)
	}
	u, err := r.fit()
	if err != nil {
		return nil, err
	}
	if err := r.fill(u); err != nil {
		return nil, err
	}
	r.judge(u)
	return r, nil
}

// used returns the pictures that are used in the fit, in its order.
func (r *Result) used() []*View {
	var out []*View
	for i := range r.Pictures {
		if r.Pictures[i].Used {
			out = append(out, &r.Pictures[i])
		}
	}
	return out
}

// outlier is the ratio to the median residual above which a picture is left out: 0.3 px
// among residuals of 0.1 px is no longer the same noise.
const outlier = 3

// fit fits the lens and leaves out outliers, the worst first. At least two thirds of the
// pictures stay.
func (r *Result) fit() (*bundle, error) {
	least := max(leastPictures, (2*len(r.used())+2)/3)
	for {
		used := r.used()
		var seen [][]geometry.Point
		for _, v := range used {
			seen = append(seen, v.Corners)
		}
		u, err := start(r.Board, seen, used[0].Width, used[0].Height)
		if err == nil {
			err = u.fit()
		}
		if errors.Is(err, errNoFit) {
			return nil, undeterminedFocal()
		}
		if err != nil {
			return nil, err
		}
		var each []float64
		worst := 0
		for i, v := range used {
			v.ResidualPx = math.Sqrt(u.squaresOf(&u.state, i) / float64(len(u.board)))
			v.Tilt, v.Distance = u.poses[i].tilt(), math.Sqrt(u.poses[i].t.dot(u.poses[i].t))
			each = append(each, v.ResidualPx)
			if v.ResidualPx > each[worst] {
				worst = i
			}
		}
		if usual := median(each); !(each[worst] > outlier*usual) || len(used) <= least {
			return u, nil
		}
		used[worst].Used = false
	}
}

func undeterminedFocal() *Error {
	return newError("take ten or so with the board leaning 20 to 45 degrees, to each side, and up and down",
		"these pictures do not tell the focal length: the board must lean, not only move about")
}

// fill copies the result of the fit.
func (r *Result) fill(u *bundle) error {
	l := u.lens()
	size := r.used()[0]
	c := mat.NewSymDense(parameters, nil)
	for i := range parameters {
		for k := i; k < parameters; k++ {
			c.SetSym(i, k, u.covariance.At(i, k))
		}
	}
	r.Lens = &camera.Lens{Width: size.Width, Height: size.Height, Fx: l[fx], Fy: l[fy], Cx: l[cx], Cy: l[cy],
		Dist: [5]float64{l[k1], l[k2], l[p1], l[p2], l[k3]}, Covariance: c}
	r.ResidualPx = math.Sqrt(u.squares(&u.state) / float64(len(u.seen)*len(u.board)))
	r.CornerPx, r.Disagreement = u.sigma, u.spread
	const determined = 0.5 // of the prior's standard deviation: below that the pictures say more than the prior
	names := [parameters]string{"fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3"}
	for i, name := range names {
		p := Parameter{Name: name, Value: l[i], Standard: math.Sqrt(c.At(i, i))}
		if i <= cy {
			p.Unit = "px"
		}
		p.Told = p.Standard < determined*u.prior.deviation(i)
		r.Parameters = append(r.Parameters, p)
	}
	for i := range parameters {
		if p := r.Parameters[i]; math.IsNaN(p.Value-p.Value) || math.IsNaN(p.Standard-p.Standard) {
			return undeterminedFocal()
		}
	}
	if r.Parameters[fx].Standard > mostFocalUncertainty*l[fx] || r.Parameters[fy].Standard > mostFocalUncertainty*l[fy] || !(l[fx] > 0 && l[fy] > 0) {
		return undeterminedFocal()
	}
	if !(l[cx] > -1 && l[cx] < float64(size.Width) && l[cy] > -1 && l[cy] < float64(size.Height)) {
		return undeterminedFocal()
	}
	shape, sd := u.shape(), func(k int) float64 { return math.Sqrt(u.covariance.At(parameters+k, parameters+k)) }
	bow := bowAcross
	for _, k := range []int{bowDown, twist} {
		if math.Abs(shape[k]) > math.Abs(shape[bow]) {
			bow = k
		}
	}
	r.Sheet = Sheet{Bow: math.Abs(shape[bow]), BowStandard: sd(bow), Stretch: math.Abs(shape[stretch]), StretchStandard: sd(stretch)}
	return nil
}

// oneSize returns an error that names two pictures if the sizes differ.
func oneSize(pictures []Picture) error {
	if len(pictures) == 0 {
		return newError("give ten or so pictures of a board, or one clip", "no pictures were given")
	}
	count := map[[2]int]int{}
	for _, p := range pictures {
		count[[2]int{p.Width, p.Height}]++
	}
	if len(count) == 1 {
		return nil
	}
	usual := pictures[0]
	for _, p := range pictures {
		if count[[2]int{p.Width, p.Height}] > count[[2]int{usual.Width, usual.Height}] {
			usual = p
		}
	}
	for _, p := range pictures {
		if p.Width == usual.Width && p.Height == usual.Height {
			continue
		}
		hint := "take all of them with one camera at one setting"
		if p.Width == usual.Height && p.Height == usual.Width {
			hint = "hold the camera the same way up for all of them, and lean the board"
		}
		return newError(hint, "%q is of %d x %d pixels and %q of %d x %d: a lens is for one size", p.Name, p.Width, p.Height, usual.Name, usual.Width, usual.Height)
	}
	return nil
}

func tooFew(n int, pictures []Picture, b Board) *Error {
	hint := fmt.Sprintf("keep the whole board in the picture, flat, sharp and evenly lit; %s counts inner corners, for a board of %d by %d squares", b, b.Columns+1, b.Rows+1)
	if n == len(pictures) || !slices.ContainsFunc(pictures, func(p Picture) bool { return p.Corners == nil }) {
		return newError("take ten or so, the board leaning a different way and in another part of the picture each time",
			"%d %s not enough for a lens: it takes at least %d", n, map[bool]string{true: "picture is", false: "pictures are"}[n == 1], leastPictures)
	}
	var names []string
	for _, p := range pictures {
		if p.Corners == nil {
			names = append(names, fmt.Sprintf("%q", p.Name))
		}
	}
	const shown = 4
	if more := len(names) - shown; more > 0 {
		names = append(names[:shown], fmt.Sprintf("%d more", more))
	}
	return newError(hint, "a board of %s inner corners is found in %d of %d pictures, and a lens takes at least %d; not in %s", b, n, len(pictures), leastPictures, strings.Join(names, ", "))
}
