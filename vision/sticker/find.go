package sticker

import (
	"fmt"
	"image"
	"math"

	"ecart/geometry"
)

// State says how a mark is known.
type State int

// A mark that was found in the picture, one that is only expected there, and one that is not
// known at all.
const (
	Lost State = iota
	Predicted
	Seen
)

// String is lost, predicted or seen.
func (s State) String() string { return [...]string{"lost", "predicted", "seen"}[s] }

// Mark is a sticker in one picture.
type Mark struct {
	Seen State

	// At is the sticker's centre, px; at mid-exposure where it is blurred by its motion. Where it
	// is predicted, At is where it is expected; where it is lost, NaN.
	At geometry.Point

	// Cov is the covariance of At, px^2: of what is seen, from the picture's own noise and the
	// sharpness of the rim; of what is predicted, growing; NaN where it is lost.
	Cov [2][2]float64

	// Radius is that of the circle of the same area, px.
	Radius float64

	// Rim is the share of the sticker's rim that was seen as it should be, 0 to 1: less where
	// something stands before it, or where it reaches out of the picture.
	Rim float64
}

func lostMark() Mark {
	nan := math.NaN()
	return Mark{At: geometry.Point{X: nan, Y: nan}, Cov: [2][2]float64{{nan, nan}, {nan, nan}}}
}

func (r *result) mark() Mark {
	return Mark{Seen: Seen, At: r.at, Cov: r.cov, Radius: r.radius(), Rim: r.share}
}

// Find finds the sticker that somebody pointed at in one picture, and tells its colour. A place
// that is a little off will do. The error is an *Error: there is no sticker.
func Find(p Picture, at geometry.Point) (Mark, Colour, error) {
	var s seeker
	r, err := s.pointed(p, at)
	if err != nil {
		return lostMark(), Colour{}, err
	}
	return r.mark(), shown(r.inside), nil
}

// seeker looks for stickers in pictures. It keeps its memory from one to the next.
type seeker struct {
	fitter fitter
	win    window
	scores scoreMap
	spots  []spot
	queue  []int32
}

// largest is the radius that a sticker may have, as a part of the picture's shorter side.
const largest = 1.0 / 8

// astray is how far from a sticker's rim somebody may have pointed, px.
const astray = 5

// pointed finds the sticker at a place.
func (s *seeker) pointed(p Picture, at geometry.Point) (result, *Error) {
	b := p.Bounds()
	if !(at.X >= -0.5 && at.Y >= -0.5 && at.X < float64(b.Dx())-0.5 && at.Y < float64(b.Dy())-0.5) {
		return result{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%.0f, %.0f is outside the picture, which is %d by %d pixels", at.X, at.Y, b.Dx(), b.Dy()),
			hint: "give a place on the sticker, from the picture's top left corner"}
	}
	most := largest * float64(min(b.Dx(), b.Dy()))
	var best result
	found := false
	for _, o := range [][2]float64{{0, 0}, {0, -astray}, {astray, 0}, {0, astray}, {-astray, 0}} {
		r, ok := s.best(p, geometry.Point{X: at.X + o[0], Y: at.Y + o[1]}, most)
		if !ok || found && !r.clearer(&best) || r.at.Sub(at).Norm() > r.radius()+astray {
			continue
		}
		best, found = r, true
		if o == [2]float64{} {
			break
		}
	}
	if !found {
		c := s.colourAt(p, at)
		return result{}, &Error{Problem: NoSticker, what: fmt.Sprintf("there is no sticker at %.0f, %.0f: what is there is %s", at.X, at.Y, c),
			hint: "point at the middle of a sticker, in a frame in which it is sharp and stands out from what lies around it"}
	}
	return best, nil
}

// best is the sticker that the colour at a place belongs to: of what that colour reaches when it
// is taken narrowly or widely, what is most like a sticker.
func (s *seeker) best(p Picture, at geometry.Point, most float64) (best result, found bool) {
	for _, near := range []float32{0.008, 0.014, 0.022} {
		r, ok := s.grow(p, at, near, most)
		if !ok || found && !r.clearer(&best) {
			continue
		}
		if _, ok := newLook(&r); ok {
			best, found = r, true
		}
	}
	return best, found
}

// sampled is the half side of the square whose mean is the colour at a place.
const sampled = 1

func (s *seeker) lightAt(p Picture, at geometry.Point) (c [3]float64) {
	x, y := int(math.Round(at.X)), int(math.Round(at.Y))
	s.win.load(p, image.Rect(x-sampled, y-sampled, x+sampled+1, y+sampled+1))
	for _, v := range s.win.light {
		for i := range c {
			c[i] += float64(v[i]) / float64(len(s.win.light))
		}
	}
	return c
}

func (s *seeker) colourAt(p Picture, at geometry.Point) Colour { return shown(s.lightAt(p, at)) }

