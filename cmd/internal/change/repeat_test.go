package change

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Shrout and Fleiss 1979, Psychol Bull 86:420, table 2: four judges, six targets;
// ICC(1,1) 0.17, ICC(2,1) 0.29, ICC(3,1) 0.71. Data and results from memory.
func TestShroutAndFleiss(t *testing.T) {
	table := [][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}
	var rs []Repeat
	for i, row := range table {
		for j, v := range row {
			rs = append(rs, Repeat{fmt.Sprint("frame ", i), fmt.Sprint("judge ", j), v})
		}
	}
	// whatever the order in which they come
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(rs), func(i, j int) { rs[i], rs[j] = rs[j], rs[i] })
	got, err := NewRepeatability(rs)
	require.NoError(t, err)
	require.NotNil(t, got.ICC.Agreement)
	assert.InDelta(t, 0.17, got.ICC.OneWay, 0.005)
	assert.InDelta(t, 0.29, *got.ICC.Agreement, 0.005)
	assert.InDelta(t, 0.71, *got.ICC.Consistency, 0.005)
	// the mean square within targets that the paper prints, 6.26
	assert.InDelta(t, 6.26, got.Between.SEM.SD*got.Between.SEM.SD, 0.005)
	assert.Nil(t, got.Within, "no judge saw a target twice")
}

// Bland and Altman 1986, Lancet 1:307, table 1: peak flow by two meters, first
// readings: mean difference -2.1 l/min, standard deviation 38.8, limits -79.7 and
// 75.5 with a factor of 2. Data and results from memory.
func TestBlandAndAltman(t *testing.T) {
	large := []float64{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427}
	small := []float64{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451}
	a, err := NewAgreement(large, small)
	require.NoError(t, err)
	assert.InDelta(t, -2.1, a.MeanDeg, 0.05)
	assert.InDelta(t, 38.8, a.SDDeg, 0.05)
	assert.InDelta(t, -79.7, a.MeanDeg-2*a.SDDeg, 0.1)
	assert.InDelta(t, 75.5, a.MeanDeg+2*a.SDDeg, 0.1)
	assert.InDelta(t, a.MeanDeg-1.959963984540054*a.SDDeg, a.LimitsDeg[0], 1e-9)
	// the paper's interval of the mean difference: -22.0 to 17.8
	assert.InDelta(t, -22.0, a.MeanInterval[0], 0.1)
	assert.InDelta(t, 17.8, a.MeanInterval[1], 0.1)
	// and of the lower limit: -114.3 to -45.1, by sqrt(3/n) and a factor of 2
	assert.InDelta(t, -114.3, a.LimitsEach[0][0], 3)
	assert.InDelta(t, -45.1, a.LimitsEach[0][1], 5)
	assert.Len(t, a.Differences, 17)
	_, err = NewAgreement(large, small[:16])
	require.Error(t, err)
}

// Weir 2005, J Strength Cond Res 19:231: SEM = SD sqrt(1 - ICC), smallest change
// 1.96 sqrt(2) SEM, on an example worked out here. Five frames marked twice by one
// rater, the two readings apart by 2, 2, 4, 4, 2 about means of 150, 160, 170, 180,
// 190. Squares within: 2+2+8+8+2 = 22 with 5 degrees of freedom, mean square 4.4.
// Squares between: 2 (400+100+0+100+400) = 2000 with 4, mean square 500. So
// ICC = (500-4.4)/(500+4.4), the variance of a reading is its two parts' sum
// (500-4.4)/2 + 4.4, and SD sqrt(1-ICC) is sqrt(4.4).
func TestWeirByHand(t *testing.T) {
	var rs []Repeat
	for i, v := range [][2]float64{{149, 151}, {159, 161}, {168, 172}, {178, 182}, {189, 191}} {
		for _, angle := range v {
			rs = append(rs, Repeat{fmt.Sprint(i), "Iris", angle})
		}
	}
	got, err := NewRepeatability(rs)
	require.NoError(t, err)
	icc := (500 - 4.4) / (500 + 4.4)
	assert.InDelta(t, icc, got.ICC.OneWay, 1e-12)
	sd := math.Sqrt((500-4.4)/2 + 4.4)
	assert.InDelta(t, sd*math.Sqrt(1-icc), got.Within.SEM.SD, 1e-12)
	assert.InDelta(t, math.Sqrt(4.4), got.Within.SEM.SD, 1e-12)
	assert.InDelta(t, 1.96*math.Sqrt2*math.Sqrt(4.4), got.Within.SmallestRealDeg, 0.001)
	// chi-squared with 5 degrees of freedom: 0.8312 and 12.833 (any table)
	assert.InDelta(t, math.Sqrt(22/12.833), got.Within.SEM.Interval[0], 0.001)
	assert.InDelta(t, math.Sqrt(22/0.8312), got.Within.SEM.Interval[1], 0.002)
	assert.Nil(t, got.Between)
	assert.Nil(t, got.ICC.Agreement)
}

