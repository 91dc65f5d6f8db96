package geometry_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
)

const (
	// step is the step of central differences: the cube root of 2^-52, at which the rounding
	// error (2^-52/step) and the truncation error (step^2) are equal.
	step = 6.055454452393343e-06
	// shortestLine is the shortest line of a random configuration; points lie within 2.5
	// of the origin.
	shortestLine = 0.25
	// diffTolerance bounds |central difference - derivative| in radians per unit.
	// Truncation: step^2/6 times the third derivative, 2/shortestLine^3 at most, for the
	// two lines that may share a point: 43 step^2. Rounding: two angles of up to 4.7
	// rad to 2^-52, and coordinates up to 2.5 to 2^-52 over shortestLine on two lines,
	// over 2 step: 25 step^2.
	diffTolerance = 68 * step * step
	// nearlyInLine is how far from straight or folded a near-straight or near-folded
	// configuration is, in radians: the step alone takes it across the fold.
	nearlyInLine = 1e-7
)

// bindings lists, for every measure, landmarks and a facing with which it can be bound.
var bindings = []struct {
	measure string
	names   []string // the landmarks on the lines, in order, then the deciders
	opt     geometry.Options
}{
	{"hip-split", []string{"hip", "front-ankle", "back-ankle", "shoulder"}, geometry.Options{}},
	{"hip-split", []string{"hip", "front-knee", "back-knee"}, geometry.Options{Leg: geometry.Thigh}},
	{"shoulder-flexion", []string{"shoulder", "hip", "elbow"}, geometry.Options{Facing: geometry.FacingRight}},
	{"shoulder-extension", []string{"shoulder", "hip", "wrist"}, geometry.Options{Facing: geometry.FacingLeft}},
	{"pike", []string{"hip", "shoulder", "ankle"}, geometry.Options{Facing: geometry.FacingUp}},
	{"knee-bend", []string{"hip", "knee", "ankle", "shoulder"}, geometry.Options{Facing: geometry.FacingDown}},
	{"elbow-bend", []string{"shoulder", "elbow", "wrist"}, geometry.Options{}},
	{"foot-point", []string{"ankle", "knee", "toe", "hip", "shoulder"}, geometry.Options{Facing: geometry.FacingRight}},
	{"off-vertical", []string{"wrist", "ankle"}, geometry.Options{}},
	{"leg-rise", []string{"hip", "ankle"}, geometry.Options{}},
	{"hip-flexion", []string{"shoulder", "hip", "ankle"}, geometry.Options{Facing: geometry.FacingRight}},
	{"hip-extension", []string{"shoulder", "hip", "knee"}, geometry.Options{Facing: geometry.FacingUp}},
	{"uneven-legs", []string{"hip", "front-ankle", "back-ankle"}, geometry.Options{}},
	{"uneven-legs", []string{"right-hip", "right-ankle", "left-hip", "left-ankle"}, geometry.Options{}},
	{"trunk-arch", []string{"hip", "ribs", "shoulder"}, geometry.Options{Facing: geometry.FacingLeft}},
	{"shoulder-flexion-from-ribs", []string{"shoulder", "ribs", "elbow", "hip"}, geometry.Options{Facing: geometry.FacingRight}},
	{"foot-sickle", []string{"left-knee", "left-ankle", "left-toe"}, geometry.Options{Facing: geometry.FacingAway}},
	{"leg-separation", []string{"right-hip", "right-ankle", "left-hip", "left-ankle", "shoulder"}, geometry.Options{}},
	{"leg-separation", []string{"hip", "right-ankle", "left-ankle"}, geometry.Options{Facing: geometry.FacingCamera}},
}

