package reading

import (
	"encoding/json"
	"math"
	"testing"

	"ecart/geometry"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// A map is iterated in another order each time, so that a sum over one can differ in its last
// digits. Twenty readings of the same marks, placed twice each, are the same bytes.
func TestSameMarksSameBytes(t *testing.T) {
	m := splitMarks(157)
	for _, p := range m.Marks[:4] {
		p.X, p.Y = p.X+1.1+p.Y/700, p.Y-0.7+p.X/1300
		m.Marks = append(m.Marks, p)
	}
	want := ""
	for range 20 {
		r, err := Read(request(t, m))
		require.NoError(t, err)
		data, err := json.Marshal(r)
		require.NoError(t, err)
		if want == "" {
			want = string(data)
		}
		require.Equal(t, want, string(data))
	}
}

// The place of the skin over a hip and the depth of its joint both vary from body to body,
// whether the mark is called hip or left-hip: the variances add up, computed by hand with the
// built-in figures. The wrist shares the shoulder's joint but not the skin over it.
func TestSkinOverAPlainHipCounts(t *testing.T) {
	p := DefaultPriors()
	measure, ok := geometry.Lookup("shoulder-flexion")
	require.True(t, ok)
	names := []string{"hip", "shoulder", "wrist"}
	_, cov := p.depths(measure, names)
	for i, kind := range names[:2] {
		skin, joint := p.Depth.Spread.Skin*p.Depth.Sagittal.Skin[kind], p.Depth.Spread.Joint*p.Depth.Joint[kind]
		want := skin*skin + joint*joint
		if kind == "shoulder" { // which the trunk's lean moves too
			trunk := p.Segments.Fraction["hip-shoulder"] * p.Depth.Sagittal.LeanDeg["trunk"] * math.Pi / 180
			want += trunk * trunk
		}
		assert.InDelta(t, want, cov.At(i, i), 1e-15, kind)
	}
	shared := p.Depth.Spread.Joint * p.Depth.Joint["shoulder"]
	trunk := p.Segments.Fraction["hip-shoulder"] * p.Depth.Sagittal.LeanDeg["trunk"] * math.Pi / 180
	assert.InDelta(t, shared*shared+trunk*trunk, cov.At(1, 2), 1e-15)
}

// Rounding as on another processor: every coordinate is moved by
// one unit in its last place, which is more than fused products do. The printed
// tenths of a degree differ by one at most.
func TestRoundingMovesTheLastDigitAtMost(t *testing.T) {
	q := request(t, splitMarks(163.3))
	want := read(t, q)
	for _, to := range []float64{math.Inf(1), math.Inf(-1)} {
		m := *q.Marks
		m.Marks = nil
		for _, p := range q.Marks.Marks {
			p.X, p.Y = math.Nextafter(p.X, to), math.Nextafter(p.Y, to)
			m.Marks = append(m.Marks, p)
		}
		moved := q
		moved.Marks = &m
		got := read(t, moved)
		assert.Equal(t, want.Draws, got.Draws)
		assert.InDelta(t, want.AngleDeg, got.AngleDeg, 1e-9)
		assert.InDelta(t, want.ExpandedUncertaintyDeg, got.ExpandedUncertaintyDeg, 1e-9)
		assert.InDelta(t, want.IntervalDeg[0], got.IntervalDeg[0], 1e-9)
		assert.InDelta(t, want.IntervalDeg[1], got.IntervalDeg[1], 1e-9)
	}
}

// For any seed the ends of the interval differ by no more than the stated bound:
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
