package reading

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/geometry/uncertainty"
)

// Names of the sources of a budget.
const (
	SourcePlacement   = "placement"
	SourceLandmark    = "landmark"
	SourceLens        = "lens"
	SourceLevel       = "level"
	SourceOblique     = "oblique"
	SourceDepth       = "depth"
	SourcePerspective = "perspective"
	SourceTiming      = "timing"
)

const (
	maxPoints = 4 // landmarks of a measure
	perPoint  = 4 // inputs per landmark
	perMark   = 2 // blocks per landmark
)

// model is a measure bound to the marks of one frame under a camera: it computes an angle in degrees
// from a vector of inputs. These are, in this order:
//
//	per landmark   pixel (2), landmark error in mm (2)
//	depths         1 per landmark, as fractions of stature
//	scale          1, relative to its mean
//	camera         roll, pitch and yaw, radians
//	perspective    1: distance, mm, or focal length, px
//	lens           1 or 9, as differences from the mean; absent if exactly known
//	corners        8, pixels, as differences from the mean; only with a rectangle
//	ahead          1: the rectangle towards the camera, mm; only with a rectangle
//	movement       3, only with a movement: see addMovement
type model struct {
	*setup
	bound     geometry.Bound
	names     []string
	marks     [maxPoints]camera.Straightened // at the means
	mean      [maxPoints]geometry.Point      // pixels
	reference geometry.Point                 // image units
	stature   float64                        // image units
	statureMm float64
	perMm     float64        // image units per mm, mean
	pairs     [][2]int       // marks whose distance the body fixes
	length    float64        // total length of the pairs at the means; 0: the scale does not follow from them
	about     geometry.Angle // at the means
	blocks    []uncertainty.Block

	// indices of the first input of each group; 0: the group is absent
	depthAt, scaleAt, anglesAt, perspectiveAt, lensAt, cornersAt, aheadAt, peakAt int

	movement *Movement
	skew     [maxPoints]geometry.Vec // px per second of readout
}

// build makes the model and its blocks, which are in the order of the inputs.
func build(s *setup, b geometry.Bound, marks map[string]placed, measure geometry.Measure, q *Request) (*model, error) {
	m := &model{setup: s, bound: b, names: b.Landmarks()}
	image := map[string]geometry.Point{}
	for _, name := range slices.Sorted(maps.Keys(marks)) { // in a fixed order: of several faults, always the same one
		at, err := s.image(marks[name].at)
		if err != nil {
			return nil, err
		}
		image[name] = at
	}
	m.stature = statureInUnits(append(b.Landmarks(), b.Deciders()...), image, q.Priors)
	var scaleSD float64
	m.statureMm, scaleSD = q.stature()
	m.perMm = m.stature / m.statureMm
	if s.pxPerMm > 0 {
		m.perMm, scaleSD = s.pxPerMm, s.scaleSD
	}
	m.segments(q.Priors)
	var shown [maxPoints]geometry.Point
	for i, n := range m.names {
		p := marks[n]
		by, err := s.straighten(p.at)
		if err != nil {
			return nil, err
		}
		m.marks[i], m.mean[i], shown[i] = by, p.at, image[n]
		m.reference.X += image[n].X / float64(len(m.names))
		m.reference.Y += image[n].Y / float64(len(m.names))
		if err := m.addMark(p, n, q); err != nil {
			return nil, err
		}
	}
	if err := m.addDepths(measure, q.Priors); err != nil {
		return nil, err
	}
	m.blocks = append(m.blocks, uncertainty.NewScalar(SourceLandmark, 1, scaleSD))
	m.addMovement(q.Movement, q.Priors, m.addShared())
	x := uncertainty.Means(m.blocks)
	m.settle(x, &shown)
	s.how[SourceLandmark] = m.foundWords(q)
	s.how[SourceDepth] = "the body is not flat"
	m.about = m.angle(x)
	if m.about != m.about {
		return nil, fault.New("these marks give no angle", "the two ends of a line may lie on one spot; place them again")
	}
	return m, nil
}

// addMark adds one landmark's blocks.
func (m *model) addMark(p placed, name string, q *Request) error {
	placement, err := uncertainty.NewStudent(SourcePlacement, []float64{p.at.X, p.at.Y}, p.cov, p.freedom)
	if err != nil {
		return err
	}
	found, _ := q.foundOf(name)
	sd := q.Priors.landmarkSD(name, found)
	landmark, err := uncertainty.NewNormal(SourceLandmark, []float64{0, 0}, mat.NewSymDense(2, []float64{sd * sd, 0, 0, sd * sd}))
	if err != nil {
		return err
	}
	m.blocks = append(m.blocks, placement, landmark)
	m.how[SourcePlacement] = p.how
	return nil
}

// addDepths adds the landmarks' depths, which vary together.
func (m *model) addDepths(measure geometry.Measure, priors *Priors) error {
	mean, cov := priors.depths(measure, m.names)
	b, err := uncertainty.NewNormal(SourceDepth, mean, cov)
	m.depthAt = perPoint * len(m.names)
	m.blocks = append(m.blocks, b)
	m.scaleAt = m.depthAt + len(m.names)
	return err
}

// addShared adds the blocks that all landmarks share, and returns the index of the next input.
func (m *model) addShared() int {
	at := m.scaleAt + 1
	m.anglesAt = at
	m.blocks = append(m.blocks, m.roll, m.pitch, m.yaw)
	at += 3
	add := func(b *uncertainty.Block, place *int) {
		if b != nil {
			*place = at
			at += b.Dim()
			m.blocks = append(m.blocks, *b)
		}
	}
	add(m.perspective, &m.perspectiveAt)
	add(m.lensBlock, &m.lensAt)
	add(m.cornerBlock, &m.cornersAt)
	add(m.ahead, &m.aheadAt)
	return at
}

