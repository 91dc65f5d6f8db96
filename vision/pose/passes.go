package pose

import (
	"context"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/take"
)

// Pass is a stretch of a clip in which one person is in the picture and moves.
type Pass struct {
	From, To int // frames, both included
	// LookFrom and LookTo are the frames to be looked at: half a second more on both sides, as far as nobody else comes.
	LookFrom, LookTo int
	// At is the middle of the person in frame AtFrame, px.
	At      geometry.Point
	AtFrame int
	// CutStart and CutEnd report that the clip begins or ends while the person is in the picture.
	CutStart, CutEnd bool
	// Shared reports that somebody else moves in the picture for a part of the pass.
	Shared bool

	first, last int // indices of the pictures that were kept, one each coarseStep
}

// Limits by which a clip is cut into passes.
const (
	mostPassMoments = 2400 // pictures: five minutes of clip, which take 240 MB at moverSide
	// gapPictures is how many pictures in a row without the person end a pass. A single one does not: the body may be
	// in front of something of its own colour.
	gapPictures = 2
	// leastPictures is the shortest pass: 0.4 s. The flight of a leap alone is as long.
	leastPictures = 3
	// mostDeparture is how far a person may be from their predicted place, as a part of their size in the picture: at
	// 8 m/s, a sprint, somebody of 1.5 m goes 0.67 of that in an eighth of a second.
	mostDeparture = 0.75
	// leastTravel and leastOpening are the least movement of the middle, and the least change of the outline's width or
	// height, as a part of the person's size, by which a trail counts as moving. A person who stands and breathes stays below a tenth of both. The hips of a small jump rise by
	// 0.15 m, a tenth; legs or arms that lift by 45 degrees widen the outline by a third.
	leastTravel, leastOpening = 0.15, 0.25
)

// Passes cuts a clip into the passes of people before a camera that stands still. standing is the number of
// foreground regions that last as long as a pass without moving. The error is an *Error, or that of the take or of ctx.
func Passes(ctx context.Context, t *take.Take, progress func(part float64)) (passes []Pass, standing int, err error) {
	last := t.Info().Frames - 1
	step := stepOf(t)
	if last/step+1 > mostPassMoments {
		return nil, 0, &Error{Problem: TooLong}
	}
	pictures, err := keep(ctx, t, 0, last, step, moverSide, func(i int) {
		if progress != nil {
			progress(float64(i+1) / float64(last+1))
		}
	})
	if err != nil {
		return nil, 0, err
	}
	if len(pictures) < leastPictures {
		return nil, 0, &Error{Problem: NobodyMoves}
	}
	var all []*reduced
	for _, k := range pictures {
		all = append(all, k.picture)
	}
	if findMovers(pictures, medianOf(all)) >= stillGround {
		return nil, 0, &Error{Problem: CameraMoves}
	}
	var frames []int
	var movers [][]mover
	for _, k := range pictures {
		frames, movers = append(frames, k.frame), append(movers, k.movers)
	}
	passes, standing = passesOf(frames, movers, step, last)
	if len(passes) == 0 {
		return nil, standing, &Error{Problem: NobodyMoves}
	}
	return passes, standing, nil
}

// stepOf returns the step in frames between pictures: coarseStep of true time, at least one frame.
func stepOf(t *take.Take) int {
	last := t.Info().Frames - 1
	if d := t.TrueTime(last).Seconds(); d > 0 {
		return max(1, int(math.Round(coarseStep*float64(last)/d)))
	}
	return 1
}

// trail is one mover linked over several pictures.
type trail struct {
	at   []int   // indices of the pictures, ascending
	seen []mover // the mover in each
}

func (m *mover) size() float64 { return math.Max(m.box[2]-m.box[0], m.box[3]-m.box[1]) }

// size is the largest size of the mover, px: at the picture's border only a part of it is seen.
func (r *trail) size() (size float64) {
	for i := range r.seen {
		size = math.Max(size, r.seen[i].size())
	}
	return size
}

// expected predicts the mover's centroid in a picture, at the velocity between its last two.
func (r *trail) expected(picture int) geometry.Point {
	n := len(r.seen) - 1
	c := r.seen[n].centroid
	if n == 0 {
		return c
	}
	v := c.Sub(r.seen[n-1].centroid).Scale(1 / float64(r.at[n]-r.at[n-1]))
	return c.Add(v.Scale(float64(picture - r.at[n])))
}

// moves reports whether the mover travels or changes its outline (leastTravel, leastOpening).
func (r *trail) moves() bool {
	size := r.size()
	lo, hi := r.seen[0].centroid, r.seen[0].centroid
	width, height := [2]float64{math.Inf(1), 0}, [2]float64{math.Inf(1), 0}
	for i := range r.seen {
		m := &r.seen[i]
		lo.X, lo.Y = math.Min(lo.X, m.centroid.X), math.Min(lo.Y, m.centroid.Y)
		hi.X, hi.Y = math.Max(hi.X, m.centroid.X), math.Max(hi.Y, m.centroid.Y)
		w, h := m.box[2]-m.box[0], m.box[3]-m.box[1]
		width = [2]float64{math.Min(width[0], w), math.Max(width[1], w)}
		height = [2]float64{math.Min(height[0], h), math.Max(height[1], h)}
	}
	return hi.Sub(lo).Norm() > leastTravel*size || math.Max(width[1]-width[0], height[1]-height[0]) > leastOpening*size
}

