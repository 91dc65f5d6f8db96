package sticker

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seenAs is a candidate of a disc.
func seenAs(x, y, radius float64, colour vec) candidate {
	return candidate{at: ptOf(x, y), area: math.Pi * radius * radius, long: radius, short: radius, colour: colour, level: 1, rim: 4}
}

var tag = vec{60, 120, 220}

const bigPicture = 1920 * 1080

// run follows a sticker that starts at frame 0 through frames of candidates.
func run(first candidate, frames [][]candidate) *track {
	t := newTrack(&first, 0, bigPicture)
	for i, cs := range frames {
		t.step(i+1, cs, 1)
	}
	return t
}

func states(t *track) (seen []bool) {
	for _, s := range t.sights {
		seen = append(seen, s.seen)
	}
	return seen
}

// A sticker that goes while its twin stays is lost. The twin, seen beside it before, is never taken for it, however long it is
// gone; and when it comes back where it was, it is seen again.
func TestTwinIsNeverTaken(t *testing.T) {
	var frames [][]candidate
	for i := range 120 {
		cs := []candidate{seenAs(400+0.5*float64(i), 500, 8, tag)} // the twin
		if i < 20 || i >= 60 {
			cs = append(cs, seenAs(150+float64(i%3), 300, 8, tag))
		}
		frames = append(frames, cs)
	}
	tr := run(seenAs(150, 300, 8, tag), frames)
	for _, s := range tr.sights {
		if s.seen {
			assert.Less(t, s.what.at.Sub(ptOf(150, 300)).Norm(), 20.0, "frame %d", s.i)
		}
		assert.Equal(t, s.i <= 20 || s.i > 60, s.seen, "frame %d", s.i)
	}
}

// One that appears far away in another size or colour, while the sticker is hidden, is another thing.
func TestAnotherLookIsAnotherThing(t *testing.T) {
	for name, c := range map[string]candidate{
		"twice as large": seenAs(152, 300, 16, tag),
		"another colour": seenAs(152, 300, 8, vec{110, 120, 160}),
		"a strip":        {at: ptOf(152, 300), area: 200, long: 40, short: 1.6, colour: tag, level: 1},
		"far off":        seenAs(1500, 900, 8, tag),
	} {
		frames := make([][]candidate, 6)
		frames[1] = []candidate{c}
		tr := run(seenAs(150, 300, 8, tag), frames)
		assert.Equal(t, []bool{true, false, false, false, false, false, false}, states(tr), name)
	}
}

// Two alike that meet, so that nothing tells which is which, are lost from there on rather than swapped.
func TestWhatIsNotClearIsLost(t *testing.T) {
	var frames [][]candidate
	for range 4 {
		frames = append(frames, []candidate{seenAs(300, 300, 8, tag), seenAs(340, 300, 8, tag)})
	}
	// both at once on either side of where the sticker was
	frames = append(frames, []candidate{seenAs(300, 310, 8, tag), seenAs(300, 290, 8, tag)})
	tr := run(seenAs(300, 300, 8, tag), frames)
	assert.Equal(t, []bool{true, true, true, true, true, false}, states(tr))
}

// What comes back after a gap counts when it has gone on for three frames, and then from its first one.
func TestComingBackIsConfirmed(t *testing.T) {
	back := func(n int) []bool {
		frames := make([][]candidate, 12)
		for i := range frames {
			if i < 2 || i >= 7 && i < 7+n {
				frames[i] = []candidate{seenAs(200+float64(i), 300, 8, tag)}
			}
		}
		return states(run(seenAs(199, 300, 8, tag), frames))
	}
	assert.Equal(t, []bool{true, true, true, false, false, false, false, false, false, false, false, false, false}, back(2))
	assert.Equal(t, []bool{true, true, true, false, false, false, false, false, true, true, true, false, false}, back(3))
}

