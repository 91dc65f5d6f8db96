package reading

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// joinedTracks is one leap after another, with all marks lost for gap frames between them.
func joinedTracks(gap int, parts ...*Track) *Track {
	out := &Track{Landmarks: parts[0].Landmarks}
	n := 0
	add := func(f TrackFrame) {
		f.Frame, f.TimeS = n, float64(n)/60
		n++
		out.Frames = append(out.Frames, f)
	}
	for i, p := range parts {
		for range gap {
			if i > 0 {
				add(TrackFrame{Marks: []Tracked{{Seen: Lost}, {Seen: Lost}, {Seen: Lost}}, AngleDeg: math.NaN(), SDDeg: math.NaN()})
			}
		}
		for _, f := range p.Frames {
			add(f)
		}
	}
	return out
}

func wholeLeap() *Track {
	t := leapTrack()
	t.Frames = t.Frames[5:]
	return t
}

// Stickers that are lost for longer than a quarter of a second and found anew begin another pass.
func TestPassesOfATrack(t *testing.T) {
	for _, c := range []struct{ gap, want int }{{0, 1}, {10, 1}, {20, 3}, {90, 3}} {
		track := joinedTracks(c.gap, wholeLeap(), wholeLeap(), wholeLeap())
		got := track.Passes()
		require.Len(t, got, c.want, "a gap of %d frames", c.gap)
		assert.Equal(t, 0, got[0].Frames[0].Frame)
		assert.Equal(t, len(track.Frames)-1, got[len(got)-1].Frames[len(got[len(got)-1].Frames)-1].Frame)
	}
	none := joinedTracks(0, &Track{Landmarks: []string{"hip"}, Frames: []TrackFrame{{Marks: []Tracked{{Seen: Lost}}}}})
	assert.Empty(t, none.Passes())
}

// Two leaps in one pass are two tracks, each with its own peak.
func TestLeapsOfATrack(t *testing.T) {
	back := wholeLeap()
	slices.Reverse(back.Frames) // she leaps back, from where she landed
	track := joinedTracks(0, wholeLeap(), back)
	got, smaller, _, err := track.Leaps(request(t, nil), false)
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Zero(t, smaller)
	one, _, _, err := wholeLeap().Leaps(request(t, nil), false)
	require.NoError(t, err)
	require.Len(t, one, 1)
	at := func(track *Track) float64 {
		s, err := Series(request(t, nil), track)
		require.NoError(t, err)
		p, err := track.Peak(s, false)
		require.NoError(t, err)
		return p.TimeS
	}
	first := at(wholeLeap()) - 5.0/60
	assert.InDelta(t, first, at(got[0]), 1.0/60)
	assert.InDelta(t, 109.0/60-first, at(got[1]), 1.0/60)
}

// Strides before a leap are not leaps, a smaller leap after it is, for any share between 0.65 and 0.9.
func TestShareOfALeap(t *testing.T) {
	var angles []float64
	hump := func(most float64) {
		for i := range 30 {
			angles = append(angles, 40+(most-40)*math.Sin(math.Pi*float64(i)/30))
		}
	}
	hump(95)
	hump(100)
	hump(163)
	hump(150)
	sd := make([]float64, len(angles))
	for i := range sd {
		sd[i] = 0.4
	}
	for share := 0.65; share <= 0.9; share += 0.05 {
		wide, smaller, most := leaps(angles, sd, share)
		require.Len(t, wide, 2, "share %v", share)
		assert.InDelta(t, 163, angles[wide[0].Top], 0.1)
		assert.InDelta(t, 150, angles[wide[1].Top], 0.1)
		assert.Equal(t, 2, smaller)
		assert.InDelta(t, 100, most, 0.1)
	}
}
