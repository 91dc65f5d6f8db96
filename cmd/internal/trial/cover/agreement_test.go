package main

import (
	"context"
	"image"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
	"ecart/vision/record"
	"ecart/vision/sticker"
)

// middleOf is the place of a ball in frame n of the clip that drawBalls draws.
func middleOf(ball, n int) geometry.Point {
	return geometry.Point{X: 60 + 80*float64(ball) + 4*float64(n), Y: 120 + 30*math.Sin(0.2*float64(n)+float64(ball))}
}

// drawBalls draws a clip of 24 frames with a red and a green ball that move.
func drawBalls(t *testing.T, path string) {
	out, err := os.Create(path)
	require.NoError(t, err)
	defer out.Close()
	c, err := record.New(t.Context(), out, path, 320, 240, 30)
	require.NoError(t, err)
	for n := range 24 {
		img := image.NewRGBA(image.Rect(0, 0, 320, 240))
		for i := 0; i < len(img.Pix); i += 4 {
			copy(img.Pix[i:], []uint8{90, 90, 110, 255})
			for ball := range 2 {
				at := geometry.Point{X: float64(i / 4 % 320), Y: float64(i / 4 / 320)}
				share := min(max(14.5-at.Sub(middleOf(ball, n)).Norm(), 0), 1)
				img.Pix[i+ball] += uint8(130 * share)
			}
		}
		require.NoError(t, c.Add(img))
	}
	require.NoError(t, c.Finish())
}

// Balls that are given, or proposed, are found at the same places when they are followed again. If each later run is off by 4 px, every pair disagrees.
func TestAgreement(t *testing.T) {
	c := realClip{name: "balls", path: filepath.Join(t.TempDir(), "a.mp4")}
	drawBalls(t, c.path)
	plain := followerIn(c.path)
	shifted := func(ctx context.Context, seed sticker.Seed) ([]sticker.Frame, error) {
		frames, err := plain(ctx, seed)
		for n := range frames {
			if seed.Frame > 0 {
				frames[n].Marks[0].At.X += 4
			}
		}
		return frames, err
	}
	given := c
	given.Things = []realThing{{Name: "red", at: map[int]geometry.Point{0: middleOf(0, 0)}}}
	for _, each := range []struct {
		clip   *realClip
		follow follower
		want   []agreement // of each ball: seen in all frames, and compared in all but the seed's of the second run
	}{
		{&given, plain, []agreement{{Seen: 24, Runs: 2, Pairs: 46}}},
		{&given, shifted, []agreement{{Seen: 24, Runs: 2, Pairs: 46, Disagree: 46}}},
		{&c, plain, []agreement{{Seen: 24, Runs: 2, Pairs: 46}, {Seen: 24, Runs: 2, Pairs: 46}}},
	} {
		s := realStudy{Every: 8}
		require.NoError(t, s.agreeIn(t.Context(), each.clip, each.follow, 1, func(string) {}, false))
		var got []agreement
		for _, a := range s.Agreed {
			got = append(got, agreement{Seen: a.Seen, Runs: a.Runs, Pairs: a.Pairs, Disagree: a.Disagree})
		}
		assert.Equal(t, each.want, got)
	}
}
