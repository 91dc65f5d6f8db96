package change

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
)

func TestRulesShareNoMoreThanThereIs(t *testing.T) {
	parts := map[string]float64{}
	known := []string{reading.SourcePlacement, reading.SourceLandmark, reading.SourceLens, reading.SourceLevel, reading.SourceOblique, reading.SourceDepth, reading.SourcePerspective, reading.SourceTiming}
	for _, r := range Rules() {
		assert.Contains(t, known, r.Source)
		assert.NotEmpty(t, r.Why)
		assert.Greater(t, r.Part, 0.0)
		parts[r.Source+r.When] += r.Part
	}
	// with everything alike: the lens by two rules
	assert.LessOrEqual(t, parts[reading.SourceLens+"lens file"]+parts[reading.SourceLens+"lens file and set-up"], 1.0)
	assert.NotContains(t, parts, reading.SourcePlacement)
}

// someReadings draws readings of which some fields are alike, some differ and some are
// unknown.
func someReadings(t *rapid.T) (rs []Reading) {
	some := rapid.SampledFrom([]string{"", "a", "b"})
	for i := range rapid.IntRange(2, 7).Draw(t, "n") {
		r := Reading{ID: int64(i), Day: monday.AddDate(0, 0, rapid.IntRange(0, 2).Draw(t, "day")), Athlete: some.Draw(t, "athlete"), Rater: some.Draw(t, "rater"), Setup: some.Draw(t, "set-up"),
			Lens: some.Draw(t, "lens"), Side: some.Draw(t, "side"), StandardDeg: rapid.Float64Range(0.1, 9).Draw(t, "u"), Sources: map[string]float64{}}
		for _, s := range []string{reading.SourceLandmark, reading.SourceLens, reading.SourceOblique, reading.SourceDepth, reading.SourcePerspective, reading.SourceLevel} {
			r.Sources[s] = rapid.Float64Range(0, 9).Draw(t, s) // together they may be more than the whole
		}
		rs = append(rs, r)
	}
	return rs
}

func weights(t *rapid.T, n int) []float64 {
	return rapid.SliceOfN(rapid.Float64Range(-1, 1), n, n).Draw(t, "weights")
}

// byPairs is the variance of the sum of w[i] times reading i from its definition, pair
// by pair. If it is unknown whether two readings share, it is the larger variance.
func byPairs(rs []Reading, w []float64) (v float64) {
	for i := range rs {
		v += w[i] * w[i] * rs[i].StandardDeg * rs[i].StandardDeg
		for j := range i {
			for k := range rules {
				a, b := rules[k].fields(&rs[i]), rules[k].fields(&rs[j])
				if a == nil || b == nil {
					continue
				}
				c := 2 * w[i] * w[j] * rs[i].common(&rules[k]) * rs[j].common(&rules[k])
				unknown, differ := false, false
				for f := range a {
					unknown = unknown || a[f] == "" || b[f] == ""
					differ = differ || a[f] != "" && b[f] != "" && a[f] != b[f]
				}
				if !differ && (!unknown || c > 0) {
					v += c
				}
			}
		}
	}
	return v
}

// rounding is the tolerance for sums of some hundred terms below 1000.
const rounding = 1e-9

func TestVarianceIsThatOfThePairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rs := someReadings(t)
		w := weights(t, len(rs))
		if got, want := newErrorModel(rs).variance(w), byPairs(rs, w); math.Abs(got-want) > rounding {
			t.Fatalf("variance %g, by pairs %g", got, want)
		}
	})
}

// What is not known never makes a statement surer: whatever is left out of whatever
// readings, the variance of any sum of them is no smaller.
func TestLeavingOutNeverMakesSurer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rs := someReadings(t)
		w := weights(t, len(rs))
		before := newErrorModel(rs).variance(w)
		for i := range rs {
			for _, field := range []*string{&rs[i].Athlete, &rs[i].Rater, &rs[i].Setup, &rs[i].Side} {
				if rapid.Bool().Draw(t, "left out") {
					*field = ""
				}
			}
		}
		if after := newErrorModel(rs).variance(w); after < before-rounding {
			t.Fatalf("variance %g became %g", before, after)
		}
	})
}

