package sticker

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// seenAs is the candidate of a disc.
func seenAs(x, y, radius float64, colour vec) candidate {
	return candidate{at: ptOf(x, y), area: math.Pi * radius * radius, long: radius, short: radius, colour: colour, rim: 4}
}

var tag = vec{60, 120, 220}

const bigPicture = 1920 * 1080

// trackOf follows a sticker that starts in frame 0 through frames of candidates.
func trackOf(first candidate, frames [][]candidate) *track {
	t := newTrack(&first, 0, nil, bigPicture)
	for i, cs := range frames {
		watching(t, i+1, cs...)
	}
	return t
}

func states(t *track) (seen []bool) {
	for _, s := range t.sights {
		seen = append(seen, s.seen)
	}
	return seen
}

// A sticker that disappears while its twin stays is lost. The twin, which was seen beside it, is never taken for it. A sticker
// that comes back at its place after a tenth of a second is seen again. Later it may as well be a third one, as the
// twin shows.
func TestTwinIsNeverTaken(t *testing.T) {
	for back, seenAgain := range map[int]bool{26: true, 60: false} {
		var frames [][]candidate
		for i := range 120 {
			cs := []candidate{seenAs(400+0.5*float64(i), 500, 8, tag)} // the twin
			if i < 20 || i >= back {
				cs = append(cs, seenAs(150+float64(i%3), 300, 8, tag))
			}
			frames = append(frames, cs)
		}
		tr := trackOf(seenAs(150, 300, 8, tag), frames)
		for _, s := range tr.sights {
			if s.seen {
				assert.Less(t, s.what.at.Sub(ptOf(150, 300)).Norm(), 20.0, "frame %d", s.i)
			}
			assert.Equal(t, s.i <= 20 || s.i > back && seenAgain, s.seen, "frame %d, back in %d", s.i, back)
		}
	}
}

// A twin of varying area is followed onto a thing that is too small for the sticker, but not where that may be a part of
// the sticker.
func TestTwinDoesNotTakeAPart(t *testing.T) {
	own, twin := seenAs(300, 300, 8, tag), seenAs(322, 300, 8, tag)
	for x, goesOn := range map[float64]bool{305: false, 322: true} {
		tr := newTrack(&own, 0, []candidate{own, twin}, bigPicture)
		for i := range 5 {
			tr.step(i+1, []candidate{own, twin}, 1)
		}
		tr.rivals[0].look.area.variance = 1
		part := seenAs(x, 300, 8*math.Sqrt(0.35), tag)
		tr.step(6, []candidate{part}, 1)
		require.False(t, tr.sights[6].seen)
		assert.Equal(t, goesOn, tr.rivals[0].frames == 0, "at %g", x)
		for _, r := range tr.rivals[1:] {
			assert.False(t, r.proven, "it may be the sticker")
		}
	}
}

// A twin among the new things raises the expected number of new things of the look; a thing that is hardly like the sticker does not.
func TestTwinsComeIn(t *testing.T) {
	first := seenAs(300, 300, 8, tag)
	hardly := seenAs(900, 900, 8*math.Sqrt(1.3), vec{75, 120, 210})
	twin := seenAs(900, 900, 8, tag)
	rate := func(other *candidate) float64 {
		tr := newTrack(&first, 0, nil, bigPicture)
		tr.step(1, []candidate{first}, 1)
		tr.step(2, []candidate{first, *other}, 1)
		return tr.births()
	}
	require.Positive(t, newTrack(&first, 0, nil, bigPicture).likeness(&hardly))
	assert.Less(t, rate(&hardly), 1.0)
	assert.Greater(t, rate(&twin), 10.0)
}

