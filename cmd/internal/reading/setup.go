package reading

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/geometry/uncertainty"
)

// filmDiagonal is the diagonal of the 36 x 24 mm frame that "35 mm equivalent"
// refers to, mm.
var filmDiagonal = math.Hypot(36, 24)

// setup describes how the picture was taken: the corrections of a pixel, and the blocks for what is
// not known of the camera.
//
// A pixel is straightened (lens), then rectified (four corners, if given). The result is an image
// point, y down, in image units: pixels or, with corners, millimetres in the rectangle's plane.
type setup struct {
	size      [2]int
	principal geometry.Point
	lens      *camera.Lens // scaled to this picture; nil: only a prior
	lensReach float64      // px: half the picture's diagonal, for which the prior on the lens is stated
	plane     *corners
	focal     float64 // px, mean; 0: not known, follows from the distance
	focalSD   float64 // px, standard uncertainty of focal
	scale     float64 // px per mm at the rectangle, with corners
	scaleSD   float64 // relative, of pxPerMm
	pxPerMm   float64 // image units per mm; 0: from stature

	lensBlock   *uncertainty.Block
	cornerBlock *uncertainty.Block
	ahead       *uncertainty.Block // how far the movement is in front of the rectangle, mm; with corners
	roll        uncertainty.Block
	pitch, yaw  uncertainty.Block
	perspective *uncertainty.Block // a distance in mm, or with focalDrawn a focal length in px
	focalDrawn  bool
	how         map[string]string
}

// corners are the four corners of a rectangle, straightened at their means.
type corners struct {
	at            [4]geometry.Point
	by            [4]camera.Straightened
	width, height float64 // mm
}

// stature is the athlete's height, mm, and its relative standard uncertainty.
func (q *Request) stature() (mm, relative float64) {
	p := q.Priors.Stature
	if q.StatureMm > 0 {
		return q.StatureMm, p.GivenSDMm / q.StatureMm
	}
	return p.MeanMm, p.SDMm / p.MeanMm
}

// click is the standard deviation of a hand click in this picture, px.
func (q *Request) click() float64 {
	p := q.Priors.Placement
	return p.SDPx * math.Max(1, float64(max(q.Take.WidthPx, q.Take.HeightPx))/p.LongSidePx)
}

