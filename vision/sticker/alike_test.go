package sticker

import (
	"image"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
)

// lostTrack returns the track of a sticker that was last seen so many frames ago, with this motion. squaredScale is that of its deviation now, px^2.
func lostTrack(at geometry.Point, velocity geometry.Vec, frames, squaredScale float64) *track {
	return &track{lost: true, own: thread{at: at, velocity: velocity, frames: frames, scale: squaredScale / math.Pow(frames, 3), radius: 8, timesSeen: 9}}
}

// cameBack lets the track's sticker come back at a place three frames ago, with this step from frame to frame.
func (t *track) cameBack(at geometry.Point, step geometry.Vec) {
	t.path = nil
	for n := range 4 {
		t.path = append(t.path, attempt{candidate: seenAs(at.X+step.X*float64(n), at.Y+step.Y*float64(n), 8, tag), frames: t.own.frames + float64(n)})
	}
	t.own.frames += 3
}

// smallJob is a job of stickers of one look in a clip at 60 frames a second, which are pointed at in frame 0.
func smallJob(stickers ...candidate) *job {
	j := &job{given: make([]Seed, len(stickers)), seeds: make([]Seed, len(stickers)), refused: make([]*Error, len(stickers)), frameTime: 1.0 / 60, bounds: image.Rect(0, 0, 1280, 720), clip: make(film, 120)}
	for d := range j.tracks {
		j.tracks[d] = make([]*track, len(stickers))
	}
	for k := range stickers {
		j.owner = append(j.owner, k)
		j.stickers = append(j.stickers, found{candidate: stickers[k]})
		j.twinRates = append(j.twinRates, &twinRate{look: newLook(&stickers[k])})
	}
	j.lookAlikes = findLookAlikes(j.stickers, j.owner)
	return j
}

// show adds the next picture, in which the inks of all stickers show these candidates.
func (j *job) show(cs ...candidate) {
	pic := picture{i: len(j.pictures)}
	for range j.seeds {
		pic.candidates = append(pic.candidates, cs)
	}
	j.addPicture(pic)
}

// Of two lost stickers of one look, one comes back. It is identified if its place is clearly nearer to that sticker's expected place, unless the other one was lost for so long
// that it may be anywhere.
func TestIdentifiedByItsPlace(t *testing.T) {
	for _, c := range []struct {
		x          float64 // place at which it comes back, px
		lost       float64 // frames for which the other one was lost by then
		velocity   float64 // of that one, px a frame
		identified bool
	}{{130, 4, -10, true}, {250, 4, -10, false}, {150, 40, 40, true}, {270, 40, 40, false}} {
		one, other := lostTrack(ptOf(100, 300), geometry.Vec{X: 10}, 4, 400), lostTrack(ptOf(400, 300), geometry.Vec{X: c.velocity}, c.lost, 400)
		one.cameBack(ptOf(c.x, 300), geometry.Vec{X: 10})
		other.own.frames += 3
		assert.Equal(t, c.identified, smallJob().likelierThan(one, &other.own, nil), "at %g after %g frames", c.x, c.lost)
	}
}

// Two stickers of one look are hidden where they cross, and both come back. Neither place alone tells which is which, but the two together do, where both went on; not where
// they came back close to one another.
func TestTwoThatCross(t *testing.T) {
	for _, c := range []struct {
		apart      float64 // px from the middle, where they come back
		step       float64 // px a frame from there
		both       bool
		identified bool
	}{{25, 20, true, true}, {25, 20, false, false}, {-25, -20, true, false}, {4, 0, true, false}} {
		var two []*track
		for _, way := range []float64{1, -1} {
			tr := lostTrack(ptOf(300-40*way, 300), geometry.Vec{X: 20 * way}, 3, 60*27)
			tr.cameBack(ptOf(300+way*c.apart, 300), geometry.Vec{X: way * c.step})
			two = append(two, tr)
		}
		other := two[1]
		if !c.both {
			other = nil
		}
		assert.Equal(t, c.identified, smallJob().likelierThan(two[0], &two[1].own, other), "%g px from the middle, both back %v", c.apart, c.both)
		if c.both {
			assert.Equal(t, c.identified, smallJob().likelierThan(two[1], &two[0].own, two[0]), "%g px from the middle", c.apart)
		}
	}
}

// Two stickers of one look are lost behind one thing, one of them long before the other. What comes out beside it may be either, though only one is expected there.
func TestHiddenInOnePlace(t *testing.T) {
	for _, c := range []struct {
		lost       float64 // px, where the other was lost
		identified bool
	}{{300, false}, {800, true}} {
		one, other := lostTrack(ptOf(280, 300), geometry.Vec{X: 5}, 3, 60*27), lostTrack(ptOf(c.lost, 300), geometry.Vec{X: -20}, 40, 60*64000)
		one.cameBack(ptOf(295, 300), geometry.Vec{X: 5})
		other.own.frames += 3
		assert.Equal(t, c.identified, smallJob().likelierThan(one, &other.own, nil), "the other one was lost at %g", c.lost)
	}
}

