package main

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

func rowOf(t testing.TB, measure, set string) row {
	m, ok := geometry.Lookup(measure)
	require.True(t, ok)
	for _, c := range classes {
		if c.name == set {
			return row{m, c, false, nothingGiven}
		}
	}
	require.Fail(t, "no such set-up", set)
	return row{}
}

// A study small enough to run every day: it fails where the number of intervals that hold
// is improbable for every coverage between 93.5 and 96.5 %, or where the intervals are far
// too wide.
func TestIntervalsHold(t *testing.T) {
	const (
		n = 300
		// by chance, one of the four rows fails for one seed in a thousand
		improbable = 0.001 / 4 / 2
		// Each end of the narrowest interval is a 2.5 % point of n errors. Where these are
		// normal, it scatters by sqrt(0.025 0.975 / n) / 0.0584 standard deviations (0.0584
		// is the normal density there). For both ends and a width of 3.92 that is 5.6 %;
		// slack is four times that.
		slack = 4 * 0.056
	)
	priors := reading.DefaultPriors()
	for _, measure := range detailed {
		for _, set := range []string{"by-eye", "unknown"} {
			s := rowOf(t, measure, set)
			got := s.summarise(s.run(n, 1, priors, func() {}))
			assert.Zero(t, got.Refused)
			held := math.Round(got.Held * n)
			few := distuv.Binomial{N: n, P: minHeld}.CDF(held)
			many := 1 - distuv.Binomial{N: n, P: maxHeld}.CDF(held-1)
			assert.Greater(t, few, improbable, "%s, %s: %v of %d intervals hold the truth", measure, set, held, n)
			assert.Greater(t, many, improbable, "%s, %s: %v of %d intervals hold the truth", measure, set, held, n)
			assert.Less(t, got.Ratio, widest*(1+slack), "%s, %s", measure, set)
		}
	}
}

// The takes are as the table's head describes them.
func TestTakes(t *testing.T) {
	const n = 150
	priors := reading.DefaultPriors()
	for _, m := range geometry.Measures() {
		p, ok := plans[m.Name]
		require.True(t, ok, "no plan for %s", m.Name)
		var part []float64
		for _, c := range classes {
			for i := range n {
				d := dice{rand.New(rand.NewPCG(1, uint64(i)))}
				k := d.take(row{m, c, i%2 == 0, nothingGiven}, priors)
				part = append(part, (circularDifference(k.truth, p.low)-0)/(p.high-p.low))
				assert.GreaterOrEqual(t, k.distance, nearest)
				assert.LessOrEqual(t, k.distance, float64(farthest))
				assert.Equal(t, c.rectangle, k.request.Marks.Plane != nil)
				assert.Equal(t, i%2 == 0, k.request.Lens != nil)
				assert.Zero(t, k.request.StatureMm)
				assert.Zero(t, k.request.DistanceM)
			}
		}
		// angles of more than 180 above the low end have negative differences
		mean := 0.0
		for i, v := range part {
			if v < -0.1 {
				v += 360 / (p.high - p.low)
				part[i] = v
			}
			assert.InDelta(t, 0.5, v, 0.51, m.Name) // in the range, to a hundredth of it
			mean += v / float64(len(part))
		}
		// the mean of n values drawn evenly from 0 to 1 scatters by 1/sqrt(12 n); the four
		// set-ups share their seeds
		assert.InDelta(t, 0.5, mean, 4/math.Sqrt(12*n), m.Name)
	}
}

func TestTakesDoNotDependOnCores(t *testing.T) {
	r := rowOf(t, "pike", "squared")
	priors := reading.DefaultPriors()
	many := r.run(24, 7, priors, func() {})
	before := runtime.GOMAXPROCS(1)
	one := r.run(24, 7, priors, func() {})
	runtime.GOMAXPROCS(before)
	assert.Equal(t, one, many)
	assert.NotEqual(t, one, r.run(24, 8, priors, func() {}))
}

func TestNarrowest(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   float64
	}{
		{[]float64{5}, 0},
		{[]float64{3, 1, 2}, 2},                         // 95 % of three is all of them
		{append(ramp(19), 1000), 18},                    // nineteen of twenty, without the outlier
		{append([]float64{-500}, ramp(19)...), 18},      // the same with an outlier below
		{append(ramp(38), 5e5, 6e5), 37},                // two of forty may be outside
		{append(ramp(37), 1e3, 1e4, 1e5), 1000},         // a third one may not
		{append(ramp(20), 0.5, 0.5, 0.5, 0.5, 0.5), 18}, // ceil(23.75) of 25
	} {
		assert.InDelta(t, c.want, narrowest(c.values, 0.95), 1e-12, "%v", c.values)
	}
}

func ramp(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = float64(i)
	}
	return v
}

func TestSummarise(t *testing.T) {
	r := rowOf(t, "pike", "squared")
	in := [2]float64{-1, 1}
	s := r.summarise([]outcome{
		{truth: 0, interval: in, first: in}, {truth: 1, interval: in, first: [2]float64{0, 0}},
		{truth: -2, interval: in, first: in}, {truth: 3, interval: in, first: in, redrawn: 2}, {refused: assert.AnError},
	})
	assert.Equal(t, 5, s.Takes)
	assert.Equal(t, 1, s.Refused)
	assert.Equal(t, 2, s.Again)
	assert.Equal(t, []float64{0.5, 0.25, 0.25, 0.25}, []float64{s.Held, s.Below, s.Above, s.First})
	assert.Equal(t, 2.0, s.Width)
	assert.Equal(t, 5.0, s.Narrow)
	assert.False(t, s.Within)
	assert.NotEmpty(t, s.Why)

	none := r.summarise([]outcome{{refused: assert.AnError}})
	assert.False(t, none.Within)
	assert.Contains(t, none.Why, assert.AnError.Error())
	_, err := json.Marshal(none)
	assert.NoError(t, err)
}

// Every requested row is printed, and one that misses its goal with the reason.
func TestTable(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, run([]string{"-takes", "20", "-measure", "leg-rise"}, &out, nil))
	lines := strings.Split(out.String(), "\n")
	rows := 0
	for i, l := range lines {
		if !strings.HasPrefix(l, "leg-rise ") {
			continue
		}
		rows++
		if strings.HasSuffix(l, "*") {
			assert.Regexp(t, `^    \* \w`, lines[i+1])
		}
	}
	assert.Equal(t, 2*len(classes), rows)

	out.Reset()
	require.NoError(t, run([]string{"-takes", "20", "-measure", "hip-split", "-class", "squared", "-json"}, &out, nil))
	var s study
	require.NoError(t, json.Unmarshal(out.Bytes(), &s))
	assert.Len(t, s.Rows, 2)
	assert.Len(t, s.Told, 1)
	assert.Len(t, s.Thirds, 6)
}

func TestBadCalls(t *testing.T) {
	for want, args := range map[string][]string{
		"no measure": {"-measure", "split"}, "no set-up": {"-class", "sideways"}, "say nothing": {"-takes", "3"}, "not a flag": {"hip-split"},
	} {
		err := run(args, &bytes.Buffer{}, nil)
		assert.ErrorContains(t, err, want)
		assert.Equal(t, 1, strings.Count(err.Error(), "\n"), "what is wrong, and what to do: %v", err)
	}
}