// The covariance used for a fit's weights, against the matrix products that define it. It is
// positive definite and no smaller than the readings' own variances.
func TestKnownCovariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rs := someReadings(t)
		m := newErrorModel(rs)
		n := len(rs)
		unit := mat.NewDense(n, n, nil)
		for i := range n {
			unit.Set(i, i, 1)
		}
		own, _, shared := m.through(unit)
		var v mat.SymDense
		v.AddSym(own, shared)
		var ch mat.Cholesky
		if !ch.Factorize(&v) {
			t.Fatalf("no covariance: %v", mat.Formatted(&v))
		}
		const rows = 3
		x := mat.NewDense(rows, n, nil)
		for i := range n {
			x.Set(rapid.IntRange(0, rows-1).Draw(t, "row"), i, rapid.Float64Range(-1, 1).Draw(t, "weight"))
		}
		own, _, shared = m.through(x)
		var sum mat.Dense
		sum.Add(own, shared)
		if !mat.EqualApprox(&sum, sandwich(x, &v), rounding) {
			t.Fatalf("through: %v, want %v", mat.Formatted(&sum), mat.Formatted(sandwich(x, &v)))
		}
	})
}

// twoReadings are readings of one athlete, four weeks apart, alike in everything.
func twoReadings() (a, b Reading) {
	a = Reading{ID: 1, Athlete: "Wren", Day: monday, Measure: "shoulder-flexion", Definition: "hip-shoulder and shoulder-wrist", Side: "left", State: "warm", Condition: "active", Rater: "Iris", Setup: "mat", Lens: "phone",
		AngleDeg: 165, StandardDeg: 3, Sources: map[string]float64{reading.SourcePlacement: 1, reading.SourceLandmark: 2, reading.SourceLens: 1, reading.SourcePerspective: 1, reading.SourceDepth: 1, reading.SourceOblique: 1}}
	b = a
	b.ID, b.Day, b.AngleDeg = 2, monday.AddDate(0, 0, 28), 172
	return a, b
}

// The smallest real change by hand. Of 9 degrees^2 in each: landmark 4, of which
// half is the rater's; lens 1, of which 0.9; perspective 1, of which 0.9; depth 1,
// of which half; oblique and placement not, on another day. In common: 2 + 0.9 +
// 0.9 + 0.5 = 4.3. So u^2 = 2 (9 - 4.3) = 9.4.
func TestSmallestRealChangeByHand(t *testing.T) {
	a, b := twoReadings()
	const z = 1.959963984540054 // of the normal distribution, two-sided 95 %
	shown := func(from, to []Reading) *Difference {
		return newDifference(slices.Concat(from, to), len(from), noVariation, 2, 0, 0.95)
	}
	d := shown([]Reading{a}, []Reading{b})
	assert.InDelta(t, 7, d.ChangeDeg, 1e-12)
	assert.InDelta(t, math.Sqrt(9.4), d.StandardDeg, 1e-12)
	assert.InDelta(t, z*math.Sqrt(9.4), d.SmallestDeg, 1e-9)
	assert.InDelta(t, z*math.Sqrt(18), d.AloneDeg, 1e-9, "1.96 sqrt(u1^2 + u2^2) where nothing is shared")
	assert.True(t, d.Real)
	assert.Empty(t, d.Cautions)
	assert.Equal(t, reading.SourceLandmark, d.Shared[0].Source)
	assert.InDelta(t, math.Sqrt2, d.Shared[0].StandardDeg, 1e-12)

	for what, c := range map[string]struct {
		change func(b *Reading)
		u2     float64
	}{
		"another rater":           {func(b *Reading) { b.Rater = "Otto" }, 9.4 + 2*2},
		"a rater nobody knows":    {func(b *Reading) { b.Rater = "" }, 9.4 + 2*2},
		"another athlete":         {func(b *Reading) { b.Athlete = "Lio" }, 9.4 + 2*0.5},
		"an athlete nobody knows": {func(b *Reading) { b.Athlete = "" }, 9.4 + 2*0.5},
		"another set-up":          {func(b *Reading) { b.Setup = "door" }, 9.4 + 2*(0.4+0.9+0.5)},
		"another lens":            {func(b *Reading) { b.Lens = "tablet" }, 9.4 + 2*0.9},
		"no lens file":            {func(b *Reading) { b.Lens = "" }, 9.4 + 2*0.9},
		"the same session":        {func(b *Reading) { b.Day = monday }, 9.4 - 2*0.5},
		"another one on that day": {func(b *Reading) { b.Day, b.Session = monday, "evening" }, 9.4},
		"the other side":          {func(b *Reading) { b.Side = "right" }, 9.4 + 2*(2+0.5)},
	} {
		_, b := twoReadings()
		c.change(&b)
		d := shown([]Reading{a}, []Reading{b})
		assert.InDelta(t, math.Sqrt(c.u2), d.StandardDeg, 1e-12, what)
	}

	// three takes of each day: what is each take's own goes down with their number
	many := func(r Reading) []Reading { return []Reading{r, r, r} }
	d = shown(many(a), many(b))
	// a day's takes share oblique too, which a single one does not with another day
	assert.InDelta(t, math.Sqrt(2*((9-4.3-0.5)/3+0.5)), d.StandardDeg, 1e-12)
}