// A thing of another size, colour or shape, or far away, is not the sticker.
func TestAnotherLookIsAnotherThing(t *testing.T) {
	for name, c := range map[string]candidate{
		"twice as large": seenAs(152, 300, 16, tag),
		"another colour": seenAs(152, 300, 8, vec{110, 120, 160}),
		"a strip":        {at: ptOf(152, 300), area: 200, long: 40, short: 1.6, colour: tag},
		"far off":        seenAs(1500, 900, 8, tag),
	} {
		frames := make([][]candidate, 6)
		frames[1] = []candidate{c}
		tr := trackOf(seenAs(150, 300, 8, tag), frames)
		assert.Equal(t, []bool{true, false, false, false, false, false, false}, states(tr), name)
	}
}

// When two of one look meet, so that it is not clear which is which, the sticker is lost and not swapped.
func TestAmbiguousIsLost(t *testing.T) {
	var frames [][]candidate
	for range 4 {
		frames = append(frames, []candidate{seenAs(300, 300, 8, tag), seenAs(340, 300, 8, tag)})
	}
	// both at once on either side of where the sticker was
	frames = append(frames, []candidate{seenAs(300, 310, 8, tag), seenAs(300, 290, 8, tag)})
	tr := trackOf(seenAs(300, 300, 8, tag), frames)
	assert.Equal(t, []bool{true, true, true, true, true, false}, states(tr))
}

// A sticker that comes back after a gap counts once it was followed for four frames, and then from the first of them.
func TestComingBackIsConfirmed(t *testing.T) {
	back := func(n int) []bool {
		frames := make([][]candidate, 12)
		for i := range frames {
			if i < 2 || i >= 7 && i < 7+n {
				frames[i] = []candidate{seenAs(200+float64(i), 300, 8, tag)}
			}
		}
		return states(trackOf(seenAs(199, 300, 8, tag), frames))
	}
	assert.Equal(t, []bool{true, true, true, false, false, false, false, false, false, false, false, false, false}, back(3))
	assert.Equal(t, []bool{true, true, true, false, false, false, false, false, true, true, true, true, false}, back(4))
}

// A sticker that comes back at its expected place counts after four frames also if each frame shows new things of its look.
func TestComingBackAmongMany(t *testing.T) {
	for back, seen := range map[int]bool{3: false, 4: true} {
		frames := make([][]candidate, 60)
		for i := range frames {
			if i < 40 || i >= 42 && i < 42+back {
				frames[i] = []candidate{seenAs(200+float64(i), 300, 8, tag)}
			}
			for k := range 4 * i { // four new ones in each frame
				frames[i] = append(frames[i], seenAs(float64(300+50*(k%30)), float64(500+50*(k/30)), 8, tag))
			}
		}
		tr := trackOf(seenAs(199, 300, 8, tag), frames)
		assert.True(t, tr.sights[40].seen)
		assert.False(t, tr.sights[41].seen)
		assert.Equal(t, seen, tr.sights[43].seen, "%d frames", back)
	}
}

// A single sight between frames without candidates is not the sticker.
func TestOneSightIsNone(t *testing.T) {
	frames := make([][]candidate, 9)
	for i := range frames {
		if i < 3 || i == 4 {
			frames[i] = []candidate{seenAs(200+4*float64(i), 300, 8, tag)}
		}
	}
	assert.Equal(t, []bool{true, true, true, true, false, false, false, false, false, false}, states(trackOf(seenAs(196, 300, 8, tag), frames)))
}

// If a frame shows many things of the sticker's look, more of them are expected, and a new one is not the sticker.
func TestOneOfManyIsNotTaken(t *testing.T) {
	first := seenAs(300, 300, 8, tag)
	for n, taken := range map[int]bool{0: true, 40: false} {
		var others []candidate
		for k := range n {
			others = append(others, seenAs(100+40*float64(k), 900, 8, tag))
		}
		tr := newTrack(&first, 0, append(others, first), bigPicture)
		tr.twinRate.pictures = 100 // in which nothing of its look was beside it
		for i := range 3 {
			tr.step(i+1, append(others[:n:n], seenAs(450, 300+float64(i), 8, tag)), 1)
		}
		assert.Equal(t, taken, tr.sights[3].seen, "%d others", n)
	}
}

