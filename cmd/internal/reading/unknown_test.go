package reading

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"ecart/geometry"
	"ecart/geometry/camera"
)

// givenFacts is a split of an athlete as tall as the prior's mean, seen from the distance whose inverse
// is the mean of the prior's: the given values agree with the prior and are more accurate. Each may
// be left out.
type givenFacts struct {
	sd, rater, lens, distance, stature, camera, level, shoulder, focal, found, knees bool
	measure                                                                          string
	angleDeg                                                                         float64
}

func (o givenFacts) request(t rapid.TB) Request {
	measure, ok := geometry.Lookup(o.measure)
	require.True(t, ok)
	m := splitMarks(o.angleDeg)
	m.Facing = "right"
	if !o.found {
		m.Found = NotSaid
	}
	if !o.shoulder {
		m.Marks = m.Marks[:3]
	}
	if o.knees { // half way down each leg
		hip := m.Marks[0]
		for _, ankle := range m.Marks[1:3] {
			m.Marks = append(m.Marks, Placement{Landmark: strings.Replace(ankle.Landmark, "ankle", "knee", 1), X: (hip.X + ankle.X) / 2, Y: (hip.Y + ankle.Y) / 2})
		}
	}
	if o.level {
		m.Level = &[2]Pixel{{300, 900}, {1600, 900}}
	}
	if o.sd {
		for i := range m.Marks {
			sd := 0.5
			m.Marks[i].SDPx = &sd
		}
	}
	q := Request{Take: Take{Name: "made.png", WidthPx: 1920, HeightPx: 1080}, Marks: m, Measure: measure, Priors: DefaultPriors(), Seed: 1}
	if o.measure == "leg-rise" {
		q.Options.Side = "front"
	}
	d := q.Priors.Distance
	distance := (d.ToM - d.FromM) / math.Log(d.ToM/d.FromM)
	// the marks lie nearer the camera than the plane of motion, and so are larger
	names := []string{"hip", "front-ankle"}
	if o.measure == "hip-split" {
		names = append(names, "back-ankle")
	}
	near, _ := q.Priors.depths(measure, names)
	middle := 0.0
	for _, z := range near {
		middle += z / float64(len(near)) * q.Priors.Stature.MeanMm / 1000
	}
	focalPx := (1 - middle/distance) * testLeg / q.Priors.Segments.Fraction["hip-ankle"] / q.Priors.Stature.MeanMm * distance * 1000
	if o.rater {
		q.Priors.Placement.SDPx = 1
	}
	if o.lens {
		cov := mat.NewSymDense(camera.LensParameters, nil)
		for i, sd := range []float64{5, 5, 3, 3, 0.002, 0.004, 0.0002, 0.0002, 0.004} {
			cov.SetSym(i, i, sd*sd)
		}
		q.Lens = &camera.Lens{Width: 1920, Height: 1080, Fx: focalPx, Fy: focalPx, Cx: 959.5, Cy: 539.5, Covariance: cov}
	}
	if o.focal {
		q.FocalMm = focalPx * filmDiagonal / math.Hypot(1920, 1080)
	}
	if o.distance {
		q.DistanceM = distance
	}
	if o.stature {
		q.StatureMm = q.Priors.Stature.MeanMm
	}
	if o.camera {
		q.Camera = "squared"
	}
	return q
}

// measuresOfLegs has one measure between two legs and one against gravity.
var measuresOfLegs = []string{"hip-split", "leg-rise"}

func anyFacts(t *rapid.T) givenFacts {
	yes := func(what string) bool { return rapid.Bool().Draw(t, what) }
	return givenFacts{yes("sd"), yes("rater"), yes("lens"), yes("distance"), yes("stature"), yes("camera"), yes("level"), yes("shoulder"), yes("focal"), yes("found"), yes("knees"),
		rapid.SampledFrom(measuresOfLegs).Draw(t, "measure"), rapid.Float64Range(120, 178).Draw(t, "angle")}
}

// besideChance is the relative difference by chance of two half-widths of an angle beside the reading: an end of a
// 95 % interval from besideDraws draws has a standard deviation of 1.4 % of the half-width, which is the mean of two (1.0 %),
// and two of them differ by 1.4 %; this is three and a half times as much.
const besideChance = 0.05

// Leaving something out never narrows
// the interval. Each of its two ends is known to a twentieth of a degree, so that half
// its length may change by as much.
func TestLeavingOutNeverNarrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		with := anyFacts(t)
		parts := map[string]*bool{"sd_px": &with.sd, "rater": &with.rater, "lens": &with.lens, "distance": &with.distance, "stature": &with.stature,
			"camera": &with.camera, "level": &with.level, "shoulder": &with.shoulder, "knees": &with.knees, "how found": &with.found}
		what := rapid.SampledFrom([]string{"sd_px", "rater", "lens", "distance", "stature", "camera", "level", "shoulder", "knees", "how found"}).Draw(t, "left out")
		halves := func(there bool) map[string]float64 {
			*parts[what] = there
			r, err := Read(with.request(t))
			require.NoError(t, err)
			out := map[string]float64{"": r.ExpandedUncertaintyDeg}
			for _, b := range r.Beside {
				out[b.Measure+b.Leg] = b.ExpandedUncertaintyDeg
			}
			return out
		}
		full, partial := halves(true), halves(false)
		if partial[""] < full[""]-2*tolerance {
			t.Fatalf("without %s the interval is %.3f degrees either way, with it %.3f", what, partial[""], full[""])
		}
		for name, half := range full {
			if now, ok := partial[name]; ok && now < half*(1-besideChance) {
				t.Fatalf("without %s the interval of %s is %.3f degrees either way, with it %.3f", what, name, now, half)
			}
		}
	})
}