// configuration places the landmarks at random, with coordinates in [-1, 1]. In two of three
// cases it turns the second line to within nearlyInLine of the direction of the first, or of
// its opposite. It returns nil if a line is too short or the facing does not decide.
func configuration(rng *rand.Rand, i int, measure string, names []string, opt geometry.Options) (map[string]geometry.Point, *geometry.Bound) {
	at := map[string]geometry.Point{}
	for _, n := range names {
		at[n] = geometry.Point{X: 2*rng.Float64() - 1, Y: 2*rng.Float64() - 1}
	}
	m, _ := geometry.Lookup(measure)
	b, err := m.Bind(at, opt)
	if err != nil {
		return nil, nil
	}
	if kind := i % 3; kind != 0 {
		lines := b.Lines()
		u := direction(lines[0], points(&b, at))
		to := cmplx.Rect(shortestLine+rng.Float64(), cmplx.Phase(u)+float64(kind-1)*math.Pi+nearlyInLine*(2*rng.Float64()-1))
		from := at[b.Landmarks()[lines[1].From]]
		at[b.Landmarks()[lines[1].To]] = geometry.Point{X: from.X + real(to), Y: from.Y + imag(to)}
		if b, err = m.Bind(at, opt); err != nil {
			return nil, nil
		}
	}
	for _, l := range b.Lines() {
		if cmplx.Abs(direction(l, points(&b, at))) < shortestLine {
			return nil, nil
		}
	}
	return at, &b
}

func direction(l geometry.LineRef, pts []geometry.Point) complex128 {
	if l.To < 0 {
		return complex(l.Fixed.X, l.Fixed.Y)
	}
	v := complex(pts[l.To].X, pts[l.To].Y) - complex(pts[l.From].X, pts[l.From].Y)
	if l.Mirrored {
		return -cmplx.Conj(v)
	}
	return v
}

// eachConfiguration runs f on a thousand random configurations of every binding.
func eachConfiguration(t *testing.T, f func(t *testing.T, b *geometry.Bound, pts []geometry.Point)) {
	const configurations = 1000
	for i, c := range bindings {
		t.Run(fmt.Sprintf("%d-%s", i, c.measure), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(2024, uint64(i)))
			for done := 0; done < configurations; {
				at, b := configuration(rng, done, c.measure, c.names, c.opt)
				if b == nil {
					continue
				}
				done++
				f(t, b, points(b, at))
			}
		})
	}
}

func TestPartialsAgainstCentralDifferences(t *testing.T) {
	eachConfiguration(t, func(t *testing.T, b *geometry.Bound, pts []geometry.Point) {
		grad := make([]geometry.Vec, len(pts))
		grad[0] = geometry.Vec{X: 1, Y: 1} // Partials must overwrite it
		b.Partials(pts, grad)
		at := b.Angle(pts)
		difference := func(x *float64) float64 {
			was := *x
			high := was + step
			low := was - step
			*x = high
			above := b.Near(pts, at)
			*x = low
			below := b.Near(pts, at)
			*x = was
			return float64(above-below) / (high - low)
		}
		for i := range pts {
			require.InDelta(t, difference(&pts[i].X), grad[i].X, diffTolerance)
			require.InDelta(t, difference(&pts[i].Y), grad[i].Y, diffTolerance)
		}
	})
}

// The angle is that of the quotient of the two lines as complex numbers.
func TestAngleAgainstComplexPhase(t *testing.T) {
	eachConfiguration(t, func(t *testing.T, b *geometry.Bound, pts []geometry.Point) {
		lines := b.Lines()
		want := float64(b.Turn()) * cmplx.Phase(direction(lines[1], pts)/direction(lines[0], pts))
		got := b.Angle(pts)
		require.InDelta(t, 0, math.Remainder(float64(got)-want, 2*math.Pi), angleTolerance)
	})
}

// Where the law of cosines is well conditioned it gives the same size of angle.
func TestAngleAgainstLawOfCosines(t *testing.T) {
	compared := 0
	eachConfiguration(t, func(t *testing.T, b *geometry.Bound, pts []geometry.Point) {
		lines := b.Lines()
		u, v := direction(lines[0], pts), direction(lines[1], pts)
		p, q, r := cmplx.Abs(u), cmplx.Abs(v), cmplx.Abs(u-v)
		cos := (p*p + q*q - r*r) / (2 * p * q)
		if math.Abs(cos) > math.Cos(math.Pi/6) {
			return
		}
		compared++
		require.InDelta(t, math.Acos(cos), math.Abs(float64(b.Angle(pts).Signed())), angleTolerance)
	})
	require.Greater(t, compared, 1000)
}