// setup determines the camera's setup from the request and the priors.
func (q *Request) setup() (*setup, error) {
	w, h := q.Take.WidthPx, q.Take.HeightPx
	s := &setup{size: [2]int{w, h}, principal: geometry.Point{X: float64(w-1) / 2, Y: float64(h-1) / 2},
		lensReach: math.Hypot(float64(w), float64(h)) / 2, how: map[string]string{}}
	for _, step := range []func(*Request) error{s.setLens, s.setFocal, s.setPlane, s.setPerspective, s.setOblique, s.setLevel} {
		if err := step(q); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *setup) setLens(q *Request) error {
	unknownLens := func(why string) {
		p := q.Priors.Lens.LeftOver
		b := uncertainty.NewUniform(SourceLens, -p*float64(s.size[1])/s.lensReach, p*float64(s.size[1])/s.lensReach)
		s.lensBlock = &b
		s.how[SourceLens] = fmt.Sprintf("%s: up to %.2g %% of the height is left", why, 100*p)
	}
	if q.Lens == nil {
		unknownLens("no lens file")
		return nil
	}
	l, err := q.Lens.Scale(s.size[0], s.size[1])
	if err != nil {
		return fault.New(err.Error(), "make a lens from pictures of this shape: "+fault.Operation("make a lens"))
	}
	s.lens, s.principal, s.focal = l, geometry.Point{X: l.Cx, Y: l.Cy}, (l.Fx+l.Fy)/2
	s.focalSD = q.Priors.Focal.GivenSD * s.focal
	if l.Covariance == nil {
		unknownLens("a lens file that does not say how well it is known")
		return nil
	}
	s.how[SourceLens] = "a lens file"
	b, err := uncertainty.NewNormal(SourceLens, make([]float64, camera.LensParameters), l.Covariance)
	if err != nil {
		return fault.New("the lens file's covariance cannot be used: "+err.Error(), "make the lens again: "+fault.Operation("make a lens"))
	}
	s.lensBlock = &b
	s.focalSD = math.Sqrt(l.Covariance.At(0, 0)+l.Covariance.At(1, 1)+2*l.Covariance.At(0, 1)) / 2 // of the mean of fx and fy
	return nil
}

func (s *setup) setFocal(q *Request) error {
	if q.FocalMm == 0 || s.lens != nil {
		return nil
	}
	s.focal = q.FocalMm / filmDiagonal * 2 * s.lensReach
	s.focalSD = q.Priors.Focal.GivenSD * s.focal
	return nil
}

// setPlane sets the plane of the four corners, if they were marked.
func (s *setup) setPlane(q *Request) error {
	r := q.Marks.Plane
	if r == nil {
		return nil
	}
	c := &corners{width: 1000 * r.WidthM, height: 1000 * r.HeightM}
	var straight [4]geometry.Point
	for i, p := range r.Corners {
		c.at[i] = geometry.Point{X: p[0], Y: p[1]}
		by, err := s.straighten(c.at[i])
		if err != nil {
			return err
		}
		c.by[i], straight[i] = by, by.At
	}
	if err := camera.CheckCorners(straight, r.WidthM, r.HeightM); err != nil {
		return err
	}
	s.plane = c
	plane := camera.NewPlane(straight, c.width, c.height)
	s.scale, s.pxPerMm = plane.Scale(geometry.Point{}), 1
	sd := q.click()
	cov := mat.NewSymDense(8, nil)
	for i := range 8 {
		cov.SetSym(i, i, sd*sd)
	}
	b, err := uncertainty.NewNormal(SourceOblique, make([]float64, 8), cov)
	if err != nil {
		return err
	}
	s.cornerBlock = &b
	ahead := uncertainty.NewUniform(SourcePerspective, 0, 1000*q.Priors.Plane.AheadM)
	s.ahead = &ahead
	return nil
}

func (s *setup) setPerspective(q *Request) error {
	p := q.Priors
	switch {
	case s.focal > 0:
		b := uncertainty.NewScalar(SourcePerspective, s.focal, s.focalSD)
		s.perspective, s.focalDrawn = &b, true
		s.how[SourcePerspective] = "the lens file's focal length"
		if s.lens == nil {
			s.how[SourcePerspective] = fmt.Sprintf("focal length %.3g mm (35 mm equivalent)", q.FocalMm)
		}
	case q.DistanceM > 0:
		b := uncertainty.NewScalar(SourcePerspective, q.DistanceM*1000, p.Distance.GivenSD*q.DistanceM*1000)
		s.perspective = &b
		s.how[SourcePerspective] = fmt.Sprintf("camera %g m away as given", q.DistanceM)
	default:
		b := uncertainty.NewUniform(SourcePerspective, p.Distance.FromM*1000, p.Distance.ToM*1000)
		s.perspective = &b
		s.how[SourcePerspective] = fmt.Sprintf("camera %g to %g m away", p.Distance.FromM, p.Distance.ToM)
	}
	if s.plane == nil && s.focal > 0 && q.DistanceM > 0 {
		s.pxPerMm = s.focal / (q.DistanceM * 1000)
		s.scaleSD = math.Hypot(p.Distance.GivenSD, s.focalSD/s.focal)
	}
	return nil
}

func (s *setup) setOblique(q *Request) error {
	p := q.Priors
	yaw, pitch := p.Oblique.YawDeg[q.Camera], p.Oblique.PitchDeg[q.Camera]
	s.how[SourceOblique] = fmt.Sprintf("camera %s: yaw %g°, pitch %g°", q.Camera, yaw, pitch)
	switch {
	case s.plane != nil:
		yaw, pitch = p.Plane.YawDeg, p.Plane.PitchDeg
		s.how[SourceOblique] = fmt.Sprintf("four corners, and a movement along them within %g°", yaw)
	case q.ObliqueDeg > 0:
		yaw, pitch = q.ObliqueDeg, math.Min(q.ObliqueDeg, p.Oblique.PitchDeg["unknown"])
		s.how[SourceOblique] = fmt.Sprintf("as given: yaw %g°, pitch %g°", yaw, pitch)
	}
	if isFrontal(q.Measure) {
		pitch = math.Hypot(pitch, p.Oblique.LeanDeg)
		s.how[SourceOblique] += fmt.Sprintf("; the body leans by %g°", p.Oblique.LeanDeg)
	}
	s.yaw = uncertainty.NewScalar(SourceOblique, 0, yaw*float64(geometry.Degree))
	s.pitch = uncertainty.NewScalar(SourceOblique, 0, pitch*float64(geometry.Degree))
	return nil
}

func (s *setup) setLevel(q *Request) error {
	half := q.Priors.Level.HalfWidthDeg
	s.how[SourceLevel] = fmt.Sprintf("held by hand, within %g°", half)
	if s.plane != nil {
		half = q.Priors.Plane.LevelHalfWidthDeg
		s.how[SourceLevel] = fmt.Sprintf("the rectangle is level within %g°", half)
	}
	s.roll = uncertainty.NewUniform(SourceLevel, -half*float64(geometry.Degree), half*float64(geometry.Degree))
	l := q.Marks.Level
	if l == nil {
		return nil
	}
	var ends [2]geometry.Point
	for i, p := range l {
		at, err := s.image(geometry.Point{X: p[0], Y: p[1]})
		if err != nil {
			return err
		}
		ends[i] = at
	}
	sd := q.click()
	if s.plane != nil {
		sd /= s.scale
	}
	roll, u, err := camera.Level(ends[0], ends[1], sd)
	if err != nil {
		return fault.New(err.Error(), "mark two far points on something level or plumb: a beam, a mat's edge, a door frame")
	}
	if 1.96*float64(u) >= 0.95*half*float64(geometry.Degree) { // the 95 % interval of the marks against that of the prior
		s.how[SourceLevel] += "; the two marks for level lie too near each other to say more"
		return nil
	}
	s.roll, s.how[SourceLevel] = uncertainty.NewScalar(SourceLevel, float64(roll), float64(u)), "two marks for level"
	return nil
}

// straighten removes the lens's distortion from a pixel, with derivatives.
func (s *setup) straighten(px geometry.Point) (camera.Straightened, error) {
	if s.lens == nil {
		return camera.Straightened{At: px, ByPixel: [2][2]float64{{1, 0}, {0, 1}}}, nil
	}
	by, err := s.lens.Differentiate(px)
	if errors.Is(err, camera.ErrBeyondLens) {
		return by, fault.New(fmt.Sprintf("%v: (%.1f, %.1f)", err, px.X, px.Y), "the lens file does not belong to this picture, or was made without boards near its edge")
	}
	return by, err
}

// image is the image point of a pixel with everything at its mean.
func (s *setup) image(px geometry.Point) (geometry.Point, error) {
	by, err := s.straighten(px)
	if err != nil || s.plane == nil {
		return by.At, err
	}
	p := s.nominalPlane()
	at := p.At(by.At)
	return geometry.Point{X: at.X, Y: -at.Y}, nil
}

func (s *setup) nominalPlane() camera.Plane {
	var c [4]geometry.Point
	for i := range c {
		c[i] = s.plane.by[i].At
	}
	return camera.NewPlane(c, s.plane.width, s.plane.height)
}