// A thrown thing that moves 2.5 of its widths a frame is followed if nothing else looks like it.
func TestFastIsFollowed(t *testing.T) {
	var frames [][]candidate
	for i := range 14 {
		s := float64(i + 1)
		frames = append(frames, []candidate{seenAs(100+90*s, 600-60*s+5*s*s, 18, tag)})
	}
	for i, seen := range states(trackOf(seenAs(100, 600, 18, tag), frames)) {
		assert.True(t, seen, "frame %d", i)
	}
}

// A sticker disappears in fast motion, and fifteen frames later a thing of nearly its colour and size appears far away
// and stays. It is not the sticker: in so many frames, as good a likeness appears by chance. The sticker itself, which
// comes back after the same time at its expected place, is seen again.
func TestLikenessAfterALongGap(t *testing.T) {
	for name, c := range map[string]struct {
		later func(i int) candidate
		seen  bool
	}{
		"a likeness":  {func(i int) candidate { return seenAs(500-9*float64(i-30), 480, 8*math.Sqrt(0.85), vec{69, 124, 216}) }, false},
		"the sticker": {func(i int) candidate { return seenAs(500+12*float64(i), 600, 8, tag) }, true},
	} {
		frames := make([][]candidate, 60)
		for i := range frames {
			switch {
			case i < 16:
				y := 600.0
				if name == "a likeness" {
					y += 24 * float64(i%2)
				}
				frames[i] = []candidate{seenAs(500+12*float64(i), y, 8, tag)}
			case i >= 31:
				frames[i] = []candidate{c.later(i)}
			}
		}
		tr := trackOf(seenAs(488, 600, 8, tag), frames)
		for i, seen := range states(tr) {
			assert.Equal(t, i <= 16 || i > 31 && c.seen, seen, "%s, frame %d", name, i)
		}
	}
}

// The expected number of new things falls with frames that show none, rises with frames that do, and falls again.
func TestRateOfNewThings(t *testing.T) {
	first := seenAs(300, 300, 8, tag)
	tr := newTrack(&first, 0, nil, bigPicture)
	before := tr.births()
	quiet := func(n int) {
		for range n {
			tr.step(len(tr.sights), []candidate{first}, 1)
		}
	}
	quiet(55)
	assert.InDelta(t, 1.0/60, tr.births(), 1e-9)
	assert.Greater(t, before, 0.1)
	all := []candidate{first}
	for k := range 10 { // a new one in each frame, together with the others
		all = append(all, seenAs(500+100*float64(k), 900, 8, tag))
		tr.step(len(tr.sights), all, 1)
	}
	assert.Greater(t, tr.births(), 0.1)
	quiet(700) // ten twins are remembered for longer than ten things that are hardly alike
	assert.Less(t, tr.births(), 0.02)
}

// The look learns how much its features vary.
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

// A hidden part of a sticker and the picture's edge increase centreSD.
func TestMissingPart(t *testing.T) {
	first := seenAs(0, 0, 10, tag)
	l := newLook(&first)
	assert.Zero(t, l.centreSD(&first))
	part := seenAs(0, 0, 10*math.Sqrt(0.6), tag)
	assert.Greater(t, l.centreSD(&part), 1.5)
	for k := range 40 { // now more of it shows, now less
		some := seenAs(0, 0, 10*(1+0.15*float64(k%3-1)), tag)
		l.learn(&some)
	}
	assert.InDelta(t, 2.4, l.centreSD(&first), 0.6, "a frame with its mean area does not show the whole of it either")
	first.cut = true
	assert.InDelta(t, 5.8, l.centreSD(&first), 0.01)
}