// Of two days a difference contains what an athlete varies by; of one day it is that
// of the two takes as they were shown.
func TestDaysVary(t *testing.T) {
	a, b := twoReadings()
	sameDay := b
	sameDay.Day = a.Day
	shown, err := Compare([]Reading{a}, []Reading{sameDay}, 0.95)
	require.NoError(t, err)
	assert.Zero(t, shown.VariesDeg)
	days, err := Compare([]Reading{a}, []Reading{b}, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(9.4+2*dayPrior().variance()), days.StandardDeg, 1e-9)
	other := b
	other.Athlete = "Lio"
	two, err := Compare([]Reading{a}, []Reading{other}, 0.95)
	require.NoError(t, err)
	assert.Zero(t, two.VariesDeg, "two athletes are compared as they were shown")
	unsaid := b
	unsaid.State = "unknown"
	wider, err := Compare([]Reading{a}, []Reading{unsaid}, 0.95)
	require.NoError(t, err)
	assert.Greater(t, wider.SmallestDeg, days.SmallestDeg)
}

// Of marks nudged and kept again the picture counts once, with less of the placement.
func TestOnePictureCountsOnce(t *testing.T) {
	a, b := twoReadings()
	a.Picture, b.Picture = "leap 43", "leap 43"
	b.Day, b.AngleDeg = a.Day, 167
	got, notes := onePerPicture([]Reading{a, b})
	require.Len(t, got, 1)
	assert.InDelta(t, 166, got[0].AngleDeg, 1e-12)
	assert.InDelta(t, math.Sqrt(9-0.5), got[0].StandardDeg, 1e-12, "placement 1 in each of two")
	assert.Equal(t, []int64{1, 2}, got[0].ids())
	assert.Equal(t, []string{"readings 1 and 2 are of one picture, which was marked twice: they count as one"}, notes)
	assert.Equal(t, 1.0, a.Sources[reading.SourcePlacement], "the readings themselves stay as they are")

	b.Picture = "leap 44"
	got, _ = onePerPicture([]Reading{a, b})
	assert.Len(t, got, 2)
}

