package reading

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/geometry/uncertainty"
)

const testLeg = 350 // px

// splitMarks returns the marks of a symmetric split of the given angle, with legs
// 350 px long, seen square, on stickers.
func splitMarks(angleDeg float64) *Marks {
	s, c := math.Sincos((180 - angleDeg) / 2 * math.Pi / 180)
	return &Marks{Schema: MarksSchema, Found: Stickered, Marks: []Placement{
		{Landmark: "hip", X: 960, Y: 540},
		{Landmark: "front-ankle", X: 960 + testLeg*c, Y: 540 + testLeg*s},
		{Landmark: "back-ankle", X: 960 - testLeg*c, Y: 540 + testLeg*s},
		{Landmark: "shoulder", X: 965, Y: 335},
	}}
}

func splitSkill() *Skill {
	return &Skill{Rulebook: "made", Name: "split-leap", Measure: "hip-split", AskedDeg: 180, Provenance: "from-memory",
		Bands: []Band{{"first", "0.10", 0, 20}, {"second", "0.30", 20, 45}, {"third", "no value", 45, math.Inf(1)}}}
}

func request(t testing.TB, m *Marks) Request {
	measure, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	return Request{Take: Take{Name: "made.png", WidthPx: 1920, HeightPx: 1080}, Marks: m, Measure: measure, Skill: splitSkill(), Seed: 1}
}

func read(t testing.TB, q Request) *Reading {
	r, err := Read(q)
	require.NoError(t, err)
	return r
}

// A 150 split seen at yaw 20 reads 148.2 on the picture: tan b' = tan 15 /
// cos 20, scaled orthography. With --oblique 20 the interval holds 150.
func TestObliqueSplitHoldsTheTruth(t *testing.T) {
	b := math.Atan(math.Tan(15*math.Pi/180)/math.Cos(20*math.Pi/180)) * 180 / math.Pi
	q := request(t, splitMarks(180-2*b))
	q.ObliqueDeg = 20
	r := read(t, q)
	assert.InDelta(t, 148.2, r.PictureAngleDeg, 0.05)
	assert.Less(t, r.IntervalDeg[0], 150.0)
	assert.Greater(t, r.IntervalDeg[1], 150.0)
	assert.Greater(t, r.AngleDeg, r.PictureAngleDeg, "yaw makes a split that is short look shorter")
	assert.Equal(t, SourceOblique, r.Budget[0].Source)
	assert.False(t, r.FirstOrder.Valid)
}

func TestOverSplitIsNotFolded(t *testing.T) {
	q := request(t, splitMarks(190))
	q.Camera = "squared"
	r := read(t, q)
	assert.InDelta(t, 190, r.PictureAngleDeg, 1e-9)
	assert.InDelta(t, 190, r.AngleDeg, 1)
	assert.Equal(t, Meets, r.Verdict.Decision)
}

// Equal independent errors s on each axis of three points, two segments of
// length L, near 180: u = (s/L) sqrt(6) rad, from the partials by hand.
func TestRootSixRule(t *testing.T) {
	q := request(t, splitMarks(179.9))
	q.DistanceM = 200
	m, _, err := q.prepare()
	require.NoError(t, err)
	var placement []uncertainty.Block
	var gradient []float64
	g := m.gradient()
	for i := range m.names {
		placement = append(placement, m.blocks[perMark*i])
		gradient = append(gradient, g[perPoint*i:perPoint*i+2]...)
	}
	want := DefaultPriors().Placement.SDPx / testLeg * math.Sqrt(6) * 180 / math.Pi
	// the hip stands off the plane by 14 cm of 200 m, and is larger by so much
	assert.InEpsilon(t, want, uncertainty.FirstOrder(0, placement, gradient, 0.95).Standard, 1e-3)
}