// grow takes the colour at a place, follows it as far as it reaches, and fits an outline to that.
func (s *seeker) grow(p Picture, at geometry.Point, near float32, most float64) (result, bool) {
	if !(image.Point{X: int(math.Round(at.X)), Y: int(math.Round(at.Y))}).In(p.Bounds()) {
		return result{}, false
	}
	t := target{hue: hueOfLight(s.lightAt(p, at)), near: near, bright: 0.25}
	x, y := int(math.Round(at.X)), int(math.Round(at.Y))
	for half := 24; ; half *= 2 {
		s.win.load(p, image.Rect(x-half, y-half, x+half+1, y+half+1))
		s.scores.fillLight(&s.win, &t)
		o, inner, ok := s.patch(x, y, p.Bounds())
		if !ok {
			return result{}, false
		}
		if !inner || 2*o.radius()+6 > float64(half) {
			if float64(half) > 2*most {
				return result{}, false
			}
			continue
		}
		if o.radius() > most {
			return result{}, false
		}
		return s.fitPatch(o, most)
	}
}

// wider is how much wider than its patch a sticker may be: an encoder may leave the sticker's colour in
// its middle alone.
const wider = 1.4

// fitPatch fits an outline to the patch, or to one about it, whichever fits better.
func (s *seeker) fitPatch(o outline, most float64) (best result, found bool) {
	for _, scale := range []float64{1, wider} {
		for i := range o.b {
			o.b[i] /= scale
		}
		r, ok := s.fitter.fit(&s.win, o, &belief{outline: o, shape: 0.35, blurRange: 0.6, longRange: 0.01})
		if long, short := r.axes(); ok && r.likely() && short > 0.25*long && r.radius() < most && (!found || r.clearer(&best)) {
			best, found = r, true
		}
	}
	return best, found
}

// partOf is how much better an outline must fit that lies well within another, whose radius is nested
// times as large, to be more than a part of it: what an encoder leaves of a sticker's rim is darker or
// paler than its middle.
const (
	partOf = 1.35
	nested = 1.25
)

// clearer reports whether r is more like a sticker than o.
func (r *result) clearer(o *result) bool {
	d, a, b := r.at.Sub(o.at).Norm(), r.radius(), o.radius()
	switch {
	case nested*a < b && d < b-a:
		return partOf*r.misfit < o.misfit
	case nested*b < a && d < a-b:
		return r.misfit <= partOf*o.misfit
	}
	return r.misfit < o.misfit
}

// patch is the ellipse of the pixels that hang together with (x, y) by their colour; inner says
// that they end before the window does, but for the picture's own edge.
func (s *seeker) patch(x, y int, all image.Rectangle) (o outline, inner, ok bool) {
	m := &s.scores
	w, h := m.Dx(), m.Dy()
	first := (y-m.Min.Y)*w + x - m.Min.X
	if m.score[first] <= 0 {
		return o, false, false
	}
	s.queue = append(s.queue[:0], int32(first))
	m.score[first] = -1
	inner = true
	var n, sx, sy, xx, xy, yy float64
	for len(s.queue) > 0 {
		i := int(s.queue[len(s.queue)-1])
		s.queue = s.queue[:len(s.queue)-1]
		c, r := i%w, i/w
		fx, fy := float64(c), float64(r)
		n++
		sx += fx
		sy += fy
		xx += fx * fx
		xy += fx * fy
		yy += fy * fy
		if c == 0 && m.Min.X > all.Min.X || r == 0 && m.Min.Y > all.Min.Y ||
			c == w-1 && m.Max.X < all.Max.X || r == h-1 && m.Max.Y < all.Max.Y {
			inner = false
		}
		for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			c, r := c+d[0], r+d[1]
			if c < 0 || r < 0 || c >= w || r >= h {
				continue
			}
			if j := r*w + c; m.score[j] > 0 {
				m.score[j] = -1
				s.queue = append(s.queue, int32(j))
			}
		}
	}
	mx, my := sx/n, sy/n
	// an ellipse of half axes a has the second moment a^2/4; a pixel's own is 1/12
	xx, xy, yy = 4*(xx/n-mx*mx+1.0/12), 4*(xy/n-mx*my), 4*(yy/n-my*my+1.0/12)
	o = circle(geometry.Point{X: mx + float64(m.Min.X), Y: my + float64(m.Min.Y)}, 1, 0.7)
	o.b = inverseRoot(xx, xy, yy)
	return o, inner, n >= 4 && o.sound()
}

// inverseRoot returns the inverse of the symmetric root of a symmetric positive matrix.
func inverseRoot(a, b, c float64) [3]float64 {
	// the root is (M + s I) / t with s = sqrt(det M), t = sqrt(trace M + 2 s)
	s := math.Sqrt(math.Max(a*c-b*b, 1e-12))
	t := math.Sqrt(a + c + 2*s)
	p, q, r := (a+s)/t, b/t, (c+s)/t
	det := p*r - q*q
	return [3]float64{r / det, -q / det, p / det}
}
