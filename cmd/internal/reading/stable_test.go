package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// Whatever the seed, the ends of the interval move by no more than was promised:
// twice their standard deviation is a twentieth of a degree.
func TestEndsAreStable(t *testing.T) {
	const seeds = 40
	for _, angle := range []float64{110, 165} {
		var low, high []float64
		for seed := range uint64(seeds) {
			q := request(t, splitMarks(angle))
			q.Camera, q.Seed = "by-eye", seed
			m, _, err := q.prepare()
			require.NoError(t, err)
			d, err := m.draw(&q)
			require.NoError(t, err)
			require.True(t, d.Stable)
			low, high = append(low, d.Low), append(high, d.High)
		}
		// a standard deviation from 40 values is within 1.35 of the true one in
		// 999 of 1000 cases (chi-squared); the rule itself, which stops on an
		// estimate from few batches, is allowed the like
		const most = tolerance / 2 * 1.35 * 1.35
		assert.Less(t, stat.StdDev(low, nil), most, "%v", angle)
		assert.Less(t, stat.StdDev(high, nil), most, "%v", angle)
		t.Logf("%v: %.4f and %.4f of %.4f", angle, stat.StdDev(low, nil), stat.StdDev(high, nil), tolerance/2)
	}
}
