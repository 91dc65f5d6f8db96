package calibrate

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// clip returns a clip at six frames a second in which the board rests at ten places for
// a second each and moves between them for half a second.
func clip() []Moment {
	h, rng := usual()
	var rests [][]geometry.Point
	for len(rests) < 10 {
		px, _ := h.picture(rng)
		near := slices.ContainsFunc(rests, func(q []geometry.Point) bool { return distance(nine, px, q) < 2*leastMove*wide })
		if !near {
			rests = append(rests, px)
		}
	}
	var out []Moment
	const rate, rest, moving = 6, 6, 3
	add := func(px []geometry.Point, edge float64) {
		i := len(out)
		out = append(out, Moment{Picture{Name: fmt.Sprintf("frame %d", i), Width: wide, Height: high, Corners: px, EdgePx: edge}, time.Duration(i) * time.Second / rate})
	}
	for k, px := range rests {
		for range rest {
			add(px, 1.5)
		}
		if k+1 == len(rests) {
			break
		}
		for j := 1; j <= moving; j++ {
			moved := make([]geometry.Point, len(px))
			for i := range px {
				moved[i] = px[i].Add(rests[k+1][i].Sub(px[i]).Scale(float64(j) / (moving + 1)))
			}
			add(moved, 6)
		}
	}
	out[2].Corners = nil // not found
	return out
}

func TestChooseTakesRests(t *testing.T) {
	moments := clip()
	got := Choose(moments, nine)
	require.Equal(t, 10, len(got), "one of each rest")
	for i, p := range got {
		assert.Equal(t, 1.5, p.EdgePx)
		for _, q := range got[:i] {
			assert.Greater(t, distance(nine, p.Corners, q.Corners), leastMove*wide)
		}
	}
	_, err := Estimate(got, nine)
	require.NoError(t, err)
}

func TestChooseOfNothing(t *testing.T) {
	assert.Empty(t, Choose(nil, nine))
	assert.Empty(t, Choose([]Moment{{Picture: Picture{Name: "a", Width: wide, Height: high}}}, nine))
}

// From a clip in which the board never rests, the slower half is chosen.
func TestChooseWithoutRests(t *testing.T) {
	h, rng := usual()
	a, _ := h.picture(rng)
	var ms []Moment
	for i := range 30 {
		px := make([]geometry.Point, len(a))
		for k := range a {
			px[k] = a[k].Add(geometry.Vec{X: float64(i * i), Y: 0}) // faster and faster
		}
		ms = append(ms, Moment{Picture{Name: fmt.Sprint(i), Width: wide, Height: high, Corners: px, EdgePx: 2}, time.Duration(i) * time.Second / 6})
	}
	got := Choose(ms, nine)
	require.NotEmpty(t, got)
	for _, p := range got {
		assert.Less(t, p.Corners[0].X-a[0].X, 15.0*16, p.Name)
	}
}
