package sticker

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// moving is the candidate in frame i of a sticker that moves 10 px a frame to the right.
func moving(i int) candidate { return seenAs(100+10*float64(i), 300, 8, tag) }

// trackWithGap follows the sticker moving through 14 frames, 3 frames without candidates, and then frames with those of later.
func trackWithGap(frames int, later func(i int) []candidate) *track {
	first := moving(0)
	tr := newTrack(&first, 0, []candidate{first}, bigPicture)
	for i := 1; i < frames; i++ {
		switch {
		case i < 14:
			tr.step(i, []candidate{moving(i)}, 1)
		case i < 17:
			tr.step(i, nil, 1)
		default:
			tr.step(i, later(i), 1)
		}
	}
	return tr
}

// A twin that was never seen comes out far off while the sticker is hidden: its look is no evidence. The sticker, which comes out at its
// expected place, is seen again.
func TestTwinThatWasHidden(t *testing.T) {
	tr := trackWithGap(50, func(i int) []candidate { return []candidate{seenAs(330, 420-4*float64(i-17), 8, tag)} })
	assert.NotContains(t, states(tr)[14:], true)
	tr = trackWithGap(30, func(i int) []candidate { return []candidate{moving(i)} })
	assert.NotContains(t, states(tr)[17:], false)
}

// With Seed.Again, the next athlete's sticker counts as the lost one.
func TestNextAthlete(t *testing.T) {
	for _, anyAthlete := range []bool{false, true} {
		first := moving(0)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		tr.anyAthlete = anyAthlete
		for i := 1; i < 100; i++ {
			var cs []candidate
			if i < 40 {
				cs = []candidate{moving(i)}
			} else if i >= 70 {
				cs = []candidate{moving(i - 70)}
			}
			tr.step(i, cs, 1)
		}
		assert.Equal(t, anyAthlete, tr.sights[75].seen)
	}
}

// After a gap a better likeness hardly raises the odds, since a twin may come out; from one frame to the next it does.
func TestALikenessIsNoEvidence(t *testing.T) {
	first := moving(0)
	th := newThread(&first)
	th.frames = 3
	twin, like := seenAs(100, 300, 8, tag), seenAs(100, 300, 8.7, vec{66, 120, 216})
	assert.Greater(t, th.odds(&twin, bigPicture, 0.01, 0)-th.odds(&like, bigPicture, 0.01, 0), 0.5)
	assert.Less(t, th.odds(&twin, bigPicture, 0.01, 0.2)-th.odds(&like, bigPicture, 0.01, 0.2), 0.05)
	unlike := seenAs(100, 300, 16, tag)
	assert.True(t, math.IsInf(th.odds(&unlike, bigPicture, 0.01, 0.2), -1))
}

// pathOf is a path of places, one a frame, which begins a number of frames after the last sight of the sticker.
func pathOf(frames float64, places ...geometry.Point) (path []attempt) {
	for n, at := range places {
		path = append(path, attempt{seenAs(at.X, at.Y, 8, tag), frames + float64(n), math.Inf(-1), math.Inf(-1)})
	}
	return path
}

// A thing near the expected place is judged by its next step: only the sticker keeps its velocity.
func TestNextStepTells(t *testing.T) {
	tr := trackWithGap(17, nil)
	on, back := pathOf(4, ptOf(270, 300), ptOf(280, 300)), pathOf(4, ptOf(270, 300), ptOf(220, 300))
	assert.Greater(t, tr.oddsOfStep(&tr.own, &on[0], &on[1]), 1.0)
	assert.Less(t, tr.oddsOfStep(&tr.own, &back[0], &back[1]), -2.0)
}

