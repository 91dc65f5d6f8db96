package desk

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// placedBy returns the marks of a split: the hip, the ends of both legs and the shoulder.
func placedBy(t testing.TB, rater, take string, width int, hip, front, back [2]float64) marking {
	m, err := reading.ParseMarks("marks", fmt.Appendf(nil, `{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": %g, "y": %g},
		{"landmark": "front-ankle", "x": %g, "y": %g}, {"landmark": "back-ankle", "x": %g, "y": %g}]}`, hip[0], hip[1], front[0], front[1], back[0], back[1]))
	require.NoError(t, err)
	return marking{rater, rater + " " + take, reading.Take{Name: take, SHA256: take, WidthPx: width, HeightPx: 600}, m}
}

// split returns the angle below the hip in the picture by the law of cosines, which shares
// no code with the measures.
func split(hip, front, back [2]float64) float64 {
	d := func(p, q [2]float64) float64 { return math.Hypot(p[0]-q[0], p[1]-q[1]) }
	a, b, c := d(hip, front), d(hip, back), d(front, back)
	return math.Acos((a*a+b*b-c*c)/(2*a*b)) * 180 / math.Pi
}

func TestRepeat(t *testing.T) {
	m, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	// three frames, each marked twice by one rater; the legs well below level
	frames := [3][2][3][2]float64{
		{{{500, 100}, {800, 250}, {200, 240}}, {{502, 101}, {799, 252}, {203, 240}}},
		{{{510, 110}, {790, 300}, {200, 280}}, {{509, 112}, {792, 300}, {200, 279}}},
		{{{490, 105}, {780, 310}, {220, 330}}, {{491, 104}, {780, 309}, {219, 333}}},
	}
	var ms []marking
	var squares, difference, angles float64 // of pixels; of the angle
	for n, f := range frames {
		take := fmt.Sprintf("leap%d.png", n)
		ms = append(ms, placedBy(t, "Iris", take, 1000, f[0][0], f[0][1], f[0][2]), placedBy(t, "Iris", take, 1000, f[1][0], f[1][1], f[1][2]))
		for k := range f[0] {
			squares += math.Pow(f[0][k][0]-f[1][k][0], 2) + math.Pow(f[0][k][1]-f[1][k][1], 2)
		}
		d := split(f[0][0], f[0][1], f[0][2]) - split(f[1][0], f[1][1], f[1][2])
		difference += d / 3
		angles += d * d
	}
	r, err := repeatOf(ms, &m, geometry.Options{})
	require.NoError(t, err)
	const rounding = 1e-9 // of some dozen sums
	// a reading is corrected for a camera a few metres away, which the law of
	// cosines is not: these angles change by some thousandths of themselves
	const perspective = 0.01
	require.Len(t, r.Raters, 1)
	// two placements apart by d have the variance d^2 / 2; 3 frames of 3 landmarks with
	// 2 axes each are 18 degrees of freedom
	assert.Equal(t, 18.0, r.Raters[0].PlacementPx.Freedom)
	assert.InEpsilon(t, math.Sqrt(squares/2/18), r.Raters[0].PlacementPx.SD, rounding)
	// the standard error of measurement is the root of the mean of d^2 / 2, and the
	// smallest real change 1.96 sqrt(2) times that (Weir 2005, J Strength Cond Res 19:231)
	sem := math.Sqrt(angles / 2 / 3)
	assert.InEpsilon(t, sem, r.Raters[0].Angle.SEM.SD, perspective)
	const quantile = 1e-4 // 1.96 is 1.959964
	assert.InEpsilon(t, 1.96*math.Sqrt2*r.Raters[0].Angle.SEM.SD, r.Raters[0].Angle.SmallestRealDeg, quantile)
	require.Len(t, r.Agreements, 1)
	assert.InDelta(t, difference, r.Agreements[0].MeanDeg, perspective)
	assert.Equal(t, 6, r.Markings)
}

// Pictures of half the size give the same result as large ones.
func TestRepeatScales(t *testing.T) {
	large := func(rater string, d float64) marking {
		return placedBy(t, rater, "large.png", 1000, [2]float64{500 + d, 100}, [2]float64{800, 250}, [2]float64{200, 240})
	}
	small := func(rater string, d float64) marking {
		return placedBy(t, rater, "small.png", 500, [2]float64{250 + d, 50}, [2]float64{400, 125}, [2]float64{100, 120})
	}
	alone, err := repeatOf([]marking{large("Iris", 0), large("Iris", 2)}, nil, geometry.Options{})
	require.NoError(t, err)
	// height 600 is the longer side of a picture 500 wide: the scale is 1000 / 600
	both, err := repeatOf([]marking{large("Iris", 0), large("Iris", 2), small("Iris", 0), small("Iris", 1.2)}, nil, geometry.Options{})
	require.NoError(t, err)
	assert.Equal(t, 1000, both.LongSidePx)
	const rounding = 1e-9
	assert.InEpsilon(t, alone.Placement.Within.SD, both.Placement.Within.SD, rounding)
	assert.Contains(t, both.Notes, noteScaled(1000))
	assert.NotContains(t, alone.Notes, noteScaled(1000))
}

