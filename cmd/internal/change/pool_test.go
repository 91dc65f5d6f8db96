package change

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry/uncertainty"
)

// vaccine are the 13 trials of a vaccine of Colditz 1994 (JAMA 271:698) as van Houwelingen
// 2002 (Stat Med 21:589) analyses them: with the illness and without among the vaccinated,
// and the same among the others. The counts are from memory; the first seven log odds
// ratios and variances that they give are those below, which were read in a copy.
var vaccine = [][4]float64{
	{4, 119, 11, 128}, {6, 300, 29, 274}, {3, 228, 11, 209}, {62, 13536, 248, 12619}, {33, 5036, 47, 5761}, {180, 1361, 372, 1079}, {8, 2537, 10, 619},
	{505, 87886, 499, 87892}, {29, 7470, 45, 7232}, {17, 1699, 65, 1600}, {186, 50448, 141, 27197}, {5, 2493, 3, 2338}, {27, 16886, 29, 17825},
}

func vaccineEffects() (e effects) {
	for _, c := range vaccine {
		e.y = append(e.y, math.Log(c[0]*c[3]/(c[1]*c[2])))
		e.v = append(e.v, 1/c[0]+1/c[1]+1/c[2]+1/c[3])
	}
	return e
}

func TestTrialsOfAVaccine(t *testing.T) {
	e := vaccineEffects()
	const printed = 0.00006
	for i, want := range [][2]float64{{-0.9387, 0.3571}, {-1.6662, 0.2081}, {-1.3863, 0.4334}, {-1.4564, 0.0203}, {-0.2191, 0.0520}, {-0.9581, 0.0099}, {-1.6338, 0.2270}} {
		assert.InDelta(t, want[0], e.y[i], printed)
		assert.InDelta(t, want[1], e.v[i], printed)
	}
	// the interval of the variance between the trials by the Q profile: read in a copy of
	// the analyses of van Houwelingen 2002
	got := e.betweenInterval(0.95)
	assert.InDelta(t, 0.1302, got[0], printed)
	assert.InDelta(t, 1.1812, got[1], printed)
	// without a variance between them, the odds ratio and its interval of page 596
	// (second-hand: the tests of a package for such analyses)
	mean, variance, _ := e.mean(0)
	assert.InDelta(t, 0.6465, math.Exp(mean), printed)
	assert.InDelta(t, 0.5951, math.Exp(mean-1.96*math.Sqrt(variance)), printed)
	assert.InDelta(t, 0.7024, math.Exp(mean+1.96*math.Sqrt(variance)), printed)
	// the estimate lies in its interval and makes the sum of squares its expectation, 12
	_, _, q := e.mean(e.between())
	assert.InDelta(t, 12, q, 1e-9)
}

// Of estimates that are all as good, and scatter by more than that, the interval is
// Student's of their mean; scatter by less never makes it narrower than the normal one.
func TestKnappHartung(t *testing.T) {
	e := effects{y: []float64{1, 4, 7, 8}, v: []float64{1, 1, 1, 1}}
	// by hand: mean 5, sum of squares 30, variance 10, of the mean 2.5; t of 3 is 3.1824
	between := e.between()
	assert.InDelta(t, 9, between, 1e-9, "10 less the 1 that is stated")
	mean, _, _ := e.mean(between)
	sd, half := e.spread(between, 0.95)
	assert.InDelta(t, 5, mean, 1e-12)
	assert.InDelta(t, math.Sqrt(2.5), sd, 1e-9)
	assert.InDelta(t, 3.1824*math.Sqrt(2.5), half, 1e-3)

	alike := effects{y: []float64{5, 5.01, 5.02, 4.99}, v: []float64{4, 4, 4, 4}}
	assert.Zero(t, alike.between())
	assert.Zero(t, alike.betweenInterval(0.95)[0])
	sd, half = alike.spread(0, 0.95)
	assert.InDelta(t, 1, sd, 1e-12, "the stated 2 over the root of 4, and not the scatter of 0.01")
	assert.InDelta(t, uncertainty.CoverageFactor(3, 0.95), half, 1e-12)
	assert.Greater(t, half, normal(0.95)*sd)
}
