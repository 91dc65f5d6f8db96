package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// judgedReading has a normally distributed angle of standard uncertainty u, short degrees below what is
// asked, and bands that begin at edges.
func judgedReading(short, u, confidence float64, edges ...float64) *reading.Reading {
	n := distuv.Normal{Mu: short, Sigma: u}
	v := &reading.Verdict{Confidence: confidence, ShortfallDeg: short, MeetsProbability: n.CDF(edges[0])}
	for i, from := range edges {
		b := reading.BandProbability{Deduction: string(rune('a' + i)), FromDeg: from, Probability: 1 - n.CDF(from)}
		if i+1 < len(edges) {
			to := edges[i+1]
			b.ToDeg, b.Probability = &to, n.CDF(to)-n.CDF(from)
		}
		v.Bands = append(v.Bands, b)
	}
	return &reading.Reading{StandardUncertaintyDeg: u, ExpandedUncertaintyDeg: 1.96 * u, Verdict: v, Skill: &reading.SkillRef{ThresholdDeg: 180}}
}

// At the uncertainty needed the band has the probability asked, by gonum's normal distribution. If only
// one edge is near, it is the one that package uncertainty gives for a limit.
func TestWhatWouldDecide(t *testing.T) {
	s, err := newSetting(Options{})
	require.NoError(t, err)
	const tolerance = 1e-6 // degrees; bisection goes on far below
	for _, c := range []struct{ short, u float64 }{{16.5, 3.1}, {24.7, 3.3}, {10, 8}, {44, 2}} {
		r := judgedReading(c.short, c.u, 0.95, 0, 20, 45)
		name, u, ok := s.neededUncertainty(r)
		require.True(t, ok, "%v", c)
		o := r.Likely()[0]
		assert.Equal(t, o.Words, name)
		n := distuv.Normal{Mu: c.short, Sigma: u}
		assert.InDelta(t, 0.95, n.CDF(o.ToDeg)-n.CDF(o.FromDeg), tolerance)
		assert.Less(t, u, c.u)
	}
	_, u, ok := s.neededUncertainty(judgedReading(3, 2.5, 0.95, 0))
	require.True(t, ok)
	assert.InDelta(t, uncertainty.NeededStandard(3, 0.95), u, tolerance)

	for what, r := range map[string]*reading.Reading{
		"decided":           judgedReading(10, 1, 0.95, 0, 20, 45),
		"on the limit":      judgedReading(20, 3, 0.95, 0, 20, 45),
		"no skill":          {StandardUncertaintyDeg: 1},
		"nothing uncertain": judgedReading(10, math.NaN(), 0.95, 0, 20, 45),
	} {
		_, _, ok := s.neededUncertainty(r)
		assert.False(t, ok, what)
	}
}