// Marking one picture of each condition, side, state or position again makes nothing surer than the placement
// does: not a screen, a contrast, a comparison of sides or states, or a warm-up.
func TestOnePictureCountsOnceEverywhere(t *testing.T) {
	asked := 180.0
	copies := func(day int, condition, state, side, variant string, deg float64) (rs []Reading) {
		for k := range 6 {
			r, _ := twoReadings()
			r.Sources = map[string]float64{reading.SourcePlacement: 0.1}
			r.ID, r.Day, r.Condition, r.State, r.Side, r.Variant, r.AngleDeg, r.AskedDeg = int64(k+1), monday.AddDate(0, 0, day), condition, state, side, variant, deg, &asked
			r.Picture = fmt.Sprint(day, condition, state, side, variant)
			rs = append(rs, r)
		}
		return rs
	}
	pair := func(a, b []Reading, copies int) []Reading { return slices.Concat(a[:copies], b[:copies]) }
	contrast := movement.Contrasts()[0]
	for what, halfOf := range map[string]func(copies int) float64{
		"screen": func(n int) float64 {
			s, err := NewScreen(pair(copies(0, "passive", "warm", "left", "", 170), copies(0, "active", "warm", "left", "", 160), n), ScreenOptions{})
			require.NoError(t, err)
			return s.Gaps[1].StandardDeg
		},
		"contrast": func(n int) float64 {
			c, err := NewContrast(pair(copies(0, "active", "warm", "left", contrast.Taut, 170), copies(0, "active", "warm", "left", contrast.Slack, 160), n), contrast, 0.95)
			require.NoError(t, err)
			return c.StandardDeg
		},
		"sides": func(n int) float64 {
			a, err := Sides(pair(copies(0, "active", "warm", "left", "", 170), copies(0, "active", "warm", "right", "", 160), n), 0.95)
			require.NoError(t, err)
			return a.SmallestDeg
		},
		"states": func(n int) float64 {
			s, err := Steps(pair(copies(0, "active", "cold", "left", "", 170), copies(0, "active", "warm", "left", "", 160), n), 0.95)
			require.NoError(t, err)
			return s[0].SmallestDeg
		},
		"two readings": func(n int) float64 {
			d, err := Compare(copies(0, "active", "warm", "left", "", 170)[:n], copies(1, "active", "warm", "left", "", 160)[:n], 0.95)
			require.NoError(t, err)
			return d.SmallestDeg
		},
		"warm-up": func(n int) float64 {
			var rs []Reading
			for day := range 2 {
				rs = append(rs, pair(copies(day, "active", "cold", "left", "", 160), copies(day, "active", "warm", "left", "", 165), n)...)
			}
			w, err := NewWarmUp(rs, 0.95)
			require.NoError(t, err)
			return w.SmallestDeg
		},
	} {
		once, repeated := halfOf(1), halfOf(6)
		assert.InDelta(t, once, repeated, 0.01*once, what)
	}
}

// The frame beside it shows the same leap; another leap in the same clip is another take of the day.
func TestOneMovementCountsOnce(t *testing.T) {
	a, b := twoReadings()
	b.Day = a.Day
	a.Take, a.Picture, a.AtS = "row.mp4", "row.mp4 51", 1.700
	b.Take, b.Picture, b.AtS = "row.mp4", "row.mp4 52", 1.717
	got, notes := onePerPicture([]Reading{a, b})
	require.Len(t, got, 1)
	assert.InDelta(t, math.Sqrt(9-0.5), got[0].StandardDeg, 1e-12)
	assert.Equal(t, []string{"readings 1 and 2 are of frames within half a second of one clip: they are of one movement and count as one"}, notes)

	for what, change := range map[string]func(){
		"another leap":        func() { b.AtS = 3.256 },
		"another clip":        func() { b.AtS, b.Take = 1.717, "other.mp4" },
		"clips are not known": func() { a.Take, b.Take = "", "" },
	} {
		change()
		got, notes = onePerPicture([]Reading{a, b})
		assert.Len(t, got, 2, what)
		assert.Empty(t, notes, what)
		a.Take, b.Take, b.AtS = "row.mp4", "row.mp4", 1.717
	}
}

func TestUnlikeIsNamed(t *testing.T) {
	for what, change := range map[string]func(b *Reading){
		"unlike states: warm before, cold after":          func(b *Reading) { b.State = "cold" },
		"unlike states: warm before, unsaid after":        func(b *Reading) { b.State = "unknown" },
		"unlike conditions: active before, passive after": func(b *Reading) { b.Condition = "passive" },
		"unlike sides: left before, right after":          func(b *Reading) { b.Side = "right" },
		"rater: Iris before, Otto after":                  func(b *Reading) { b.Rater = "Otto" },
		"set-up: mat before, unsaid after":                func(b *Reading) { b.Setup = "" },
	} {
		a, b := twoReadings()
		change(&b)
		d, err := Compare([]Reading{a}, []Reading{b}, 0.95)
		require.NoError(t, err)
		require.Len(t, d.Cautions, 1)
		assert.Contains(t, d.Cautions[0], what)
	}
}