// The longer a thing is seen with nothing else that comes out, the likelier it is the sticker. Another candidate in its first frame counts against it.
func TestNothingElseComesBack(t *testing.T) {
	tr := trackWithGap(17, nil)
	var places []geometry.Point
	for n := range 20 {
		places = append(places, ptOf(270+10*float64(n), 300))
	}
	_, few := tr.oddsBack(pathOf(4, places[:4]...))
	_, many := tr.oddsBack(pathOf(4, places...))
	assert.InDelta(t, math.Log((1+20.0/(4+hiddenFor))/(1+4.0/(4+hiddenFor))), many-few, 1e-9)
	from, odds := tr.oddsBack(pathOf(4, places[:3]...))
	assert.Equal(t, math.Inf(-1), odds, "too few frames")
	assert.Equal(t, 0, from)
	path := pathOf(4, places[:5]...)
	path[0].other = 30
	from, less := tr.oddsBack(path)
	assert.Equal(t, 1, from)
	assert.Less(t, less, few)
}

// The look counts over the whole path: one that is unlike in its first frame only may be the sticker, in part; one that stays unlike is not, wherever it comes out.
func TestLookOfAPath(t *testing.T) {
	tr := trackWithGap(17, nil)
	odds := func(unlike int) float64 {
		path := pathOf(4, ptOf(270, 300), ptOf(280, 300), ptOf(290, 300), ptOf(300, 300), ptOf(310, 300), ptOf(320, 300))
		for n := range unlike {
			path[n].candidate = seenAs(path[n].at.X, 300, 10, vec{75, 105, 205})
			look, ok := tr.own.look.odds(&path[n].candidate, path[n].frames)
			require.True(t, ok)
			require.Less(t, look, 0.0)
		}
		_, odds := tr.oddsBack(path)
		return odds
	}
	assert.Greater(t, odds(1), clearLogOdds)
	assert.Less(t, odds(0)-odds(1), 1.0)
	assert.Equal(t, math.Inf(-1), odds(6))

	// a thing that is nothing like it soon after is not the sticker before
	path := pathOf(4, ptOf(270, 300), ptOf(280, 300), ptOf(290, 300), ptOf(300, 300), ptOf(310, 300), ptOf(320, 300), ptOf(330, 300))
	path[2].candidate = seenAs(290, 300, 3, tag)
	from, clear := tr.oddsBack(path)
	assert.Equal(t, 3, from)
	assert.Greater(t, clear, 0.0)
}

// What may be a part of the sticker, or a rival that this may be, counts against the whole path, and not against its first frame alone. However long that is in
// sight, it is not so that nothing else comes back.
func TestAPartCountsAgainstThePath(t *testing.T) {
	tr := trackWithGap(17, nil)
	path := pathOf(4, ptOf(270, 300), ptOf(280, 300), ptOf(290, 300), ptOf(300, 300))
	_, free := tr.oddsBack(path)
	for n := range path {
		path[n].part = 2
	}
	_, odds := tr.oddsBack(path)
	assert.InDelta(t, free-2-math.Log(1+4.0/(4+hiddenFor)), odds, 1e-9)
}

// A limb that kicks while it is hidden comes out far off, and turns after the gap too: it is much likelier the sticker than a thing that moves straight on from there.
func TestKicksWhileHidden(t *testing.T) {
	tr := trackWithGap(17, nil)
	odds := func(turn float64) float64 {
		var places []geometry.Point
		for n := range 6 {
			places = append(places, ptOf(270+10*float64(n), 490+40*float64(n)-turn*float64(n*max(n-1, 0))/2))
		}
		_, odds := tr.oddsBack(pathOf(4, places...))
		return odds
	}
	assert.Greater(t, odds(20), clearLogOdds)
	assert.Greater(t, odds(20), odds(0)+2)
}

// meanSquaredTurn leaves out the first place, whose centre may be elsewhere.
func TestTurnsLeaveOutTheFirstPlace(t *testing.T) {
	assert.InDelta(t, 0, meanSquaredTurn(pathOf(4, ptOf(0, 30), ptOf(10, 0), ptOf(20, 0), ptOf(30, 0), ptOf(40, 0))), 1e-9)
	assert.InDelta(t, 9, meanSquaredTurn(pathOf(4, ptOf(0, 0), ptOf(10, 0), ptOf(20, 3), ptOf(30, 9), ptOf(40, 18))), 1e-9)
}

