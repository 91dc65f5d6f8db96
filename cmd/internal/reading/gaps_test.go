package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shifted moves a mark of a track in frames from one to another.
func shifted(t *Track, k, from, to int, x, y float64) *Track {
	for i := from; i <= to; i++ {
		t.Frames[i].Marks[k].X += x
		t.Frames[i].Marks[k].Y += y
	}
	return t
}

// hidden removes a mark in frames from one to another.
func hidden(t *Track, k, from, to int) *Track {
	for i := from; i <= to; i++ {
		t.Frames[i].Marks[k] = Tracked{Seen: Lost}
	}
	return t
}

// unbroken returns the leap without its gap.
func unbroken() *Track {
	t, at := leapTrack(), leapTrack().Frames
	for _, i := range []int{3, 4} {
		t.Frames[i].Marks[1] = at[5].Marks[1]
		t.Frames[i].Marks[1].Seen = Found
		t.Frames[i].Marks[1].X -= float64(5-i) * 10
	}
	return t
}

func TestGaps(t *testing.T) {
	track := hidden(hidden(leapTrack(), 0, 5, 6), 2, 59, 59)
	assert.Equal(t, []Gap{{3, 6}, {59, 59}}, track.Gaps(), "marks of one frame or another")
	track.Frames = append(track.Frames[:20:20], track.Frames[25:]...) // pictures that could not be decoded
	assert.Equal(t, []Gap{{3, 6}, {20, 24}, {59, 59}}, track.Gaps())
}

func TestJumps(t *testing.T) {
	assert.Empty(t, unbroken().Jumps(), "a leap's ankles move by up to 30 px a frame, and unevenly")
	assert.Empty(t, hidden(unbroken(), 1, 20, 30).Jumps(), "a gap is no jump where what is after it fits")
	got := shifted(unbroken(), 1, 40, 59, -200, 60).Jumps()
	require.Len(t, got, 1)
	assert.Equal(t, []any{"front-ankle", 39, 40}, []any{got[0].Landmark, got[0].From, got[0].To})
	assert.InDelta(t, 200, got[0].Px, 30)
	assert.Contains(t, got[0].String(), "front-ankle jumps by ")
	// for one frame, and over a gap
	assert.Len(t, shifted(unbroken(), 0, 40, 40, 50, 0).Jumps(), 2)
	assert.Len(t, shifted(hidden(unbroken(), 0, 36, 39), 0, 40, 59, 300, 0).Jumps(), 1)
	// less than an encoder may move it
	assert.Empty(t, shifted(unbroken(), 0, 40, 59, 5, 0).Jumps())
}

// The widest angle is no peak if it comes from a jump or is beside a gap.
func TestPeakNearGaps(t *testing.T) {
	q := request(t, nil)
	q.Camera = "squared"
	peak := func(track *Track) (Peak, error) {
		_, p, err := PeakRequest(q, track, [2]float64{})
		return p, err
	}
	p, err := peak(unbroken())
	require.NoError(t, err)
	assert.Equal(t, 25, p.Frame)
	assert.Empty(t, p.Gaps)

	// another robot's tag: the angle is wider from there on
	_, err = peak(shifted(unbroken(), 2, 40, 59, 0, -300))
	assert.ErrorContains(t, err, "a mark jumps")
	hintOf(t, err)
	// before it, at the true peak, it is not known which side is wrong
	_, err = peak(shifted(unbroken(), 2, 40, 59, 0, 60))
	assert.ErrorContains(t, err, "a mark jumps")

	// for one frame: the peak is elsewhere and stays, and the jump is reported
	q2, err := peak(shifted(unbroken(), 2, 45, 45, 0, -300))
	require.NoError(t, err)
	assert.Equal(t, 25, q2.Frame)
	assert.Len(t, q2.Jumps, 2)
	// at the peak itself
	_, err = peak(shifted(unbroken(), 2, 25, 25, 0, -300))
	assert.ErrorContains(t, err, "beside frames in which a sticker is not seen")

	// lost about the peak
	_, err = peak(hidden(unbroken(), 1, 22, 28))
	assert.ErrorContains(t, err, "beside frames in which a sticker is not seen")
	hintOf(t, err)
	// lost farther away: the peak stays, and the frames are named
	far, err := peak(hidden(unbroken(), 1, 34, 40))
	require.NoError(t, err)
	assert.Equal(t, 25, far.Frame)
	assert.Equal(t, []Gap{{34, 40}}, far.Gaps)
	// with a mark that is only predicted the angle was not seen
	track := unbroken()
	for i := 22; i <= 28; i++ {
		track.Frames[i].Marks[1].Seen = Predicted
	}
	_, err = peak(track)
	assert.ErrorContains(t, err, "beside frames in which a sticker is not seen")
}

func TestNothingMoves(t *testing.T) {
	track := unbroken()
	for i := range track.Frames {
		for k := range track.Landmarks {
			track.Frames[i].Marks[k] = track.Frames[25].Marks[k]
			track.Frames[i].Marks[k].X += 0.2 * float64(i%3-1)
		}
	}
	assert.True(t, track.Still())
	_, _, err := ReadPeak(request(t, nil), track, [2]float64{})
	assert.ErrorContains(t, err, "nothing moves in frames 0 to 59")
	hintOf(t, err)
	assert.False(t, shifted(track, 0, 30, 59, 3, 0).Still())
}