// Every source is in the model, and no covariance is singular.
func TestNoSourceIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyFacts(t).request(t)
		if q.Lens != nil && rapid.Bool().Draw(t, "lens of unknown quality") {
			q.Lens.Covariance = nil
		}
		for i, n := 0, rapid.IntRange(0, 5).Draw(t, "copies of a mark"); i < n; i++ {
			p := q.Marks.Marks[0]
			p.X += float64(i) * rapid.SampledFrom([]float64{0, 1}).Draw(t, "apart")
			q.Marks.Marks = append(q.Marks.Marks, p)
		}
		m, _, err := q.prepare()
		require.NoError(t, err)
		var sources []string
		for i := range m.blocks {
			b := &m.blocks[i]
			sources = append(sources, b.Source)
			var eigen mat.EigenSym
			require.True(t, eigen.Factorize(b.Covariance(), false))
			values := eigen.Values(nil)
			if b.Source != SourceDepth { // its landmarks are correlated: two may move as one
				require.Positive(t, values[0], "%s: %v", b.Source, values)
			}
			for k := range b.Dim() {
				require.Positive(t, b.Covariance().At(k, k), b.Source)
			}
		}
		for _, s := range []string{SourcePlacement, SourceLandmark, SourceLens, SourceLevel, SourceOblique, SourceDepth, SourcePerspective} {
			require.True(t, slices.Contains(sources, s), "nothing is drawn for %s", s)
		}
	})
}

// Two marks for level that are near each other are less accurate than the prior.
func TestNearLevelMarksDoNotWiden(t *testing.T) {
	o := givenFacts{measure: "leg-rise", angleDeg: 160, shoulder: true}
	q := o.request(t)
	without := read(t, q).ExpandedUncertaintyDeg
	q.Marks.Level = &[2]Pixel{{300, 900}, {312, 900}}
	assert.InDelta(t, without, read(t, q).ExpandedUncertaintyDeg, 2*tolerance)
}

// The figure of one placement does not hold for all.
func TestFigureOfOnePlacement(t *testing.T) {
	small := 0.1
	m := &Marks{Marks: []Placement{{Landmark: "hip", X: 100, Y: 100, SDPx: &small}, {Landmark: "hip", X: 101, Y: 101}}}
	p := gather(m, 1.5)["hip"]
	assert.InDelta(t, (0.01+2.25)/4, p.cov.At(0, 0), 1e-12)
	assert.Contains(t, p.how, "hand click")
	m.Marks[1] = m.Marks[0]
	assert.InDelta(t, 0.01, gather(m, 1.5)["hip"].cov.At(0, 0), 1e-12, "a copy is no second placement")
}

// Placements on one line give no scatter in the other direction: the same scatter is taken
// for both.
func TestScatterOnOneLine(t *testing.T) {
	m := &Marks{}
	for _, y := range []float64{99, 101, 100, 100} {
		m.Marks = append(m.Marks, Placement{Landmark: "hip", X: 100, Y: y})
	}
	p := gather(m, 1.5)["hip"]
	assert.InDelta(t, 2.0/6/4, p.cov.At(0, 0), 1e-12)
	assert.InDelta(t, 2.0/6/4, p.cov.At(1, 1), 1e-12)
	assert.Equal(t, 6.0, p.freedom)
}

// A singular covariance is refused in marks and tracks.
func TestExactCovarianceIsRefused(t *testing.T) {
	_, err := ParseMarks("m.json", fmt.Appendf(nil, `{"schema": %q, "marks": [{"landmark": "hip", "x": 1, "y": 2, "covariance_px2": [[1, 1], [1, 1]]}]}`, MarksSchema))
	assert.ErrorContains(t, err, "covariance that is none")
	_, err = ParseTrack("t.csv", []byte("frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n0,0,1,2,1,1,1,seen,,\n"))
	assert.ErrorContains(t, err, "covariance that is none")
}

// Assumptions that may be wrong are named.
func TestAssumptionsAreNamed(t *testing.T) {
	q := givenFacts{measure: "leg-rise", angleDeg: 160, shoulder: true, level: true}.request(t)
	q.Marks.Plane = &Rectangle{Corners: [4]Pixel{{400, 200}, {1500, 200}, {1500, 750}, {400, 750}}, WidthM: 2.4, HeightM: 1.2}
	said := read(t, q).NotIncluded
	assert.Contains(t, said, "the error of the rectangle's size, which is taken as given")
	assert.Contains(t, said, "how level or plumb the marked line is, which is taken as exact")
	q.Measure, _ = geometry.Lookup("hip-split")
	assert.Len(t, read(t, q).NotIncluded, 3, "between two legs it does not matter what is level")
}