// A thing that is thrown, five of its widths a frame, is followed where nothing else is like it.
func TestFastIsFollowed(t *testing.T) {
	var frames [][]candidate
	for i := range 14 {
		s := float64(i + 1)
		frames = append(frames, []candidate{seenAs(100+90*s, 600-60*s+5*s*s, 18, tag)})
	}
	for i, seen := range states(run(seenAs(100, 600, 18, tag), frames)) {
		assert.True(t, seen, "frame %d", i)
	}
}

// A mark that leaps off its way says so; those on it do not.
func TestJumpIsTold(t *testing.T) {
	var frames [][]candidate
	for i := range 20 {
		y := 300.0
		if i == 12 {
			y += 45
		}
		frames = append(frames, []candidate{seenAs(100+2*float64(i), y, 8, tag)})
	}
	tr := run(seenAs(98, 300, 8, tag), frames)
	for i := 1; i < 13; i++ {
		assert.False(t, tr.sights[i].jump, "frame %d", i)
	}
	assert.True(t, tr.sights[13].jump)
}

// The look follows what drifts, and by how much it varies.
func TestLookLearns(t *testing.T) {
	first := seenAs(0, 0, 8, tag)
	l := newLook(&first)
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 80 {
		c := seenAs(0, 0, 8*math.Exp(0.15*rnd.NormFloat64()), tag)
		l.learn(&c)
	}
	// the radius scatters by 0.15, so the area by 0.3
	assert.InDelta(t, 0.3, math.Sqrt(l.area.variance), 0.13)
	other := seenAs(0, 0, 8*1.6, tag)
	_, unsure := l.odds(&other, 1)
	assert.True(t, unsure, "its size varies")
	fresh := newLook(&first)
	_, sure := fresh.odds(&other, 1)
	assert.False(t, sure, "it was always of one size")
	same, ok := fresh.odds(&first, 1)
	require.True(t, ok)
	assert.Greater(t, same, 3.0)
}

// What hides a part of a sticker widens its covariance, and the picture's edge does.
func TestMissingPart(t *testing.T) {
	first := seenAs(0, 0, 10, tag)
	l := newLook(&first)
	assert.Zero(t, l.missing(&first))
	part := seenAs(0, 0, 10*math.Sqrt(0.6), tag)
	assert.Greater(t, l.missing(&part), 1.5)
	first.cut = true
	assert.InDelta(t, 5.8, l.missing(&first), 0.01)
}

// A rival's claim on its own place weighs against the sticker's.
func TestRivalsClaim(t *testing.T) {
	c := seenAs(300, 300, 8, tag)
	tr := newTrack(&c, 0, bigPicture)
	r := seenAs(330, 300, 8, tag)
	rival := newThread(&r)
	rival.frames, rival.proven = 1, true
	tr.own.frames = 3
	cs := []candidate{seenAs(330, 300, 8, tag)}
	odds := []float64{6}
	tr.rivals = []thread{rival}
	pick := tr.choose(cs, odds)
	assert.Equal(t, -1, pick)
	tr.rivals = nil
	pick = tr.choose(cs, odds)
	assert.Zero(t, pick)
}

// The odds of a place fall as the fourth power of how far off it is, and its scale grows with the frames that it was not seen.
func TestOddsOfPlaces(t *testing.T) {
	c := seenAs(0, 0, 10, tag)
	th := newThread(&c)
	th.frames = 1
	far, farther := th.odds(ptOf(200, 0), bigPicture, 1), th.odds(ptOf(400, 0), bigPicture, 1)
	assert.InDelta(t, 4*math.Ln2, far-farther, 0.02)
	s := th.spread()
	th.frames = 2
	assert.InDelta(t, 8, th.spread()/s, 1e-9)
	// all of the density is within the plane: integrated over rings
	sum := 0.0
	for e := 0.05; e < 3000; e += 0.1 {
		sum += 2 * math.Pi * e * 0.1 * math.Exp(oddsOnly(&th, e)) / bigPicture
	}
	assert.InDelta(t, 1, sum, 0.02)
}

func oddsOnly(th *thread, e float64) float64 {
	one := *th
	one.frames = 1
	return one.odds(ptOf(e, 0), bigPicture, 1)
}