// Turning the first line by the angle, in the sense of Turn, gives the second.
func TestTurnLeadsFromFirstLineToSecond(t *testing.T) {
	eachConfiguration(t, func(t *testing.T, b *geometry.Bound, pts []geometry.Point) {
		lines := b.Lines()
		u, v := direction(lines[0], pts), direction(lines[1], pts)
		turned := u * cmplx.Rect(1, float64(b.Turn())*float64(b.Angle(pts)))
		require.InDelta(t, 0, cmplx.Phase(turned/v), angleTolerance)
	})
}

// The angle lies in the measure's range, and a magnitude is not negative at the marks with
// which it was bound.
func TestAngleLiesInRange(t *testing.T) {
	ranges := map[string][2]float64{ // degrees
		"hip-split": {0, 360}, "shoulder-flexion": {0, 360}, "shoulder-extension": {0, 360}, "pike": {0, 360}, "foot-point": {0, 360},
		"knee-bend": {-180, 180}, "leg-rise": {-180, 180}, "leg-separation": {-90, 270},
		"elbow-bend": {0, 180}, "off-vertical": {0, 180},
		"hip-flexion": {-90, 270}, "hip-extension": {-90, 270}, "uneven-legs": {-180, 180}, "trunk-arch": {-180, 180},
		"shoulder-flexion-from-ribs": {0, 360}, "foot-sickle": {-180, 180},
	}
	for _, c := range bindings {
		rng := rand.New(rand.NewPCG(7, 7))
		for i := range 300 {
			at, b := configuration(rng, i, c.measure, c.names, c.opt)
			if b == nil {
				continue
			}
			got := b.Angle(points(b, at)).Degrees()
			require.GreaterOrEqual(t, got, ranges[c.measure][0], c.measure)
			require.LessOrEqual(t, got, ranges[c.measure][1], c.measure)
		}
	}
}

// Near has no jump where points scatter through 0 or 360 degrees.
func TestNearIsContinuousAtTheEndOfTheRange(t *testing.T) {
	for _, start := range []float64{0.5, 359.5} {
		arm := func(deg float64) map[string]geometry.Point {
			z := along(-90+deg, 1) // chest to the right, raised forwards
			return marks{"shoulder": {0, 0}, "hip": {0, -1}, "elbow": {real(z), imag(z)}}
		}
		got, b := read(t, "shoulder-flexion", arm(start), geometry.Options{Facing: geometry.FacingRight})
		require.InDelta(t, start, got.Degrees(), poseTolerance)
		for d := -3.0; d <= 3; d += 0.25 {
			assert.InDelta(t, start+d, b.Near(points(&b, arm(start+d)), got).Degrees(), poseTolerance)
		}
	}
}

// A magnitude bound at a slight bend to one side is negative for a bend to the
// other, so that draws about a straight arm centre on 0.
func TestMagnitudeScattersAboutZero(t *testing.T) {
	at := marks{"shoulder": {0, 0}, "elbow": {3, 0}, "wrist": {6, 3 * tan(1)}}
	got, b := read(t, "elbow-bend", at, geometry.Options{})
	require.InDelta(t, 1, got.Degrees(), poseTolerance)
	at["wrist"] = geometry.Point{X: 6, Y: -3 * tan(1)}
	assert.InDelta(t, -1, b.Near(points(&b, at), got).Degrees(), poseTolerance)
}

// A draw that takes the leg past the vertical counts on: 89 and 91, not 89 and 89.
func TestLegRiseIsContinuousPastVertical(t *testing.T) {
	at := marks{"hip": {0, 0}, "ankle": {tan(1), 1}}
	got, b := read(t, "leg-rise", at, geometry.Options{})
	require.InDelta(t, 89, got.Degrees(), poseTolerance)
	at["ankle"] = geometry.Point{X: -tan(1), Y: 1}
	assert.InDelta(t, 91, b.Near(points(&b, at), got).Degrees(), poseTolerance)
}