func TestNotCompared(t *testing.T) {
	for what, change := range map[string]func(b *Reading){
		"of pike":              func(b *Reading) { b.Measure = "pike" },
		"between the lines":    func(b *Reading) { b.Definition = "hip-knee and hip-knee" },
		"standard uncertainty": func(b *Reading) { b.StandardDeg = math.NaN() },
		"uncertainty 0":        func(b *Reading) { b.StandardDeg = 0 },
		"has the angle +Inf":   func(b *Reading) { b.AngleDeg = math.Inf(1) },
		"reading 2 has no day": func(b *Reading) {
			b.Day = b.Day.AddDate(-10000, 0, 0)
			*b = Reading{ID: 2, AngleDeg: 1, StandardDeg: 1}
		},
	} {
		a, b := twoReadings()
		change(&b)
		_, err := Compare([]Reading{a}, []Reading{b}, 0.95)
		require.ErrorContains(t, err, what)
		var h interface{ Hint() string }
		require.ErrorAs(t, err, &h)
		assert.NotEmpty(t, h.Hint())
	}
	a, _ := twoReadings()
	_, err := Compare([]Reading{a}, nil, 0.95)
	require.Error(t, err)
}

func TestDefinition(t *testing.T) {
	for lines, want := range map[string]string{
		"hip>front-ankle|hip>back-ankle":   "hip-ankle and hip-ankle",
		"hip>right-ankle|hip>left-ankle":   "hip-ankle and hip-ankle",
		"shoulder>hip|shoulder>left-wrist": "shoulder-hip and shoulder-wrist",
		"hip>ankle|hip>plumb":              "hip-ankle and hip-plumb",
	} {
		assert.Equal(t, want, Definition(lines))
	}
	r := reading.Reading{Measure: "hip-split", AngleDeg: 171, StandardUncertaintyDeg: 2, Budget: []reading.BudgetRow{{Source: "lens", StandardUncertaintyDeg: 0.5}},
		Lines: [2]reading.Line{{From: "hip", To: "front-knee"}, {From: "hip", To: "back-knee"}}, Skill: &reading.SkillRef{ThresholdDeg: 180}}
	got := FromReading(&r)
	assert.Equal(t, "hip-knee and hip-knee", got.Definition)
	assert.Equal(t, 180.0, *got.AskedDeg)
	assert.Equal(t, map[string]float64{"lens": 0.5}, got.Sources)
	assert.Equal(t, 2.0, got.StandardDeg)
}

// sandwich is m v m'.
func sandwich(m mat.Matrix, v mat.Matrix) *mat.SymDense {
	var left, out mat.Dense
	left.Mul(m, v)
	out.Mul(&left, m.T())
	n, _ := out.Dims()
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, (out.At(i, j)+out.At(j, i))/2)
		}
	}
	return s
}

// Map order is random, and a sum of floats depends on its order: sources are added up in sorted order.
func TestSourcesAreAddedUpInOneOrder(t *testing.T) {
	sources := map[string]float64{}
	for i := range 20 {
		sources[fmt.Sprint("source ", i)] = 1
	}
	assert.True(t, slices.IsSorted(sortedKeys(sources)))
}

// Map order is random, and a sum over a map then differs in its last digits. These sums are the same
// to the last bit.
func TestSameReadingsSameBytes(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		r := Reading{Setup: "mat", StandardDeg: 1, Sources: map[string]float64{}}
		for _, s := range []string{reading.SourcePlacement, reading.SourceLandmark, reading.SourceLens, reading.SourcePerspective,
			reading.SourceDepth, reading.SourceOblique, reading.SourceLevel, reading.SourceTiming} {
			r.Sources[s] = 1 + random.Float64()
		}
		items := map[string][][]float64{}
		for f := range 8 {
			items[fmt.Sprint(f)] = [][]float64{{random.Float64(), random.Float64()}, {random.Float64()}}
		}
		var perspective *Rule
		for i := range rules {
			if rules[i].Source == reading.SourcePerspective {
				perspective = &rules[i]
			}
		}
		common, analysed := r.common(perspective), nested(items)
		for range 20 {
			require.Equal(t, common, r.common(perspective))
			require.Equal(t, analysed, nested(items))
		}
	}
}
