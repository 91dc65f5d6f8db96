package pose

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
)

// moverAt is a mover 60 px wide and 120 px high, with its middle at x; wide, px, is added to its width.
func moverAt(x, wide float64) mover {
	return mover{box: [4]float64{x - 30 - wide/2, 140, x + 30 + wide/2, 260}, centroid: geometry.Point{X: x, Y: 200}, share: 0.03}
}

// walker is a person who appears in picture from and crosses from x = 0 to x = 600 at a speed in px a picture, or the other
// way if it is negative. With a speed of 0 the person stands at x = 300 for 12 pictures.
type walker struct {
	from  int
	speed float64
}

// walkersInPictures returns the frames and movers of n pictures of people.
func walkersInPictures(n int, people ...walker) (frames []int, movers [][]mover) {
	for i := range n {
		var list []mover
		for _, p := range people {
			k := float64(i - p.from)
			switch {
			case p.speed == 0 && k >= 0 && k < 12:
				list = append(list, moverAt(300, 0))
			case p.speed > 0 && k >= 0 && k*p.speed <= 600:
				list = append(list, moverAt(k*p.speed, 0))
			case p.speed < 0 && k >= 0 && k*p.speed >= -600:
				list = append(list, moverAt(600+k*p.speed, 0))
			}
		}
		if len(list) == 2 && list[0].distance(list[1].centroid) < 40 { // both are one region
			a, b := list[0], list[1]
			if a.centroid.X > b.centroid.X {
				a, b = b, a
			}
			one := mover{box: [4]float64{a.box[0], 140, b.box[2], 260}, centroid: midpoint(a.centroid, b.centroid), share: 0.05}
			list = []mover{one}
		}
		frames, movers = append(frames, 4*i), append(movers, list)
	}
	return frames, movers
}

func TestPassesOf(t *testing.T) {
	type want struct {
		from, to         int // pictures
		cutStart, cutEnd bool
		shared           bool
	}
	for _, c := range []struct {
		about    string
		n        int
		people   []walker
		want     []want
		standing int
	}{
		{"nobody", 20, nil, nil, 0},
		{"one", 30, []walker{{5, 50}}, []want{{5, 17, false, false, false}}, 0},
		{"three with gaps", 70, []walker{{4, 50}, {24, 50}, {44, 60}}, []want{{4, 16, false, false, false}, {24, 36, false, false, false}, {44, 54, false, false, false}}, 0},
		{"one leaves as the next comes in", 40, []walker{{2, 60}, {13, 60}}, []want{{2, 12, false, false, false}, {13, 23, false, false, false}}, 0},
		{"the clip begins and ends in a pass", 20, []walker{{-4, 50}, {14, 50}}, []want{{0, 8, true, false, false}, {14, 19, false, true, false}}, 0},
		{"two meet", 30, []walker{{4, 50}, {4, -50}}, []want{{4, 16, false, false, true}, {4, 16, false, false, true}}, 0},
		{"somebody stands", 30, []walker{{6, 0}}, nil, 1},
		{"one comes by while somebody stands far away", 60, []walker{{6, 0}, {30, 50}}, []want{{30, 42, false, false, false}}, 1},
	} {
		frames, movers := walkersInPictures(c.n, c.people...)
		last := 4*(c.n-1) + 3
		got, standing := passesOf(frames, movers, 4, last)
		assert.Equal(t, c.standing, standing, c.about)
		var found []want
		for _, p := range got {
			found = append(found, want{p.first, p.last, p.CutStart, p.CutEnd, p.Shared})
			assert.Equal(t, 4*p.first, p.From, c.about)
			assert.Equal(t, 4*p.last+3, p.To, c.about)
			assert.LessOrEqual(t, p.LookFrom, p.From, c.about)
			assert.GreaterOrEqual(t, p.LookTo, p.To, c.about)
		}
		assert.Equal(t, c.want, found, c.about)
		for i := 1; i < len(got); i++ {
			if !got[i].Shared {
				assert.Greater(t, got[i].LookFrom, got[i-1].To, "%s: nobody else is looked at", c.about)
			}
		}
	}
}

// A jump on the spot is a pass though its middle does not travel, since the outline opens.
func TestAJumpOnTheSpotIsAPass(t *testing.T) {
	frames, movers := walkersInPictures(20)
	for i := 4; i < 14; i++ {
		wide := 0.0
		if i == 8 || i == 9 {
			wide = 60
		}
		movers[i] = []mover{moverAt(300, wide)}
	}
	got, standing := passesOf(frames, movers, 4, 79)
	assert.Len(t, got, 1)
	assert.Zero(t, standing)
}