// Another thing that comes out first, and stays, does not prevent that the sticker after it is found.
func TestAnotherComesOutFirst(t *testing.T) {
	tr := trackWithGap(40, func(i int) []candidate {
		cs := []candidate{seenAs(420-4*float64(i), 520, 8.6, vec{64, 118, 218})}
		if i >= 19 {
			cs = append(cs, moving(i))
		}
		return cs
	})
	assert.True(t, tr.sights[39].seen)
	assert.Equal(t, moving(39).at, tr.sights[39].what.at)
	assert.Equal(t, moving(20).at, tr.sights[20].what.at)
}

// The rate of hidden twins is low if no picture so far showed a twin besides those that are followed, and high if many did. A thing that is only somewhat
// alike is no twin.
func TestCompanyIsLearnt(t *testing.T) {
	one, other, unlike := seenAs(100, 300, 8, tag), seenAs(300, 300, 8, tag), seenAs(500, 300, 8, vec{220, 120, 60})
	somewhat := seenAs(700, 300, 7, vec{80, 130, 220}) // within what its look allows, and no twin
	odds, ok := func() (float64, bool) { l := newLook(&one); return l.odds(&somewhat, lightFrames) }()
	require.True(t, ok)
	require.Greater(t, odds, 0.0)
	alone, among, near, followed := twinRate{look: newLook(&one)}, twinRate{look: newLook(&one)}, twinRate{look: newLook(&one)}, twinRate{look: newLook(&one)}
	assert.InDelta(t, 0.2, alone.unseen(), 1e-9)
	for range 60 {
		alone.see([]candidate{one, unlike}, 1)
		near.see([]candidate{one, somewhat}, 1)
		among.see([]candidate{one, other}, 1)
		followed.see([]candidate{one, other}, 2)
	}
	assert.Less(t, alone.unseen(), 0.002)
	assert.Less(t, near.unseen(), 0.05)
	assert.InDelta(t, 0.2, among.unseen(), 1e-9)
	assert.Less(t, followed.unseen(), 0.002, "the other is followed too")

	// hidden for 20 frames, it comes out where a turn took it, and nothing like it is seen anywhere
	for _, o := range []*twinRate{&alone, &among} {
		first := moving(0)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		tr.twinRate = o
		for i := 1; i < 50; i++ {
			switch {
			case i < 14:
				tr.step(i, []candidate{moving(i)}, 1)
			case i < 34:
				tr.step(i, nil, 1)
			default:
				tr.step(i, []candidate{seenAs(330, 300+6*float64(i-34), 8, tag)}, 1)
			}
		}
		assert.Equal(t, o == &alone, tr.sights[49].seen)
	}
}

// A sticker that comes out from behind something has its centre elsewhere at first. It counts as seen from the frame on in which it moves as the sticker.
func TestComesOutInPart(t *testing.T) {
	tr := trackWithGap(30, func(i int) []candidate {
		if i == 17 {
			return []candidate{seenAs(moving(i).at.X-14, 316, 8, tag)}
		}
		return []candidate{moving(i)}
	})
	assert.False(t, tr.sights[17].seen)
	assert.NotContains(t, states(tr)[18:], false)
}

// The velocity at the end of a gap is not the mean one in the gap: a thrown thing comes back falling.
func TestComesBackOnACurve(t *testing.T) {
	tr := &track{comeback: comeback{firstStepScale: 64}}
	was := thread{at: ptOf(100, 300), velocity: geometry.Vec{X: 5, Y: -10}, scale: 0.2, timesSeen: 9, frames: 10} // with an acceleration of 1 px a frame^2 downwards
	between, mean := pathOf(10, ptOf(150, 250), ptOf(155, 247.5)), pathOf(10, ptOf(150, 250), ptOf(155, 245))
	assert.Greater(t, tr.oddsOfStep(&was, &between[0], &between[1]), tr.oddsOfStep(&was, &mean[0], &mean[1]))
	assert.Greater(t, tr.oddsOfStep(&was, &between[0], &between[1]), 2.0)
}