// Marks of one sitting count as many markings as each landmark was placed; if
// the numbers differ, the means are read.
func TestPlacements(t *testing.T) {
	parse := func(marks string) *reading.Marks {
		m, err := reading.ParseMarks("marks", []byte(`{"schema": "ecart/marks/1", "frame": 3, "facing": "left", "marks": [`+marks+`]}`))
		require.NoError(t, err)
		return m
	}
	hip := func(x int) string { return fmt.Sprintf(`{"landmark": "hip", "x": %d, "y": 1}`, x) }
	knee := func(x int) string { return fmt.Sprintf(`{"landmark": "knee", "x": %d, "y": 1}`, x) }
	two := placements(parse(hip(1) + "," + hip(2) + "," + knee(7) + "," + knee(8)))
	require.Len(t, two, 2)
	assert.Equal(t, parse(hip(1)+","+knee(7)), two[0])
	assert.Equal(t, parse(hip(2)+","+knee(8)), two[1])
	uneven := parse(hip(1) + "," + hip(2) + "," + knee(7))
	assert.Equal(t, []*reading.Marks{uneven}, placements(uneven))
}

func TestRepeatListForms(t *testing.T) {
	want := []markedRow{{2, "leap.mp4", "Iris", "a.json", 43}, {3, "leap.mp4", "Iris", "b, c.json", -1}}
	for name, text := range map[string]string{
		"commas":     "take,frame,rater,marks\nleap.mp4,43,Iris,a.json\nleap.mp4,,iris,\"b, c.json\"\n",
		"semicolons": "\ufeffTake;Frame;Rater;Marks\r\nleap.mp4;43;Iris;a.json\r\nleap.mp4;;Iris;b, c.json\r\n",
		"tabs":       "take\tframe\trater\tmarks\nleap.mp4\t43\tIris\ta.json\nleap.mp4\t\tIris\tb, c.json\n",
		"more":       "note,marks,rater,take,frame\nx,a.json,Iris,leap.mp4, 43\nx,\"b, c.json\",IRIS,leap.mp4,\n,,,,\n",
	} {
		got, _, err := parseRepeatList(name, []byte(text))
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
	got, note, err := parseRepeatList("list.csv", []byte("take,rater,marks\nsaut-\xe9cart.mp4,Iris,a.json\n"))
	require.NoError(t, err)
	assert.Equal(t, "saut-écart.mp4", got[0].take)
	assert.Contains(t, note, "read as Windows-1252")
}

// Any list is read, or gives an error with a hint.
func FuzzRepeatList(f *testing.F) {
	for _, s := range []string{"", "take,frame,rater,marks\na,1,b,c\n", "take;rater;marks\n;;\n", "take,rater,marks\n\"a,b\n", "take,take\n", "\xff\xfe"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, _, err := parseRepeatList("list.csv", data)
		if err != nil {
			hinted(t, err)
			return
		}
		require.NotEmpty(t, rows)
		for _, r := range rows {
			require.NotEmpty(t, r.take)
			require.NotEmpty(t, r.rater)
			require.NotEmpty(t, r.marks)
			require.GreaterOrEqual(t, r.frame, -1)
			require.GreaterOrEqual(t, r.line, 2)
		}
	})
}

// A figure from too few marks is not kept, with a message.
func TestToKeep(t *testing.T) {
	frame := func(rater string, d float64, n int) marking {
		return placedBy(t, rater, fmt.Sprint(n, ".png"), 1000, [2]float64{500 + d, 100}, [2]float64{800 + d, 250 - d}, [2]float64{200, 240 + d})
	}
	r, err := repeatOf([]marking{frame("Iris", 0, 1), frame("Iris", 1, 1), frame("Noor", 2, 1)}, nil, geometry.Options{})
	require.NoError(t, err)
	keep, err := toKeep(r, "2026-03-03")
	require.NoError(t, err)
	require.Len(t, keep, 1)
	assert.Equal(t, "Iris", keep[0].Name)
	assert.Equal(t, "2026-03-03", keep[0].Day)
	assert.Equal(t, 1000, keep[0].LongSidePx)
	assert.Equal(t, r.Raters[0].PlacementPx.SD, keep[0].SDPx)
	assert.Contains(t, r.Notes, noteNotKept("Noor"))

	r.Raters = r.Raters[1:]
	_, err = toKeep(r, "2026-03-03")
	require.ErrorContains(t, err, "no rater who placed points again often enough")
}