// The sticker of another seed in the same frame is another thing, also where this sticker's ink misses it there.
func TestAnotherSeedsStickerIsARival(t *testing.T) {
	a, b := seenAs(180, 400, 5.5, tag), seenAs(134, 423, 5.7, tag)
	j := smallJob(a, b)
	j.addPicture(picture{0, false, [][]candidate{{a}, {b}}})
	on := j.tracks[onward][0]
	require.Len(t, on.rivals, 1)
	assert.Equal(t, b.at, on.rivals[0].at)
	assert.True(t, on.rivals[0].proven)
}

// A rival that has shown many sizes fits a candidate as well as one that has shown this size alone, but says less about it.
func TestARivalOfManySizesClaimsLess(t *testing.T) {
	tr := trackWithGap(17, nil)
	c := seenAs(500, 300, 8, tag)
	for range 2 {
		r := newThread(&c)
		r.frames = 1
		tr.rivals = append(tr.rivals, r)
	}
	tr.rivals[1].look.area.variance *= 9
	claims := tr.findClaims([]candidate{c})
	require.Len(t, claims, 2)
	assert.Equal(t, 0, claims[0].rival)
	assert.InDelta(t, math.Log(3), claims[0].odds-claims[1].odds, 1e-9)
}

// A rival that may be the candidate counts against the sticker.
func TestRivalsClaim(t *testing.T) {
	at := seenAs(300, 300, 8, tag)
	beside := seenAs(330, 300, 8, tag)
	pick := func(others ...candidate) int {
		tr := newTrack(&at, 0, others, bigPicture)
		tr.own.frames = 3
		for k := range tr.rivals {
			tr.rivals[k].frames = 1
		}
		cs := []candidate{beside}
		return tr.choose(weights{whole: []float64{6}, veto: []float64{6}}, tr.findClaims(cs))
	}
	assert.Equal(t, -1, pick(at, beside))
	assert.Zero(t, pick(at))
	assert.Zero(t, pick(at, seenAs(330, 300, 20, tag)), "a rival of another size has no claim")
}

// The odds of a place fall with the fourth power of its distance, and the scale grows with the frames since the last sight.
func TestOddsOfPlaces(t *testing.T) {
	c := seenAs(0, 0, 10, tag)
	th := newThread(&c)
	th.frames = 1
	look, _ := th.look.odds(&c, 1)
	odds := func(e float64) float64 {
		at := seenAs(e, 0, 10, tag)
		return th.odds(&at, bigPicture, 1e-9, 0) - look + math.Log(1e-9)
	}
	assert.InDelta(t, 4*math.Ln2, odds(200)-odds(400), 0.02)
	s := th.spread()
	th.frames = 2
	assert.InDelta(t, 4, th.spread()/s, 1e-9, "its velocity is not known")
	th.frames = 1
	// the density integrates to 1 over the plane: in rings
	sum := 0.0
	for e := 0.05; e < 3000; e += 0.1 {
		sum += 2 * math.Pi * e * 0.1 * math.Exp(odds(e)) / bigPicture
	}
	assert.InDelta(t, 1, sum, 0.02)
	th.see(&c)
	th.frames = 1
	s = th.spread()
	th.frames = 2
	assert.InDelta(t, 8, th.spread()/s, 1e-9)
}

// Of two stickers of one look, both hidden, one comes back at its place. After three frames it is taken for the one that was there. After more frames than
// rivals are remembered it may as well be the other, and is taken for neither.
func TestWhichOfTwoAlike(t *testing.T) {
	stickers := []candidate{seenAs(300, 300, 8, tag), seenAs(300, 360, 8, tag)}
	for back, want := range map[int]bool{13: true, 85: false} {
		for which := range 2 {
			for k := range 2 {
				tr := newTrack(&stickers[k], 0, stickers, bigPicture)
				for i := 1; i < 100; i++ {
					var cs []candidate
					switch {
					case i < 10:
						cs = stickers
					case i >= back:
						cs = stickers[which : which+1]
					}
					tr.step(i, cs, 1)
				}
				assert.Equal(t, want && which == k, tr.sights[99].seen, "%d is back in frame %d, for %d", which, back, k)
			}
		}
	}
}
