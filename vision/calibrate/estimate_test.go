package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"ecart/geometry"
)

// Coverage of the stated 95 % intervals for simulated cameras: with a perfect board,
// with boards whose imperfections follow the prior, and with a board that flexes
// differently in each picture, so that the errors of a picture's corners are correlated.
func TestIntervalsHoldTheTruth(t *testing.T) {
	const trials, n = 60, 10
	// with a true coverage of 0.95, fewer than least hits occur once in ten thousand tests
	least := int(quantile(trials, 0.95, 1e-4))
	for name, c := range map[string]struct {
		draw     func(*held, *rand.Rand)
		pooled   [2]float64 // limits of the coverage over all nine parameters
		disagree float64    // smallest median of Disagreement; 0: it must be 1
	}{
		"perfect": {draw: func(*held, *rand.Rand) {}, pooled: [2]float64{0.93, 0.99}},
		"imperfect": {draw: func(h *held, rng *rand.Rand) {
			for _, sd := range []float64{priorBow, priorBow, priorBow, priorStretch, priorSkew} {
				h.shape = append(h.shape, sd*rng.NormFloat64())
			}
		}, pooled: [2]float64{0.93, 0.99}},
		"flexing": {draw: func(h *held, _ *rand.Rand) { h.flex = 0.004 }, pooled: [2]float64{0.90, 0.99}, disagree: 2},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(3, 3))
			var in [parameters]int
			var ratios []float64
			for range trials {
				h := held{lens: phoneLens(rng), sigma: 0.1, lean: 0.45}
				c.draw(&h, rng)
				r, err := Estimate(h.pictures(rng, n), nine)
				require.NoError(t, err)
				for i, p := range r.Parameters {
					if math.Abs(p.Value-h.lens[i]) < 1.96*p.Standard {
						in[i]++
					}
				}
				ratios = append(ratios, r.Disagreement)
			}
			all := 0
			for i, k := range in {
				all += k
				assert.GreaterOrEqual(t, k, least, "of %d intervals of %s", trials, []string{"fx", "fy", "cx", "cy", "k1", "k2", "p1", "p2", "k3"}[i])
			}
			share := float64(all) / (parameters * trials)
			t.Logf("%.3f of the intervals hold the truth: %v of %d", share, in, trials)
			assert.Greater(t, share, c.pooled[0])
			assert.Less(t, share, c.pooled[1])
			if c.disagree > 0 {
				assert.Greater(t, median(ratios), c.disagree)
			} else {
				assert.InDelta(t, 1, median(ratios), 0.1, "with independent corner errors the pictures agree")
			}
		})
	}
}

// quantile returns the smallest k for which at most k successes in n trials have at
// least the probability tail.
func quantile(n int, p, tail float64) float64 {
	d := distuv.Binomial{N: float64(n), P: p}
	k := 0.0
	for d.CDF(k) < tail {
		k++
	}
	return k
}

// flat removes the priors and the board's imperfections from a fit, which leaves OpenCV's
// model.
func flat(u *bundle) {
	u.prior = prior{middle: u.prior.middle}
	for k := range shapes {
		u.prior.weight[parameters+k][parameters+k] = 1e16
	}
}

// The same model on the same corners gives OpenCV's parameters and its standard
// deviations. Both minimise the same sum of squares; OpenCV's corners are rounded
// to single precision (3e-5 px at 500 px), which moves a parameter by a
// thousandth of its uncertainty.
//
// OpenCV 4.6 divides the sum of squares by the number of points minus that of
// parameters, although each point gives two residuals; its standard deviations are
// therefore larger by sqrt((2N - p) / (N - p)).
func TestFitAgainstOpenCV(t *testing.T) {
	const (
		sameShare   = 0.005 // of a standard deviation, for parameters
		sameSpread  = 0.005 // relative, for the deviations
		sameRMS     = 1e-5  // px: corners rounded by 3e-5, averaged
		boards, all = 10, 54
	)
	rng := rand.New(rand.NewPCG(4, 4))
	for _, cv := range fromOpenCV(t).Fits {
		h := held{lens: phoneLens(rng), sigma: 0.1, lean: 0.45}
		var views [][]geometry.Point
		for range boards {
			px, _ := h.picture(rng)
			views = append(views, px)
		}
		u, err := start(nine, views, wide, high)
		require.NoError(t, err)
		flat(u)
		require.NoError(t, u.fit())
		assert.InDelta(t, cv.RMS, math.Sqrt(u.squares(&u.state)/(boards*all)), sameRMS)
		n, p := float64(boards*all), float64(parameters+poseParameters*boards)
		// this package widens the covariance by the disagreement, and its degrees of
		// freedom count the board's shape
		ours := math.Max(1, u.spread) * math.Sqrt((2*n-p)/float64(u.freedom()))
		for i := range parameters {
			sd := math.Sqrt(u.covariance.At(i, i))
			assert.InDelta(t, cv.Parameters[i], u.common[i], sameShare*sd, "parameter %d", i)
			assert.InEpsilon(t, cv.Deviations[i]*math.Sqrt((n-p)/(2*n-p)), sd/ours, sameSpread, "deviation %d", i)
		}
	}
}

// The stated covariance, correlations included, equals that of the estimates over many
// draws of the noise on the same boards.
func TestCovarianceIsTheScatter(t *testing.T) {
	const trials = 150
	rng := rand.New(rand.NewPCG(5, 5))
	h := held{lens: lens{fx: 1400, fy: 1402, cx: 955, cy: 545, k1: 0.05, k2: -0.04, p1: 5e-4, p2: -5e-4, k3: 0.01}, lean: 0.45}
	var poses []pose
	for range 12 {
		_, q := h.picture(rng)
		poses = append(poses, q)
	}
	h.sigma = 0.1
	var values []lens
	stated := mat.NewSymDense(parameters, nil)
	for range trials {
		u := &bundle{board: nine.sheet(), sigma: h.sigma, prior: newPrior(wide, high, h.lens[fx])}
		for i := range poses {
			var px []geometry.Point
			for _, c := range u.board {
				px = append(px, h.lens.project(&poses[i], c.at, nil).Add(geometry.Vec{X: h.sigma * rng.NormFloat64(), Y: h.sigma * rng.NormFloat64()}))
			}
			u.seen = append(u.seen, px)
		}
		copy(u.common[:], h.lens[:])
		u.poses = append([]pose{}, poses...)
		require.NoError(t, u.fit())
		values = append(values, *u.lens())
		for i := range parameters {
			for k := i; k < parameters; k++ {
				stated.SetSym(i, k, stated.At(i, k)+u.covariance.At(i, k)/trials/math.Pow(math.Max(1, u.spread), 2))
			}
		}
	}
	var mean lens
	for _, v := range values {
		for i := range mean {
			mean[i] += v[i] / trials
		}
	}
	for i := range parameters {
		for k := range i + 1 {
			sum := 0.0
			for _, v := range values {
				sum += (v[i] - mean[i]) * (v[k] - mean[k]) / (trials - 1)
			}
			size := math.Sqrt(stated.At(i, i) * stated.At(k, k))
			// a correlation of 150 draws scatters by at most 1/sqrt(150), a variance
			// by sqrt(2/150): four of these, and an allowance for the prior, which
			// reduces the scatter (k2, k3, the board's shape)
			const tol = 4*0.082 + 0.1
			assert.InDelta(t, stated.At(i, k)/size, sum/size, tol, "%d %d", i, k)
		}
	}
}