// poses returns marks from which each measure can be read.
func poses() map[string]*Marks {
	side := []Placement{
		{"shoulder", 960, 300, nil, nil, "", false, ""}, {"elbow", 1010, 210, nil, nil, "", false, ""}, {"wrist", 1040, 120, nil, nil, "", false, ""},
		{"hip", 950, 520, nil, nil, "", false, ""}, {"knee", 1010, 690, nil, nil, "", false, ""}, {"ankle", 960, 860, nil, nil, "", false, ""}, {"toe", 1030, 900, nil, nil, "", false, ""},
		{"ribs", 940, 440, nil, nil, "", false, ""},
	}
	front := []Placement{
		{"right-hip", 920, 500, nil, nil, "", false, ""}, {"left-hip", 1000, 505, nil, nil, "", false, ""}, {"right-ankle", 800, 800, nil, nil, "", false, ""}, {"left-ankle", 1160, 790, nil, nil, "", false, ""},
	}
	foot := []Placement{{"left-knee", 1010, 690, nil, nil, "", false, ""}, {"left-ankle", 960, 860, nil, nil, "", false, ""}, {"left-toe", 930, 930, nil, nil, "", false, ""}}
	out := map[string]*Marks{"hip-split": splitMarks(160), "uneven-legs": splitMarks(160), "leg-separation": {Found: Stickered, Marks: front},
		"foot-sickle": {Found: Stickered, Marks: foot, Facing: "camera"}}
	for _, m := range geometry.Measures() {
		if out[m.Name] == nil {
			out[m.Name] = &Marks{Found: Stickered, Marks: side, Facing: "right"}
		}
	}
	return out
}

// The gradient of the whole model, measure by measure and camera by camera,
// against central differences: the step of 1e-3 of an input's spread leaves an
// error of the third derivative, 1e-6 of the first, and of rounding, 1e-12 of
// some hundred degrees.
func TestGradient(t *testing.T) {
	const relative = 1e-5
	for _, measure := range geometry.Measures() {
		for name, with := range map[string]func(*Request){
			"plain":    func(*Request) {},
			"distance": func(q *Request) { q.DistanceM = 4 },
			"focal":    func(q *Request) { q.FocalMm = 26 },
			"lens":     func(q *Request) { q.Lens = testLens() },
			"plane":    func(q *Request) { q.Marks.Plane = testMat() },
			"moving": func(q *Request) {
				q.Movement = &Movement{OffsetDeg: 0.4, FitSDDeg: 0.3, TimingSDDeg: 0.2, Readout: [2]float64{0, 1}, VelocityPx: map[string][2]float64{
					"hip": {900, 100}, "front-ankle": {1000, -300}, "back-ankle": {800, -200}, "knee": {300, 40}, "wrist": {-500, 100}, "left-ankle": {70, 700}}}
			},
			"all": func(q *Request) { q.Lens, q.Marks.Plane = testLens(), testMat() },
		} {
			q := request(t, poses()[measure.Name])
			q.Measure, q.Skill = measure, nil
			q.Marks.Level = &[2]Pixel{{100, 900}, {1800, 960}}
			with(&q)
			m, _, err := q.prepare()
			require.NoError(t, err, measure.Name)
			x := uncertainty.Means(m.blocks)
			g := m.gradient()
			at := 0
			for _, b := range m.blocks {
				for k := range b.Mean {
					if b.Covariance().At(k, k) == 0 {
						at++
						continue
					}
					h := 1e-3 * math.Sqrt(b.Covariance().At(k, k))
					up, down := slices.Clone(x), slices.Clone(x)
					up[at] += h
					down[at] -= h
					want := (m.degrees(up) - m.degrees(down)) / (2 * h)
					scale := math.Abs(want) + 1e-3/math.Sqrt(b.Covariance().At(k, k)) // a thousandth of a degree per spread is nothing
					require.InDelta(t, want, g[at], relative*scale, "%s %s %s %d", measure.Name, name, b.Source, at)
					at++
				}
			}
		}
	}
}

// testLens returns a phone's lens with distortion, with a calibration's covariance.
func testLens() *camera.Lens {
	c := mat.NewSymDense(camera.LensParameters, nil)
	for i, sd := range []float64{4, 4, 3, 3, 0.004, 0.01, 0.0003, 0.0003, 0.01} {
		c.SetSym(i, i, sd*sd)
	}
	c.SetSym(0, 1, 0.9*16)
	c.SetSym(4, 5, -0.8*0.004*0.01)
	return &camera.Lens{Width: 1920, Height: 1080, Fx: 1420, Fy: 1423, Cx: 950, Cy: 548, Dist: [5]float64{0.06, -0.04, 0.0005, -0.0004, 0.01}, Covariance: c}
}

// testMat returns a mat seen at about 20 degrees.
func testMat() *Rectangle {
	return &Rectangle{Corners: [4]Pixel{{420, 260}, {1500, 180}, {1520, 900}, {400, 800}}, WidthM: 2.4, HeightM: 1.5}
}