// One of two stickers of one look disappears and comes back where it was. It is taken for that one if the other was last seen far away, or is in sight; not if the other
// was lost beside it.
func TestAloneOfTwoAlike(t *testing.T) {
	for _, c := range []struct {
		apart float64 // px between the two
		alone bool    // the other stays in sight
		seen  bool
	}{{30, false, false}, {600, false, true}, {30, true, true}} {
		one, other := seenAs(300, 300, 8, tag), seenAs(300+c.apart, 300, 8, tag)
		j := smallJob(one, other)
		for i := range 40 {
			var cs []candidate
			if i < 10 || i >= 20 {
				cs = append(cs, one)
			}
			if i < 10 || c.alone {
				cs = append(cs, other)
			}
			j.show(cs...)
		}
		assert.Equal(t, Seen, j.mark(0, &picture{i: 5}).Seen)
		assert.Equal(t, c.seen, j.mark(0, &picture{i: 30}).Seen == Seen, "%g px apart, alone %v", c.apart, c.alone)
		assert.Equal(t, c.alone, j.mark(1, &picture{i: 30}).Seen == Seen)
	}
}

// A sticker is pointed at in a later frame than another of its look. Where following it back shows that it was in sight, it is not what the other comes back as.
func TestSeedsInTwoFrames(t *testing.T) {
	for _, inSight := range []bool{true, false} {
		one, other := seenAs(300, 300, 8, tag), seenAs(330, 300, 8, tag)
		j := smallJob(one, other)
		j.seeds[1].Frame = 40
		for i := range 60 {
			var cs []candidate
			if i < 10 || i >= 20 && i < 32 {
				cs = append(cs, one)
			}
			if i >= 40 || inSight {
				cs = append(cs, other)
			}
			j.show(cs...)
		}
		assert.Equal(t, inSight, j.mark(0, &picture{i: 26}).Seen == Seen)
		assert.Equal(t, Seen, j.mark(1, &picture{i: 50}).Seen)
	}
}

// A sticker is last seen in part, at the edge of what hides it, just where another of its look comes out and goes back. It does not come back as that one.
func TestLastSeenWhereAnotherComesOut(t *testing.T) {
	for _, c := range []struct {
		others float64 // px, where the other was lost
		want   bool
	}{{342, false}, {900, true}} {
		one, other := lostTrack(ptOf(262, 300), geometry.Vec{X: 4}, 1, 20), lostTrack(ptOf(c.others, 300), geometry.Vec{X: -10}, 7, 343)
		one.cameBack(ptOf(268, 300), geometry.Vec{})
		for n, x := range []float64{268, 265, 255, 245} {
			one.path[n].candidate = seenAs(x, 300, 8, tag)
		}
		other.own.frames += 3
		assert.Equal(t, c.want, smallJob().likelierThan(one, &other.own, nil), "the other one was lost at %g", c.others)
	}
}

// What was taken for another sticker of that look, which is lost a frame later, is not what a sticker comes back as.
func TestWhatWasAnothersIsNotIts(t *testing.T) {
	for _, apart := range []float64{0, 100} {
		one, other := lostTrack(ptOf(300, 300), geometry.Vec{}, 3, 27), lostTrack(ptOf(300+apart, 300), geometry.Vec{X: 60}, 3, 4*27)
		one.cameBack(ptOf(300, 300), geometry.Vec{})
		other.pick = -1
		j := smallJob(seenAs(0, 0, 8, tag), seenAs(50, 0, 8, tag))
		for i := range 7 {
			one.sights = append(one.sights, sight{i: i})
			other.sights = append(other.sights, sight{i: i, seen: i <= 3, what: seenAs(300+apart, 300, 8, tag)})
		}
		j.tracks[onward] = []*track{one, other}
		assert.Equal(t, apart == 0, j.mayBeTwin(one, onward, 6), "%g px apart", apart)
	}
}

// A sticker and a twin that nobody pointed at, which moves fast, are hidden behind one thing, and one comes out beside it. It is not taken for the sticker, since the twin may have
// stopped there; unless it was never there or is still in sight.
func TestTwinNobodyPointedAt(t *testing.T) {
	for _, c := range []struct{ twin, stays, seen bool }{{true, false, false}, {false, false, true}, {true, true, true}} {
		j := smallJob(seenAs(300, 300, 8, tag))
		for i := range 50 {
			var cs []candidate
			if i < 20 {
				cs = append(cs, seenAs(300, 300, 8, tag))
			}
			if c.twin && (i < 20 || c.stays) {
				cs = append(cs, seenAs(320, 300+20*float64(i-19), 8, tag))
			}
			if i >= 30 {
				cs = append(cs, seenAs(305, 300+float64(i-30), 8, tag))
			}
			j.show(cs...)
		}
		assert.Equal(t, c.seen, j.mark(0, &picture{i: 40}).Seen == Seen, "%+v", c)
	}
}

// The refusal of a seed that the next frames do not confirm names the sticker that looks like it.
func TestRefusedBesideAnother(t *testing.T) {
	for _, alike := range []bool{true, false} {
		one, other := seenAs(300, 300, 8, tag), seenAs(360, 300, 8, vec{220, 60, 60})
		if alike {
			other.colour = one.colour
		}
		j := smallJob(one, other)
		j.seeds[0].Name, j.seeds[1].Name = "hip", "knee"
		j.given = j.seeds
		j.show(one, other)
		for range 9 {
			j.show()
		}
		err := j.confirmSeeds()
		assert.ErrorContains(t, err, `"hip" in frame 0`)
		assert.Equal(t, alike, strings.Contains(err.Error(), `do not tell it from what looks like it: "knee"`))
	}
}
