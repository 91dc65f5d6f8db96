package figure

import (
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// level returns a track of one point that moves by 10 px a frame along row 100, from x = 100.
func level() *reading.Track {
	t := &reading.Track{Landmarks: []string{"hand"}}
	for i := range 60 {
		t.Frames = append(t.Frames, reading.TrackFrame{Frame: i, TimeS: float64(i) / 60, Marks: []reading.Tracked{
			{X: 100 + 10*float64(i), Y: 100, Covariance: [2][2]float64{{0.1, 0}, {0, 0.1}}, Seen: reading.Found}}})
	}
	return t
}

// A path is drawn where the point was seen, not over a gap or a jump, and only in the given range of
// frames.
func TestPathsAreDrawnWhereThePointWasSeen(t *testing.T) {
	track := level()
	for i := 20; i < 30; i++ {
		track.Frames[i].Marks[0] = reading.Tracked{Seen: reading.Lost}
	}
	for i := 40; i < 60; i++ {
		track.Frames[i].Marks[0].Y = 300
	}
	jumps := track.Jumps()
	require.Len(t, jumps, 1)
	img, err := DrawPaths(image.NewRGBA(image.Rect(0, 0, 800, 400)), Paths{Track: track, From: 0, To: 55, At: 10, Jumps: jumps})
	require.NoError(t, err)
	assert.Equal(t, image.Rect(0, 0, 800, 400), img.Bounds())
	drawn := func(x, y int) bool {
		for d := -2; d <= 2; d++ {
			if near(img, x, y+d, draw.Measured) {
				return true
			}
		}
		return false
	}
	for x, want := range map[int]bool{150: true, 285: true, 300: false, 390: false, 405: true, 485: true} {
		assert.Equal(t, want, drawn(x, 100), "at x = %d", x)
	}
	assert.True(t, drawn(600, 300))
	assert.False(t, drawn(680, 300), "frame 58 was not asked for")
	for y := 120; y < 280; y += 10 {
		assert.False(t, drawn(495, y), "the jump, at y = %d", y)
	}
	// if it is not seen in the picture's own frame, its name says so, and no dot is drawn
	_, seen := (&Paths{Track: track, To: 59, At: 25}).now(0)
	assert.False(t, seen)
	_, err = DrawPaths(image.NewRGBA(image.Rect(0, 0, 80, 40)), Paths{Track: &reading.Track{}})
	assert.Error(t, err)
}

// The line of the angle is interrupted at a jump.
func TestCurveStopsAtAJump(t *testing.T) {
	track := hill()
	k, err := layCurve(Curve{Track: track, Jumps: []reading.Jump{{Landmark: "hip", From: 39, To: 40, Px: 200}}})
	require.NoError(t, err)
	require.Len(t, k.runs, 3)
	assert.Equal(t, 39, k.runs[1][len(k.runs[1])-1].Frame)
	assert.Equal(t, 40, k.runs[2][0].Frame)
	assert.InDelta(t, 39.5/60, k.jumps[0], 1e-12)
	_, err = DrawCurve(Curve{Track: track, Why: "a mark jumps"}, Options{Width: 960})
	assert.NoError(t, err)
}