// If nothing is oblique and lines are long, first order and Monte Carlo give
// the same number.
func TestFirstOrderAgreesWithMonteCarlo(t *testing.T) {
	q := request(t, splitMarks(170))
	q.ObliqueDeg = 0.1
	r := read(t, q)
	assert.True(t, r.FirstOrder.Valid)
	assert.InEpsilon(t, r.FirstOrder.StandardUncertaintyDeg, r.StandardUncertaintyDeg, 0.01)
	assert.InDelta(t, r.FirstOrder.AngleDeg, r.AngleDeg, 0.05)
}

// The Monte Carlo of the whole reading agrees with a plain one written here: other
// random numbers, and the solution by matrix inversion instead of the 2 x 2 rule.
func TestAgainstPlainMonteCarlo(t *testing.T) {
	q := request(t, splitMarks(150))
	q.Camera = "by-eye"
	q.DistanceM = 1e2 // so far away that scaled orthography is as good
	r := read(t, q)
	p := DefaultPriors()
	rng := rand.New(rand.NewPCG(11, 12))
	d := p.Depth
	const degree = math.Pi / 180
	// leg, leg and trunk are 350, 350 and 205.06 px
	parts := 2*p.Segments.Fraction["hip-ankle"] + p.Segments.Fraction["hip-shoulder"]
	stature := (2*testLeg + math.Hypot(5, 205)) / parts
	const n = 200_000
	out := make([]float64, n)
	for i := range out {
		tall := 1 + p.Stature.SDMm/p.Stature.MeanMm*rng.NormFloat64()
		sy, cy := math.Sincos(rng.NormFloat64() * 10 * degree)
		sp, cp := math.Sincos(rng.NormFloat64() * 5 * degree)
		// the hip is on the near side; one leg is too, the other on the far one
		skin := func(kind string) float64 { return d.Sagittal.Skin[kind] * (1 + d.Spread.Skin*rng.NormFloat64()) }
		side := rng.NormFloat64()
		depth := [3]float64{d.Joint["hip"]*(1+d.Spread.Joint*rng.NormFloat64()) + skin("hip")}
		for k := 1; k < 3; k++ {
			whole, shank := p.Segments.Fraction["hip-ankle"], p.Segments.Fraction["knee-ankle"]
			depth[k] = skin("ankle") + side*(d.Joint["hip"]+whole*d.Sagittal.OutDeg["leg"]*degree) +
				whole*d.Sagittal.LeanDeg["leg"]*degree*rng.NormFloat64() + shank*d.Sagittal.LeanDeg["shank"]*degree*rng.NormFloat64()
			side = -side
		}
		var clicked, plane [3][2]float64
		for k, pl := range q.Marks.Marks[:3] {
			clicked[k] = [2]float64{pl.X - 960 + 1.5*rng.NormFloat64(), 540 - pl.Y + 1.5*rng.NormFloat64()}
		}
		seen := func(stature float64) {
			for k, c := range clicked {
				// x = X cos yaw + Z sin yaw; y = X sin pitch sin yaw + Y cos pitch - Z sin pitch cos yaw
				z := stature * depth[k]
				X := (c[0] - z*sy) / cy
				plane[k] = [2]float64{X, (c[1] - X*sp*sy + z*sp*cy) / cp}
			}
		}
		seen(stature)
		grown := (math.Hypot(plane[1][0]-plane[0][0], plane[1][1]-plane[0][1]) + math.Hypot(plane[2][0]-plane[0][0], plane[2][1]-plane[0][1])) / (2 * testLeg)
		seen(stature * grown)
		for k, pl := range q.Marks.Marks[:3] {
			mm := p.Landmark.SDMm[kindOf(pl.Landmark)] * tall * grown * stature / p.Stature.MeanMm
			plane[k][0] += mm * rng.NormFloat64()
			plane[k][1] += mm * rng.NormFloat64()
		}
		front := math.Atan2(plane[1][1]-plane[0][1], plane[1][0]-plane[0][0])
		back := math.Atan2(plane[2][1]-plane[0][1], plane[2][0]-plane[0][0])
		out[i] = math.Mod((front-back)*180/math.Pi+720, 360)
	}
	slices.Sort(out)
	// four standard deviations of a 2.5 % quantile from n draws, 2.7 u/sqrt(n), and of a hundred metres' perspective
	near := 4*2.7*r.StandardUncertaintyDeg/math.Sqrt(n) + 0.05
	assert.InDelta(t, out[n/40], r.IntervalDeg[0], near)
	assert.InDelta(t, out[n-n/40], r.IntervalDeg[1], near)
}

