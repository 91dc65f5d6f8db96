package sticker

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// turning is a ball that is hidden from frame 40 on, turns meanwhile, and is seen again far off from frame 70 on.
func turning() ball {
	return ball{magenta, func(i int) geometry.Point {
		if i < 55 {
			return along(40, 40, 2, 0)(i)
		}
		return along(190, 160, -1, -0.8)(i - 20)
	}, func(i int) bool { return 40 <= i && i < 70 }}
}

// also returns the seed of s0 with further places in frames, on these balls.
func also(seed Seed, on ball, frames ...int) Seed {
	for _, i := range frames {
		seed.Also = append(seed.Also, Pointing{on.at(i), i})
	}
	return seed
}

// seenIn returns in how many frames the mark of sticker k is seen, and fails where it is not on the ball.
func seenIn(t *testing.T, frames []Frame, k int, on ball) (seen int) {
	for _, f := range frames {
		if m := f.Marks[k]; m.Seen == Seen {
			assert.Less(t, m.At.Sub(on.at(f.Index)).Norm(), 1.5, "frame %d", f.Index)
			seen++
		}
	}
	return seen
}

// Where a sticker comes back far off after a long time, it is lost; if somebody points at it there, it is seen on both sides.
func TestASecondPlaceEndsALoss(t *testing.T) {
	b, others := turning(), []ball{{green, along(30, 120, 1, 0), nil}, {magenta, func(i int) geometry.Point { return ptOf(40, 20) }, func(i int) bool { return i < 65 }}}
	f := filmOf(120, wall, append(others, b)...)
	seed := seedsAt(10, b)[0]
	var once []Frame
	_ = Follow(context.Background(), f, []Seed{seed}, Options{}, func(f Frame) error { once = append(once, f); return nil })
	require.Equal(t, 40, seenIn(t, once, 0, b))
	twice := followed(t, f, []Seed{also(seed, b, 90)})
	assert.Equal(t, 90, seenIn(t, twice, 0, b))
}

// Each sticker is followed from each of its places, and two places of one sticker are not two stickers that look alike.
func TestPlacesOfStickersThatLookAlike(t *testing.T) {
	a, b := ball{magenta, along(30, 40, 1.5, 0), func(i int) bool { return i > 45 && i < 52 }}, ball{magenta, along(30, 110, 1.5, 0), nil}
	f := filmOf(100, wall, a, b)
	seeds := seedsAt(5, a, b)
	seeds[0], seeds[1] = also(seeds[0], a, 80), also(seeds[1], b, 30, 60)
	frames := followed(t, f, seeds)
	assert.Equal(t, 94, seenIn(t, frames, 0, a))
	assert.Equal(t, 100, seenIn(t, frames, 1, b))
}

// If what is followed from one place is elsewhere in the frame of the other place, one of the two is wrong. Between them the sticker is lost,
// also where only one of the two things is in sight.
func TestPlacesThatContradict(t *testing.T) {
	for _, first := range []bool{true, false} { // the thing pointed at first, or second, is always in sight
		a := ball{magenta, along(30, 40, 1.5, 0), func(i int) bool { return !first && i >= 50 }}
		b := ball{magenta, along(30, 110, 1.5, 0), func(i int) bool { return first && i < 50 }}
		for _, m := range followed(t, filmOf(100, wall, a, b), []Seed{also(seedsAt(20, a)[0], b, 80)}) {
			on := a
			if m.Index >= 80 {
				on = b
			}
			if m.Index > 20 && m.Index < 80 {
				assert.NotEqual(t, Seen, m.Marks[0].Seen, "frame %d", m.Index)
			} else if assert.Equal(t, Seen, m.Marks[0].Seen) {
				assert.Less(t, m.Marks[0].At.Sub(on.at(m.Index)).Norm(), 1.5)
			}
		}
	}
}

// A further place that cannot be used is told with its frame, before anything is followed unless the seed is alone. The same frame twice is refused.
func TestFurtherPlacesThatCannotBeUsed(t *testing.T) {
	b := turning()
	f := filmOf(120, wall, b)
	frames := 0
	try := func(p Pointing) *Error {
		var e *Error
		seed := seedsAt(10, b)[0]
		seed.Also = []Pointing{p}
		require.ErrorAs(t, Follow(context.Background(), f, []Seed{seed}, Options{}, func(Frame) error { frames++; return nil }), &e)
		return e
	}
	e := try(Pointing{ptOf(20, 150), 90})
	assert.Equal(t, NoSticker, e.Problem)
	assert.Equal(t, 90, e.Frame)
	assert.Zero(t, frames)
	seed := seedsAt(10, b)[0]
	seed.Alone, seed.Also = true, []Pointing{{ptOf(20, 150), 90}}
	require.ErrorAs(t, Follow(context.Background(), f, []Seed{seed}, Options{}, func(Frame) error { frames++; return nil }), &e)
	assert.Equal(t, 90, e.Frame)
	assert.Equal(t, 120, frames)
	assert.Contains(t, try(Pointing{b.at(10), 10}).Error(), "twice in frame 10")
	assert.Contains(t, try(Pointing{b.at(10), 300}).Error(), "frame 300, and the clip has 120 frames")
}