// The last sight before a loss counts only near the expected place.
func TestLastSightBeforeALoss(t *testing.T) {
	for _, off := range []float64{3, 4} { // of a scale of 2 px
		first := moving(0)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		for i := 1; i < 40; i++ {
			tr.step(i, []candidate{moving(i)}, 1)
		}
		tr.step(40, []candidate{seenAs(moving(40).at.X, 300+off, 8, tag)}, 1)
		assert.True(t, tr.sights[40].seen)
		tr.step(41, nil, 1)
		assert.Equal(t, off == 3, tr.sights[40].seen, "%g px off", off)
		assert.True(t, tr.sights[39].seen)
	}
}

// After a jump the sticker must be seen in four frames, as after a gap: the sights after a jump, right before a loss, may be of what hides it.
func TestAfterAJump(t *testing.T) {
	for _, frames := range []int{2, 6} {
		first := moving(0)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		for i := 1; i < 30; i++ {
			switch {
			case i < 14:
				watching(tr, i, moving(i))
			case i < 14+frames:
				watching(tr, i, seenAs(moving(i).at.X, 330, 8, tag))
			default:
				watching(tr, i)
			}
		}
		assert.Equal(t, frames == 6, tr.sights[14].seen)
		assert.True(t, tr.sights[13].seen)
	}
}

// The same holds where what comes back jumps before it has been followed in four frames.
func TestComesBackAndJumps(t *testing.T) {
	for _, jump := range []float64{0, 14} {
		tr := trackWithGap(30, func(i int) []candidate {
			switch {
			case i < 20:
				return []candidate{moving(i)}
			case i < 22:
				return []candidate{seenAs(moving(i).at.X, 300+jump, 8, tag)}
			}
			return nil
		})
		assert.NotContains(t, states(tr)[17:20], false)
		assert.Equal(t, []bool{jump == 0, jump == 0}, states(tr)[20:22], "%g px", jump)
	}
}

// Two of one look come out, one a little nearer to the expected place: neither is taken. If the other one was seen all along,
// it is known to be another thing.
func TestOfTwoThatComeBack(t *testing.T) {
	two := func(i int) []candidate {
		return []candidate{moving(i), seenAs(moving(i).at.X, 312, 8, tag)}
	}
	tr := trackWithGap(30, two)
	assert.NotContains(t, states(tr)[14:], true)

	other := func(i int) candidate { return seenAs(100+10*float64(i), 322, 8, tag) }
	for _, hidden := range []bool{false, true} {
		first := moving(0)
		tr = newTrack(&first, 0, []candidate{first, other(0)}, bigPicture)
		for i := 1; i < 30; i++ {
			var cs []candidate
			if i < 14 || i >= 17 {
				cs = append(cs, moving(i), other(i))
			} else if !hidden {
				cs = append(cs, other(i))
			}
			tr.step(i, cs, 1)
		}
		assert.Equal(t, !hidden, tr.sights[17].seen, "the other one hidden too: %v", hidden)
		assert.Equal(t, !hidden, tr.sights[29].seen)
	}
}

// A thing at the expected place that does not look like the sticker may be a part of it. Then a likeness farther off is not taken.
func TestAPartForbidsALikeness(t *testing.T) {
	for _, part := range []bool{false, true} {
		first := seenAs(300, 300, 8, tag)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		for i := 1; i < 10; i++ {
			tr.step(i, []candidate{first}, 1)
		}
		for i := 10; i < 16; i++ {
			cs := []candidate{seenAs(310+10*float64(i-10), 300, 8, tag)}
			if part {
				cs = append(cs, seenAs(299, 300, 4, vec{110, 120, 160}))
			}
			tr.step(i, cs, 1)
		}
		assert.Equal(t, !part, tr.sights[10].seen)
	}
}