// Raters who differ: of many sets, the variances found are right on average, and
// the interval of each standard error holds the true one in 95 %.
func TestRatersAgainstSimulation(t *testing.T) {
	const sets, within, raterSD = 2000, 1.2, 1.6
	rnd := rand.New(rand.NewPCG(9, 9))
	var holdsWithin, holdsBetween int
	var v float64
	truth := math.Hypot(within, raterSD)
	for range sets {
		var rs []Repeat
		for f := range 12 {
			angle := 150 + 20*rnd.NormFloat64()
			for r := range 3 {
				own := raterSD * rnd.NormFloat64()
				for range 2 {
					rs = append(rs, Repeat{fmt.Sprint(f), fmt.Sprint(r), angle + own + within*rnd.NormFloat64()})
				}
			}
		}
		got, err := NewRepeatability(rs)
		require.NoError(t, err)
		if i := got.Within.SEM.Interval; i[0] <= within && within <= i[1] {
			holdsWithin++
		}
		if i := got.Between.SEM.Interval; i[0] <= truth && truth <= i[1] {
			holdsBetween++
		}
		v += got.Between.SEM.SD * got.Between.SEM.SD / sets
	}
	const three = 0.015 // three standard deviations of a share of 2,000 that is 95 %
	assert.InDelta(t, 0.95, float64(holdsWithin)/sets, three)
	assert.InDelta(t, 0.95, float64(holdsBetween)/sets, three)
	// a variance with some 30 degrees of freedom scatters by a quarter; over 2,000 by 0.6 %, three times
	assert.InEpsilon(t, truth*truth, v, 0.018)
}

func TestPlacementByHand(t *testing.T) {
	// hip: 2 px apart in x, 0 in y: squares 2, with 2 degrees of freedom over both
	// axes; knee: three times, squares 2 in x and 8 in y, with 4
	got, err := NewPlacement([]Placed{
		{"Iris", "a", "hip", 100, 50}, {"Iris", "a", "hip", 102, 50},
		{"Iris", "a", "knee", 10, 20}, {"Iris", "a", "knee", 11, 22}, {"Iris", "a", "knee", 12, 24},
		{"Iris", "a", "ankle", 7, 7},
	})
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(12.0/6), got.Within.SD, 1e-12)
	assert.Equal(t, 6.0, got.Within.Freedom)
	assert.InDelta(t, 1, got.ByLandmark["hip"].SD, 1e-12)
	assert.InDelta(t, math.Sqrt(10.0/4), got.ByLandmark["knee"].SD, 1e-12)
	assert.NotContains(t, got.ByLandmark, "ankle")
	assert.Equal(t, got.Within, got.ByRater["Iris"])
	assert.Nil(t, got.BetweenPx)
}

func TestPlacementBetweenRaters(t *testing.T) {
	const within, raterSD = 1.5, 4.0
	rnd := rand.New(rand.NewPCG(4, 4))
	var ps []Placed
	for f := range 60 {
		for _, l := range []string{"hip", "knee", "ankle"} {
			for _, r := range []string{"Iris", "Otto", "Runa"} {
				dx, dy := raterSD*rnd.NormFloat64(), raterSD*rnd.NormFloat64()
				for range 3 {
					ps = append(ps, Placed{r, fmt.Sprint(f), l, 500 + dx + within*rnd.NormFloat64(), 300 + dy + within*rnd.NormFloat64()})
				}
			}
		}
	}
	got, err := NewPlacement(ps)
	require.NoError(t, err)
	// 2160 degrees of freedom within, 720 between: good to 1.5 and 2.6 %, three times
	assert.InEpsilon(t, within, got.Within.SD, 0.046)
	require.NotNil(t, got.BetweenPx)
	assert.InEpsilon(t, raterSD, *got.BetweenPx, 0.08)
	assert.True(t, got.Within.Interval[0] < within && within < got.Within.Interval[1])
}

func TestRepeatRefuses(t *testing.T) {
	_, err := NewPlacement([]Placed{{"Iris", "a", "hip", 1, 1}, {"Iris", "a", "knee", 1, 1}})
	require.ErrorContains(t, err, "no point was placed twice")
	_, err = NewPlacement([]Placed{{"Iris", "a", "hip", math.NaN(), 1}})
	require.ErrorContains(t, err, `"hip"`)
	_, err = NewRepeatability([]Repeat{{"a", "Iris", 1}, {"b", "Iris", 2}})
	require.ErrorContains(t, err, "no frame was read twice")
	_, err = NewRepeatability([]Repeat{{"a", "Iris", math.Inf(1)}})
	require.ErrorContains(t, err, "no angle")
	few, err := NewRepeatability([]Repeat{{"a", "Iris", 1}, {"a", "Iris", 2}})
	require.NoError(t, err)
	assert.Nil(t, few.ICC)
	assert.Contains(t, few.Notes[0], "five frames or more")
}
