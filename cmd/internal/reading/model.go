package reading

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

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

// maxPoints is the most points a measure has.
const maxPoints = 4

// stand is how the camera stood: every figure a mean and a standard deviation,
// or two ends, with how it is known.
type stand struct {
	roll, rollSD        float64 // radians; rollUniform: rollSD is the half-width
	rollUniform         bool
	yawSD, pitchSD      float64 // radians
	distanceLo          float64 // mm; equal means: normal about it
	distanceHi          float64
	distanceSD          float64
	rollHow, obliqueHow string
	distanceHow         string
}

// model is a measure bound to the marks of one frame under a camera: it turns
// a vector of inputs into an angle in degrees. The inputs are, one after the
// other: for each landmark its pixel (2), its landmark error in pixels (2) and
// its depth as a part of stature (1); then roll, pitch and yaw in radians, and
// the distance in millimetres.
type model struct {
	bound     geometry.Bound
	names     []string
	principal geometry.Point
	reference geometry.Point
	statureMm float64
	staturePx float64 // how many pixels the athlete's stature would show
	about     geometry.Angle
	blocks    []uncertainty.Block
	how       map[string]string
}

const perPoint = 5

// build lays the blocks out. The order of blocks is the order of the inputs.
func build(b geometry.Bound, marks map[string]placed, measure geometry.Measure, p *Priors, st stand, size [2]int, statureMm, statureSD float64) (*model, error) {
	m := &model{
		bound: b, names: b.Landmarks(), statureMm: statureMm,
		principal: geometry.Point{X: float64(size[0]-1) / 2, Y: float64(size[1]-1) / 2},
		how:       map[string]string{},
	}
	m.staturePx = statureInPixels(b, marks, p)
	for _, n := range m.names {
		m.reference.X += marks[n].at.X / float64(len(m.names))
		m.reference.Y += marks[n].at.Y / float64(len(m.names))
	}
	pxPerMm := m.staturePx / statureMm
	// the scale's own spread widens what millimetres become in pixels
	widen := math.Sqrt(1 + statureSD*statureSD/statureMm/statureMm)
	for _, n := range m.names {
		q := marks[n]
		placement, err := uncertainty.NewStudent(SourcePlacement, []float64{q.at.X, q.at.Y}, q.cov, q.freedom)
		if err != nil {
			return nil, err
		}
		sd := p.Landmark.SDMm[kindOf(n)] * pxPerMm * widen
		landmark, err := uncertainty.NewNormal(SourceLandmark, []float64{0, 0}, mat.NewSymDense(2, []float64{sd * sd, 0, 0, sd * sd}))
		if err != nil {
			return nil, err
		}
		mean, spread := p.depth(measure.Name, measure.Plane, n)
		m.blocks = append(m.blocks, placement, landmark, uncertainty.NewScalar(SourceDepth, mean, spread))
		m.how[SourcePlacement] = q.how
	}
	roll := uncertainty.NewScalar(SourceLevel, st.roll, st.rollSD)
	if st.rollUniform {
		roll = uncertainty.NewUniform(SourceLevel, st.roll-st.rollSD, st.roll+st.rollSD)
	}
	distance := uncertainty.NewUniform(SourcePerspective, st.distanceLo, st.distanceHi)
	if st.distanceSD > 0 {
		distance = uncertainty.NewScalar(SourcePerspective, st.distanceLo, st.distanceSD)
	}
	m.blocks = append(m.blocks, roll,
		uncertainty.NewScalar(SourceOblique, 0, st.pitchSD),
		uncertainty.NewScalar(SourceOblique, 0, st.yawSD),
		distance)
	m.how[SourceLandmark] = fmt.Sprintf("where the bone is, in mm, at about %.2g px a mm", pxPerMm)
	m.how[SourceDepth] = "the body is not flat"
	m.how[SourceLevel] = st.rollHow
	m.how[SourceOblique] = st.obliqueHow
	m.how[SourcePerspective] = st.distanceHow
	m.about = m.angle(uncertainty.Means(m.blocks))
	if m.about != m.about {
		return nil, fault("these marks give no angle", "the two ends of a line may lie on one spot; place them again")
	}
	return m, nil
}