// pixelsPerMm is the picture's scale for output; with corners, perMm is not in pixels.
func (m *model) pixelsPerMm() float64 {
	if m.plane != nil {
		return m.scale
	}
	return m.perMm
}

// angle is the measure's angle at the inputs, in its own range, plus what a movement adds.
func (m *model) angle(x []float64) geometry.Angle {
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	return m.bound.Angle(pts[:len(m.names)]) + m.moved(x)
}

// moved is the angle that the peak of a movement and the timing between frames add.
func (m *model) moved(x []float64) geometry.Angle {
	if m.movement == nil {
		return 0
	}
	return geometry.Angle(x[m.peakAt]+x[m.peakAt+1]) * geometry.Degree
}

// degrees is the model function of the Monte Carlo run: the angle in degrees, unwrapped about the
// estimate. It allocates nothing.
func (m *model) degrees(x []float64) float64 {
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	moved := m.moved(x)
	return (m.bound.Near(pts[:len(m.names)], m.about-moved) + moved).Degrees()
}

// points computes the landmarks' points in the plane of motion from the inputs.
func (m *model) points(x []float64, pts *[maxPoints]geometry.Point) {
	v := m.view(x)
	var plane camera.Plane
	if m.plane != nil {
		plane = m.drawnPlane(x)
		eye, z := plane.Eye(m.focalLength(x), m.principal)
		v.Principal, v.InverseFocal = geometry.Point{X: eye.X, Y: -eye.Y}, 1/z
	}
	var sights [maxPoints]camera.Sight
	var ahead float64
	if m.aheadAt > 0 {
		ahead = x[m.aheadAt]
	}
	mapper := v.Mapper()
	for i := range m.names {
		p := x[perPoint*i : perPoint*i+perPoint]
		dx, dy := p[0]-m.mean[i].X, p[1]-m.mean[i].Y
		if m.movement != nil {
			readout := x[m.peakAt+2]
			dx, dy = dx+m.skew[i].X*readout, dy+m.skew[i].Y*readout
		}
		at := m.straight(&m.marks[i], dx, dy, x)
		if m.plane != nil {
			q := plane.At(at)
			at = geometry.Point{X: q.X, Y: -q.Y}
		}
		sights[i] = mapper.Sight(at)
		pts[i] = sights[i].At(ahead + x[m.depthAt+i]*m.stature)
	}
	// a body seen more obliquely is larger than it appears, and so are depths and errors that are
	// stated relative to it
	grown := m.grown(pts)
	if grown != 1 {
		for i := range m.names {
			pts[i] = sights[i].At(ahead + x[m.depthAt+i]*m.stature*grown)
		}
	}
	scale := m.perMm * grown * math.Max(x[m.scaleAt], leastScale)
	for i := range m.names {
		p := x[perPoint*i : perPoint*i+perPoint]
		pts[i].X += p[2] * scale
		pts[i].Y += p[3] * scale
	}
}

// straight shifts a straightened pixel for a change (dx, dy) of the pixel and of the lens. A
// calibrated lens is known well enough for first derivatives.
func (m *model) straight(s *camera.Straightened, dx, dy float64, x []float64) geometry.Point {
	p := geometry.Point{
		X: s.At.X + s.ByPixel[0][0]*dx + s.ByPixel[0][1]*dy,
		Y: s.At.Y + s.ByPixel[1][0]*dx + s.ByPixel[1][1]*dy,
	}
	switch {
	case m.lensAt == 0:
	case m.lensKnown():
		for k, d := range x[m.lensAt : m.lensAt+camera.LensParameters] {
			p.X += s.Parameters[k].X * d
			p.Y += s.Parameters[k].Y * d
		}
	default:
		v := p.Sub(m.principal)
		p = p.Add(v.Scale(x[m.lensAt] * v.Dot(v) / (m.lensReach * m.lensReach)))
	}
	return p
}

// lensKnown reports whether the lens has a covariance. If not, the remaining distortion is drawn as a
// fraction of the picture's height.
func (m *model) lensKnown() bool { return m.lens != nil && m.lens.Covariance != nil }

func (m *model) drawnPlane(x []float64) camera.Plane {
	var c [4]geometry.Point
	for k := range c {
		d := x[m.cornersAt+2*k:]
		c[k] = m.straight(&m.plane.by[k], d[0], d[1], x)
	}
	return camera.NewPlane(c, m.plane.width, m.plane.height)
}

// view is the camera without corners; with them only its three angles are used.
func (m *model) view(x []float64) camera.View {
	t := x[m.anglesAt:]
	return camera.View{
		Roll: geometry.Angle(t[0]), Pitch: geometry.Angle(t[1]), Yaw: geometry.Angle(t[2]),
		InverseFocal: 1 / m.focalLength(x), Principal: m.principal, Reference: m.reference,
	}
}

// focalLength, px, is known, drawn, or follows from the distance: the picture's scale at the athlete is
// focal length / distance.
func (m *model) focalLength(x []float64) float64 {
	switch {
	case m.perspectiveAt == 0:
		return m.focal
	case m.focalDrawn:
		return math.Max(x[m.perspectiveAt], m.focal/4)
	}
	scale := m.stature / m.statureMm
	if m.plane != nil {
		scale = m.scale
	}
	return scale * math.Max(x[m.perspectiveAt], m.statureMm/2)
}