// trails links movers from picture to picture: the pair nearest to its prediction first.
func trails(movers [][]mover) (done []*trail) {
	var open []*trail
	for i, list := range movers {
		taken := make([]bool, len(list))
		type pair struct {
			trail, mover int
			off          float64
		}
		var pairs []pair
		for k, r := range open {
			for j := range list {
				if off := list[j].centroid.Sub(r.expected(i)).Norm() / r.size(); off < mostDeparture {
					pairs = append(pairs, pair{k, j, off})
				}
			}
		}
		slices.SortStableFunc(pairs, func(a, b pair) int {
			switch {
			case a.off < b.off:
				return -1
			case a.off > b.off:
				return 1
			}
			return 0
		})
		for _, p := range pairs {
			if r := open[p.trail]; !taken[p.mover] && r.at[len(r.at)-1] < i {
				r.at, r.seen, taken[p.mover] = append(r.at, i), append(r.seen, list[p.mover]), true
			}
		}
		open = slices.DeleteFunc(open, func(r *trail) bool {
			over := i-r.at[len(r.at)-1] >= gapPictures
			if over {
				done = append(done, r)
			}
			return over
		})
		for j := range list {
			if !taken[j] {
				open = append(open, &trail{[]int{i}, []mover{list[j]}})
			}
		}
	}
	return append(done, open...)
}

// passesOf returns the passes, in the order in which they begin, and the number of trails that do not move. frames and movers
// are those of the pictures, one each step frames; last is the clip's last frame.
func passesOf(frames []int, movers [][]mover, step, last int) (out []Pass, standing int) {
	var moving []*trail
	for _, r := range rejoined(trails(movers)) {
		switch n := len(r.at); {
		case n < leastPictures:
		case r.moves():
			moving = append(moving, r)
		default:
			standing++
		}
	}
	slices.SortStableFunc(moving, func(a, b *trail) int { return a.at[0] - b.at[0] })
	for _, r := range moving {
		p := Pass{first: r.at[0], last: r.at[len(r.at)-1]}
		p.From, p.To = frames[p.first], min(last, frames[p.last]+step-1)
		p.CutStart, p.CutEnd = p.first == 0, p.last == len(frames)-1
		// if possible a picture in which the person is not merged with another
		most := 0
		best := r.largest(func(i int) bool { most = max(most, len(movers[r.at[i]])); return true })
		if most > 1 {
			best = r.largest(func(i int) bool { return len(movers[r.at[i]]) > 1 })
		}
		m := &r.seen[best]
		p.At, p.AtFrame = geometry.Point{X: (m.box[0] + m.box[2]) / 2, Y: (m.box[1] + m.box[3]) / 2}, frames[r.at[best]]
		out = append(out, p)
	}
	for i := range out {
		p := &out[i]
		margin := int(math.Round(0.5 / coarseStep))
		from, to := max(0, p.first-margin), min(len(frames)-1, p.last+margin)
		for k := range out {
			switch o := &out[k]; {
			case k == i:
			case o.last < p.first:
				from = max(from, o.last+1)
			case o.first > p.last:
				to = min(to, o.first-1)
			default:
				p.Shared = true
			}
		}
		p.LookFrom, p.LookTo = frames[from], min(last, frames[to]+step-1)
	}
	return out, standing
}

// largest returns the index of the largest mover of those that asked accepts.
func (r *trail) largest(asked func(i int) bool) (index int) {
	most := -1.0
	for i := range r.seen {
		if asked(i) && r.seen[i].share > most {
			index, most = i, r.seen[i].share
		}
	}
	return index
}

// rejoined joins a trail that ends in another's mover with one that comes out of it later: two people who meet in
// the picture are one region for a while. Which of the two comes out is not known.
func rejoined(all []*trail) []*trail {
	slices.SortStableFunc(all, func(a, b *trail) int { return a.at[0] - b.at[0] })
	var out []*trail
	for _, c := range all {
		k := slices.IndexFunc(out, func(a *trail) bool {
			n := len(a.at) - 1
			gap := c.at[0] - a.at[n]
			return gap > 0 && slices.ContainsFunc(all, func(b *trail) bool {
				return b != a && b != c && b.holds(a.at[n]+1, &a.seen[n]) && b.holds(c.at[0]-1, &c.seen[0])
			})
		})
		if k < 0 {
			out = append(out, c)
			continue
		}
		out[k].at, out[k].seen = append(out[k].at, c.at...), append(out[k].seen, c.seen...)
	}
	return out
}

// holds reports whether the trail's mover in a picture, or in one beside it, covers the place of another mover.
func (r *trail) holds(picture int, other *mover) bool {
	for i, at := range r.at {
		if at >= picture-1 && at <= picture+1 && r.seen[i].distance(other.centroid) < other.size()/2 {
			return true
		}
	}
	return false
}