// Two segments of length L near 180 degrees with an independent error s on each
// axis of the three points give u = (s/L) sqrt(6): the partials' squares add up to
// 4/L^2 at the hip and 1/L^2 at either end. 10 mm gives the figures below, in
// degrees; they were computed from the formula by hand, to 0.01.
func TestPartialsGiveTheSquareRootOfSixRule(t *testing.T) {
	const digit = 0.005 // half the last digit given
	for length, want := range map[float64]float64{300: 4.68, 400: 3.51, 800: 1.75} {
		at := marks{"hip": {0, 0}, "front-ankle": {length, 0}, "back-ankle": {-length, 0}}
		_, b := read(t, "hip-split", at, geometry.Options{})
		grad := make([]geometry.Vec, 3)
		b.Partials(points(&b, at), grad)
		var sum float64
		for _, g := range grad {
			sum += g.Dot(g)
		}
		assert.InDelta(t, want, geometry.Angle(10*math.Sqrt(sum)).Degrees(), digit)
	}
}

// The angle is invariant under translation of all points and, if no line is fixed or
// mirrored, under rotation about the origin: the partials sum to 0, and so do their moments.
func TestPartialsAreInvariantUnderRigidMotion(t *testing.T) {
	const tolerance = 1e-13 // partials are up to 2/shortestLine = 8, rounded to 1e-16, some dozen times
	eachConfiguration(t, func(t *testing.T, b *geometry.Bound, pts []geometry.Point) {
		grad := make([]geometry.Vec, len(pts))
		b.Partials(pts, grad)
		var sum geometry.Vec
		var moment float64
		for i, g := range grad {
			sum = sum.Add(g)
			moment += pts[i].Sub(geometry.Point{}).Cross(g)
		}
		require.InDelta(t, 0, sum.X, tolerance)
		require.InDelta(t, 0, sum.Y, tolerance)
		lines := b.Lines()
		if lines[0].To >= 0 && lines[1].To >= 0 && !lines[0].Mirrored {
			require.InDelta(t, 0, moment, tolerance)
		}
	})
}

// Straight is 0 and not -0, which prints as "-0.0".
func TestZeroHasNoSign(t *testing.T) {
	got, b := read(t, "knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {0, 0}}, geometry.Options{Facing: geometry.FacingRight})
	require.Equal(t, -1, b.Turn())
	assert.Zero(t, got)
	assert.False(t, math.Signbit(float64(got)))
}

// If the ends of a line coincide, the angle is NaN, not 0.
func TestNoAngleWithoutALine(t *testing.T) {
	at := marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}
	_, b := read(t, "hip-split", at, geometry.Options{})
	pts := points(&b, at)
	pts[1] = pts[0]
	grad := make([]geometry.Vec, len(pts))
	b.Partials(pts, grad)
	assert.True(t, math.IsNaN(float64(b.Angle(pts))))
	assert.True(t, math.IsNaN(float64(b.Near(pts, 1))))
	assert.True(t, math.IsNaN(grad[1].X))
}

func TestNothingIsAllocated(t *testing.T) {
	for i, c := range bindings {
		rng := rand.New(rand.NewPCG(1, uint64(i)))
		var b *geometry.Bound
		var at map[string]geometry.Point
		for b == nil {
			at, b = configuration(rng, 0, c.measure, c.names, c.opt)
		}
		pts := points(b, at)
		grad := make([]geometry.Vec, len(pts))
		var sink geometry.Angle
		assert.Zero(t, testing.AllocsPerRun(100, func() { sink += b.Angle(pts) }), "%s Angle", c.measure)
		assert.Zero(t, testing.AllocsPerRun(100, func() { sink += b.Near(pts, 3) }), "%s Near", c.measure)
		assert.Zero(t, testing.AllocsPerRun(100, func() { b.Partials(pts, grad) }), "%s Partials", c.measure)
	}
}

// A bound measure keeps its sense: mirrored points, for which Bind would choose the other
// sense, give 360 degrees minus the angle.
func TestSenseIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		up := rapid.Float64Range(-60, 60).Draw(t, "legs above level")
		at := marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, 8 * tan(up)}, "back-ankle": {-8, 8 * tan(up)}}
		got, b := read(t, "hip-split", at, geometry.Options{})
		require.InDelta(t, 180+2*up, got.Degrees(), poseTolerance)
		pts := points(&b, at)
		pts[1], pts[2] = pts[2], pts[1]
		require.InDelta(t, 180-2*up, b.Angle(pts).Degrees(), poseTolerance)
	})
}
