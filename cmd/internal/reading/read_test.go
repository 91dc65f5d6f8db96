package reading

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// splitMarks are the marks of a symmetric split of the given angle, its legs
// 350 px long, seen square.
func splitMarks(angleDeg float64) *Marks {
	s, c := math.Sincos((180 - angleDeg) / 2 * math.Pi / 180)
	return &Marks{Schema: MarksSchema, Marks: []Placement{
		{Landmark: "hip", X: 960, Y: 540},
		{Landmark: "front-ankle", X: 960 + 350*c, Y: 540 + 350*s},
		{Landmark: "back-ankle", X: 960 - 350*c, Y: 540 + 350*s},
		{Landmark: "shoulder", X: 965, Y: 335},
	}}
}

func request(t testing.TB, m *Marks) Request {
	measure, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	return Request{Take: Take{Name: "made.png", WidthPx: 1920, HeightPx: 1080}, Marks: m, Measure: measure,
		Skill: &Skill{Rulebook: "made", Name: "split-leap", Measure: "hip-split", AskedDeg: 180, Provenance: "from-memory",
			Bands: []Band{{"first", "0.10", 0, 20}, {"second", "0.30", 20, 45}, {"third", "no value", 45, math.Inf(1)}}}}
}

func BenchmarkRead(b *testing.B) {
	q := request(b, splitMarks(162))
	for b.Loop() {
		r, err := Read(q)
		require.NoError(b, err)
		b.ReportMetric(float64(r.Draws), "draws")
	}
}

func BenchmarkDraw(b *testing.B) {
	q := request(b, splitMarks(162))
	m, _, err := q.prepare()
	require.NoError(b, err)
	x := make([]float64, 0)
	for i := range m.blocks {
		x = append(x, m.blocks[i].Mean...)
	}
	b.ReportAllocs()
	for b.Loop() {
		m.degrees(x)
	}
}

func TestReads(t *testing.T) {
	r, err := Read(request(t, splitMarks(162)))
	require.NoError(t, err)
	assert.InDelta(t, 162, r.PictureAngleDeg, 1e-9)
	t.Logf("%+v", r.Budget)
	t.Logf("%v %v %v %v %v", r.AngleDeg, r.StandardUncertaintyDeg, r.IntervalDeg, r.Advice, r.Notes)
	t.Logf("%+v %v", r.Verdict, r.Say())
	t.Logf("%+v", r.FirstOrder)
}