// angle is the measure's angle in its own range at the inputs.
func (m *model) angle(x []float64) geometry.Angle {
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	return m.bound.Angle(pts[:len(m.names)])
}

// degrees is the model that is drawn from: the angle in degrees, unwrapped
// about the estimate. It allocates nothing.
func (m *model) degrees(x []float64) float64 {
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	return m.bound.Near(pts[:len(m.names)], m.about).Degrees()
}

func (m *model) view(x []float64) camera.View {
	s := x[perPoint*len(m.names):]
	return camera.View{
		Roll: geometry.Angle(s[0]), Pitch: geometry.Angle(s[1]), Yaw: geometry.Angle(s[2]),
		InverseFocal: m.inverseFocal(s[3]), Principal: m.principal, Reference: m.reference,
	}
}

// inverseFocal is 1 over the focal length in pixels: the picture's scale at
// the athlete is the focal length over the distance.
func (m *model) inverseFocal(distanceMm float64) float64 {
	return m.statureMm / (m.staturePx * math.Max(distanceMm, m.statureMm/2))
}

func (m *model) points(x []float64, pts *[maxPoints]geometry.Point) {
	mapper := m.view(x).Mapper()
	for i := range m.names {
		p := x[perPoint*i : perPoint*i+perPoint]
		pts[i] = mapper.Plane(geometry.Point{X: p[0] + p[2], Y: p[1] + p[3]}, p[4]*m.staturePx)
	}
}

// gradient is the derivative of degrees at the means, input by input.
func (m *model) gradient() []float64 {
	x := uncertainty.Means(m.blocks)
	v := m.view(x)
	n := len(m.names)
	var pts [maxPoints]geometry.Point
	var by [maxPoints]camera.Derivatives
	for i := range n {
		p := x[perPoint*i : perPoint*i+perPoint]
		pts[i], by[i] = v.Differentiate(geometry.Point{X: p[0] + p[2], Y: p[1] + p[3]}, p[4]*m.staturePx)
	}
	var partial [maxPoints]geometry.Vec
	m.bound.Partials(pts[:n], partial[:n])
	g := make([]float64, len(x))
	at := perPoint * n
	distance := x[at+3]
	for i := range n {
		d, q := by[i], g[perPoint*i:]
		q[0], q[1] = partial[i].Dot(d.PixelX), partial[i].Dot(d.PixelY)
		q[2], q[3] = q[0], q[1]
		q[4] = partial[i].Dot(d.Z) * m.staturePx
		g[at] += partial[i].Dot(d.Roll)
		g[at+1] += partial[i].Dot(d.Pitch)
		g[at+2] += partial[i].Dot(d.Yaw)
		g[at+3] -= partial[i].Dot(d.InverseFocal) * m.inverseFocal(distance) / distance
	}
	for i := range g {
		g[i] = geometry.Angle(g[i]).Degrees()
	}
	return g
}

// statureInPixels is how long the athlete's stature would show: the largest
// that any marked segment of the body says, since bending and looking
// obliquely only shorten a segment. Where the body fixes none of them, the
// longest distance between marks counts as half of it.
func statureInPixels(b geometry.Bound, marks map[string]placed, p *Priors) float64 {
	names := append(b.Landmarks(), b.Deciders()...)
	var best, longest float64
	for i, a := range names {
		for _, c := range names[:i] {
			length := marks[a].at.Sub(marks[c].at).Norm()
			longest = math.Max(longest, length)
			if f, ok := p.fraction(a, c); ok {
				best = math.Max(best, length/f)
			}
		}
	}
	if best == 0 {
		best = 2 * longest
	}
	return best
}