func TestSameSeedSameBytes(t *testing.T) {
	one, err := json.Marshal(read(t, request(t, splitMarks(160))))
	require.NoError(t, err)
	two, err := json.Marshal(read(t, request(t, splitMarks(160))))
	require.NoError(t, err)
	assert.Equal(t, string(one), string(two))
	q := request(t, splitMarks(160))
	q.Seed = 2
	three, err := json.Marshal(read(t, q))
	require.NoError(t, err)
	assert.NotEqual(t, string(one), string(three))
}

func TestBudgetAddsUp(t *testing.T) {
	q := request(t, splitMarks(140))
	r := read(t, q)
	var share float64
	for i, row := range r.Budget {
		share += row.Share
		if i > 0 && row.Source != uncertainty.Interaction && r.Budget[i-1].Source != uncertainty.Interaction {
			assert.GreaterOrEqual(t, r.Budget[i-1].StandardUncertaintyDeg, row.StandardUncertaintyDeg)
		}
	}
	assert.InDelta(t, 1, share, 1e-9)
	assert.Contains(t, r.NotIncluded, SourceTiming)
	const unnoticed = "damage that the decoder of an HEVC clip does not notice"
	assert.NotContains(t, r.NotIncluded, unnoticed)
	q.Take.Unjudged = true
	assert.Contains(t, read(t, q).NotIncluded, unnoticed)
}

func TestVerdict(t *testing.T) {
	q := request(t, splitMarks(150))
	q.Camera = "squared"
	r := read(t, q)
	v := r.Verdict
	assert.Equal(t, Short, v.Decision)
	sum := v.MeetsProbability
	for _, b := range v.Bands {
		sum += b.Probability
	}
	assert.InDelta(t, 1, sum, 1e-9, "bands without gaps share out all of it")
	assert.Greater(t, v.Bands[1].Probability, 0.95)

	q = request(t, splitMarks(179))
	r = read(t, q)
	assert.Equal(t, Undecided, r.Verdict.Decision)
	assert.Greater(t, r.Verdict.NeededStandardUncertaintyDeg, 0.0)
	assert.Less(t, r.Verdict.NeededStandardUncertaintyDeg, r.StandardUncertaintyDeg)
	assert.Contains(t, r.Say(), "cannot decide between")
}

// off-vertical is a magnitude: leaning either way falls short alike.
func TestMagnitudeIsJudgedOnBothSides(t *testing.T) {
	m, _ := geometry.Lookup("off-vertical")
	skill := &Skill{Rulebook: "made", Name: "handstand", Measure: "off-vertical", AtMost: true, FreeDeg: 10,
		Bands: []Band{{"", "0.10", 10, 30}, {"", "0.30", 30, math.Inf(1)}}}
	var short []float64
	for _, lean := range []float64{200, -200} {
		q := request(t, &Marks{Marks: []Placement{{"wrist", 960, 900, nil, nil, "", false, ""}, {"ankle", 960 + lean, 200, nil, nil, "", false, ""}}})
		q.Measure, q.Skill = m, skill
		r := read(t, q)
		assert.InDelta(t, math.Atan(200.0/700)*180/math.Pi, r.PictureAngleDeg, 1e-9)
		short = append(short, r.Verdict.Bands[0].Probability)
	}
	assert.InDelta(t, short[0], short[1], 0.02) // the same but for the random draws
}

// Level and roll: a camera rolled by 10 degrees with two marks on a level beam
// reads a plumb body as plumb.
func TestLevelIsTakenOut(t *testing.T) {
	m, _ := geometry.Lookup("off-vertical")
	mapper := camera.View{Roll: 10 * geometry.Degree, Reference: geometry.Point{X: 960, Y: 540}}.Mapper()
	px := func(x, y float64) Pixel {
		p := mapper.Pixel(geometry.Point{X: x, Y: y}, 0)
		return Pixel{p.X, p.Y}
	}
	wrist, ankle := px(0, -300), px(0, 300)
	marks := &Marks{Marks: []Placement{{"wrist", wrist[0], wrist[1], nil, nil, "", false, ""}, {"ankle", ankle[0], ankle[1], nil, nil, "", false, ""}}}
	q := request(t, marks)
	q.Measure, q.Skill, q.Camera = m, nil, "squared"
	assert.InDelta(t, 10, read(t, q).AngleDeg, 0.2)
	marks.Level = &[2]Pixel{px(-700, -200), px(700, -200)}
	r := read(t, q)
	assert.InDelta(t, 0, math.Abs(r.AngleDeg), 0.2)
	assert.InDelta(t, 10, r.PictureAngleDeg, 1e-6)
}