// The sticker and another one of its look, which appeared just before, merge and part again. The sticker is lost from there on, since either may be it.
func TestJoinedIsLost(t *testing.T) {
	first := moving(0)
	tr := newTrack(&first, 0, []candidate{first}, bigPicture)
	for i := 1; i < 40; i++ {
		x := moving(i).at.X
		cs := []candidate{moving(i)}
		switch {
		case i == 14: // the other one, on the way towards it
			cs = append(cs, seenAs(x+20, 300, 6, tag))
		case i == 15 || i == 16: // both in one
			cs = []candidate{{at: ptOf(x+5, 300), area: 1.55 * math.Pi * 64, long: 14, short: 8, colour: tag, rim: 4}}
		case i > 16: // they have passed through each other, or met and turned
			cs = []candidate{moving(i), seenAs(x-12*float64(i-16), 300, 8, tag)}
		}
		tr.step(i, cs, 1)
	}
	assert.True(t, tr.sights[14].seen)
	assert.False(t, tr.sights[15].seen)
	assert.False(t, tr.sights[16].seen)

	small := []candidate{seenAs(moving(40).at.X, 300, 4, tag)} // what shows of it may be a part
	tr.own.frames, tr.lost, tr.comeback.merged = 2, true, false
	without := tr.weigh(small)
	tr.comeback.merged = true
	assert.InDelta(t, -missedLogOdds, tr.weigh(small).veto[0]-without.veto[0], 1e-9)

	twoInOne := candidate{at: ptOf(305, 300), area: 1.55 * math.Pi * 64, long: 14, short: 8, colour: tag, rim: 4}
	one := seenAs(300, 300, 8, tag)
	tr = newTrack(&one, 0, []candidate{one, seenAs(318, 300, 6, tag)}, bigPicture)
	tr.own.frames, tr.rivals[0].frames = 1, 1
	assert.True(t, tr.mergedWithRival(0, &twoInOne, nil))
	assert.False(t, tr.mergedWithRival(0, &one, nil), "no larger than it was")
	assert.False(t, tr.mergedWithRival(0, &twoInOne, []claim{{0, 1, 4}}), "the other one is elsewhere")
	tr.rivals[0].frames = 9
	assert.False(t, tr.mergedWithRival(0, &twoInOne, nil), "it was not seen of late")
}

// A thing with arms or holes is no sticker, neither in a frame nor at a seed; a disc and a square may be.
func TestNotSolid(t *testing.T) {
	for name, c := range map[string]struct {
		shape candidate
		solid bool
	}{
		"disc":   {candidate{area: math.Pi * 100, long: 10, short: 10}, true},
		"square": {candidate{area: 300, long: 10, short: 10}, true},
		"cross":  {candidate{area: 240, long: 10, short: 10}, false},
	} {
		assert.Equal(t, c.solid, c.shape.solid(), name)
	}
	first := seenAs(300, 300, 8, tag)
	cross := first
	cross.area, cross.long, cross.short = 0.8*first.area, 8, 8
	tr := trackOf(first, [][]candidate{{first}, {cross}})
	assert.Equal(t, []bool{true, true, false}, states(tr))

	arm := func(a, b float64) dot { return dot{x: 70, y: 70, a: a, b: b, colour: rgb(0x1e70ff)} }
	p := paint{w: 140, h: 140, back: uniform(0xded9d4), noise: 2, lens: 0.9, grid: 4, dots: []dot{arm(22, 5), arm(5, 22)}}
	pic := Still(p.render(rand.New(rand.NewPCG(4, 2))))
	_, _, err := Find(pic, geometry.Point{X: 70, Y: 70})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "arms or holes")
	var q pointer
	j := &job{seeds: []Seed{{Name: "a", At: ptOf(70, 70)}}, stickers: make([]found, 1), refused: make([]*Error, 1), bounds: pic.Bounds()}
	assert.ErrorContains(t, j.findSeed(&q, pic, 0), "arms or holes")

	p.dots = p.dots[:1] // a limb
	_, _, err = Find(Still(p.render(rand.New(rand.NewPCG(4, 2)))), geometry.Point{X: 70, Y: 70})
	assert.ErrorContains(t, err, "44 px long and 10 px wide")
}