func TestRepeatedPlacements(t *testing.T) {
	many := &Marks{}
	rng := rand.New(rand.NewPCG(1, 1))
	for _, p := range splitMarks(160).Marks[:3] {
		for range 5 {
			many.Marks = append(many.Marks, Placement{Landmark: p.Landmark, X: p.X + 4*rng.NormFloat64(), Y: p.Y + 4*rng.NormFloat64()})
		}
	}
	g := gather(many, 1.5)
	for _, name := range []string{"hip", "front-ankle", "back-ankle"} {
		var xs, ys []float64
		for _, p := range many.Marks {
			if p.Landmark == name {
				xs, ys = append(xs, p.X), append(ys, p.Y)
			}
		}
		var sxy float64
		for i := range xs {
			sxy += (xs[i] - mean(xs)) * (ys[i] - mean(ys))
		}
		assert.InDelta(t, mean(xs), g[name].at.X, 1e-9)
		assert.InDelta(t, sxy/4/5, g[name].cov.At(0, 1), 1e-9) // JCGM 100:2008, 5.2.3, of the mean of five
		assert.Equal(t, 4.0, g[name].freedom)
	}
	// two placements each: too few alone, pooled they have 6 degrees of freedom
	few := &Marks{}
	var squares float64
	for _, p := range splitMarks(160).Marks[:3] {
		few.Marks = append(few.Marks, p, Placement{Landmark: p.Landmark, X: p.X + 6, Y: p.Y})
		squares += 2 * 3 * 3
	}
	g = gather(few, 1.5)
	assert.Equal(t, 6.0, g["hip"].freedom)
	assert.InDelta(t, squares/6/2, g["hip"].cov.At(0, 0), 1e-9)
	// the default is in proportion to the picture
	q := request(t, splitMarks(160))
	q.Take.WidthPx, q.Priors = 3840, DefaultPriors()
	assert.InDelta(t, 3, q.click(), 1e-9)
}

func mean(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x / float64(len(v))
	}
	return s
}

func TestStatureAndDistanceHelp(t *testing.T) {
	plain := read(t, request(t, splitMarks(150)))
	q := request(t, splitMarks(150))
	q.StatureMm = 1700
	tall := read(t, q)
	sd := func(r *Reading, source string) float64 {
		for _, b := range r.Budget {
			if b.Source == source {
				return b.StandardUncertaintyDeg
			}
		}
		return 0
	}
	// millimetres on a taller athlete turn the leg by less: 1500/1700, and the spread of the unknown stature is gone
	want := 1500.0 / 1700 * math.Hypot(1, 10.0/1700) / math.Hypot(1, 0.1)
	assert.InEpsilon(t, want, sd(tall, SourceLandmark)/sd(plain, SourceLandmark), 0.01)
	assert.NotEmpty(t, plain.Notes)
	assert.Empty(t, tall.Notes)
}

func TestQuickIsTheEstimate(t *testing.T) {
	q := request(t, splitMarks(160))
	q.Camera = "squared"
	a, err := Quick(q)
	require.NoError(t, err)
	assert.InDelta(t, read(t, q).FirstOrder.AngleDeg, a, 1e-12)
}

func TestJSONHasNoHoles(t *testing.T) {
	for name, m := range poses() {
		q := request(t, m)
		q.Measure, _ = geometry.Lookup(name)
		q.Skill, q.MaxDraws = nil, 20_000
		r := read(t, q)
		data, err := json.Marshal(r)
		require.NoError(t, err, name)
		var back Reading
		require.NoError(t, json.Unmarshal(data, &back))
		assert.Equal(t, r.AngleDeg, back.AngleDeg)
		assert.NotNil(t, back.Advice)
	}
}

func BenchmarkRead(b *testing.B) {
	q := request(b, splitMarks(162))
	for b.Loop() {
		r, err := Read(q)
		require.NoError(b, err)
		b.ReportMetric(float64(r.Draws), "draws")
	}
}

// BenchmarkDraws prints draws a second on one core, all sources on, three marks.
func BenchmarkDraws(b *testing.B) {
	q := request(b, splitMarks(162))
	m, _, err := q.prepare()
	require.NoError(b, err)
	draw := uncertainty.Drawer(m.blocks, m.degrees, 1)
	b.ReportAllocs()
	var sink float64
	for b.Loop() {
		sink += draw()
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds()/1e6, "Mdraws/s")
}