// Once the velocity is known, the scale is that of a limb's turn, and no longer that of the first step.
func TestScaleOfATurn(t *testing.T) {
	first := moving(0)
	th := newThread(&first)
	th.scale, th.turnScale, th.frames = 2000, 30, 1
	second := moving(1)
	th.see(&second)
	assert.Equal(t, 30.0, th.scale)
}

// watching steps a track as a clip does, which counts the twins in each picture first.
func watching(tr *track, i int, cs ...candidate) {
	tr.twinRate.see(cs, 1)
	tr.step(i, cs, 1)
}

// A sticker goes behind something just when a twin comes out there and goes back the way that the sticker came. Where twins were seen before, it is not known
// which of the two it is. A sticker without twins bounces.
func TestTwinComesOutWhereItGoesIn(t *testing.T) {
	fast := func(i int) candidate { return seenAs(100+30*float64(i), 300, 8, tag) }
	for _, twins := range []bool{false, true} {
		first := fast(0)
		tr := newTrack(&first, 0, []candidate{first}, bigPicture)
		for i := 1; i < 40; i++ {
			at := fast(i)
			if i >= 26 {
				at = fast(50 - i)
			}
			cs := []candidate{at}
			if twins && i < 20 {
				cs = append(cs, seenAs(1500, 300+5*float64(i), 8, tag))
			}
			watching(tr, i, cs...)
		}
		assert.NotContains(t, states(tr)[:26], false)
		assert.Equal(t, !twins, slices.Contains(states(tr)[26:], true))
	}
}

// A thing halfway between the places where a sticker and a hidden twin are expected may be either of the two. Without the twin it is the sticker.
func TestTwinComesOutBesideIt(t *testing.T) {
	first := seenAs(285, 300, 8, tag)
	tr := newTrack(&first, 0, []candidate{first}, 640*480)
	tr.twinRate.pictures = 1000 // no other twin is expected
	tr.own.timesSeen, tr.own.scale, tr.own.frames = 9, 4, 1
	twin := tr.own
	twin.at.X, twin.proven = 315, true
	twin.frames, twin.scale = 2, tr.own.scale/8 // with the same spread
	cs := []candidate{seenAs(300, 300, 8, tag)}
	assert.Equal(t, 0, tr.choose(tr.weigh(cs), tr.findClaims(cs)))
	tr.rivals = []thread{twin}
	assert.Equal(t, -1, tr.choose(tr.weigh(cs), tr.findClaims(cs)))
}

// A sticker is lost right after its seed's frame, with only a part of it in sight, and a twin stays beside it. However long it stays, it is not the sticker.
func TestTwinThatStays(t *testing.T) {
	first := seenAs(300, 300, 8, tag)
	tr := newTrack(&first, 0, []candidate{first}, 640*480)
	tr.own.scale *= 30 // as in 30 frames a second (usualStep)
	for i := 1; i < 60; i++ {
		watching(tr, i, seenAs(300, 300, 4, tag), seenAs(355, 300, 8, tag), seenAs(1500, 900, 8, tag))
	}
	assert.NotContains(t, states(tr)[1:], true)
}

// What this frame does not show does not come back in it.
func TestWhatIsGoneDoesNotComeBack(t *testing.T) {
	tr := trackWithGap(20, func(i int) []candidate { return []candidate{moving(i)} })
	tr.find([]candidate{moving(20)}, 1)
	tr.take(20, false)
	path, rival := tr.comesBack()
	require.Len(t, path, confirmed)
	tr.rivals[rival].frames = 1
	path, _ = tr.comesBack()
	assert.Nil(t, path)
}
