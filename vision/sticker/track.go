package sticker

import (
	"math"
	"slices"
)

// track is one sticker on its way through the clip, in one direction of time.
type track struct {
	own     thread
	look    look
	rivals  []thread
	others  float64 // of its kind in a frame, beside it
	picture float64 // px^2

	lost   bool
	trial  int // frames since it was regained
	saved  thread
	sights []sight
}

// sight is what a frame shows of the sticker.
type sight struct {
	i     int
	seen  bool
	jump  bool
	what  candidate
	doubt float64 // px, from what is missing of it
	at    thread  // where it is not seen, what is expected
}

const (
	// taken is the logarithm of how much likelier something must be the sticker than anything else: 100 to 1.
	taken = 4.6

	// clear is that of how much likelier it must be than the next best explanation: 20 to 1.
	clearly = 3.0

	// absent is that of a sticker not being found in a frame: one in twenty.
	absent = -3.0

	// leastOthers is the number of others of its kind that a frame may show where none has been seen: something
	// may come in.
	leastOthers = 0.05

	// confirmed is how many frames something must go on before it is the sticker that was lost.
	confirmed = 3
)

func newTrack(c *candidate, i int, picture float64) *track {
	t := &track{own: newThread(c), look: newLook(c), others: leastOthers, picture: picture}
	t.sights = append(t.sights, sight{i: i, seen: true, what: *c})
	return t
}

// same reports whether two candidates are one thing.
func same(a, b *candidate) bool {
	return a.at.Sub(b.at).Norm() < math.Max(a.radius(), b.radius())
}

// step goes on to frame i, so many usual frames after the last.
func (t *track) step(i int, cs []candidate, frames float64) {
	t.own.frames += frames
	for k := range t.rivals {
		t.rivals[k].frames += frames
	}
	n := len(cs)
	odds := make([]float64, n)
	alike := 0
	for j := range cs {
		c := &cs[j]
		look, ok := t.look.odds(c, t.own.frames)
		if !ok {
			odds[j] = math.Inf(-1)
			continue
		}
		alike++
		odds[j] = look + t.own.odds(c.at, t.picture, t.others)
	}
	pick := t.choose(cs, odds)
	s := sight{i: i}
	if pick >= 0 {
		c := &cs[pick]
		if t.own.frames >= confirmed+1 {
			t.lost, t.trial, t.saved = true, 0, t.own
		}
		s.what, s.doubt = *c, t.look.missing(c)
		s.jump = t.own.see(c)
		if !c.cut {
			t.look.learn(c)
		}
		s.seen = !t.lost
		if t.lost {
			if t.trial++; t.trial >= confirmed {
				t.lost, s.seen = false, true
				for k := 1; k < confirmed; k++ {
					t.sights[len(t.sights)-k].seen = true
				}
			}
		}
	} else {
		if t.lost && t.trial > 0 { // it did not go on
			t.saved.frames += float64(t.trial) + frames
			t.own, t.trial = t.saved, 0
		}
		s.at = t.own
	}
	t.sights = append(t.sights, s)
	t.follow(cs, pick)
	more := float64(alike)
	if pick >= 0 {
		more--
	}
	if len(cs) == mostCandidates { // there may be more
		more += mostCandidates
	}
	t.others += memory * (math.Max(more, leastOthers) - t.others)
}

// choose says which candidate is the sticker, -1 none or not clear which. What each would leave to its
// rivals counts too.
func (t *track) choose(cs []candidate, odds []float64) (pick int) {
	claims := t.claims(cs)
	all := t.rest(claims, -1)
	best, second := absent+all, math.Inf(-1)
	pick = -1
	for j, o := range odds {
		if o < 0 {
			continue
		}
		switch sum := o + t.rest(claims, j); {
		case sum > best:
			best, second, pick = sum, best, j
		case sum > second:
			second = sum
		}
	}
	if pick < 0 || odds[pick] < taken || best-second < clearly {
		return -1
	}
	return pick
}

// claim is how likely a rival goes on as a candidate.
type claim struct {
	rival, candidate int
	odds             float64
}

func (t *track) claims(cs []candidate) (out []claim) {
	for k := range t.rivals {
		if !t.rivals[k].proven {
			continue
		}
		for j := range cs {
			if o := t.rivals[k].odds(cs[j].at, t.picture, math.Max(t.others, 1)); o > 0 {
				out = append(out, claim{k, j, o})
			}
		}
	}
	slices.SortFunc(out, func(a, b claim) int {
		switch {
		case a.odds > b.odds:
			return -1
		case a.odds < b.odds:
			return 1
		}
		return 0
	})
	return out
}

// rest is the sum of the rivals' claims where one candidate is gone.
func (t *track) rest(claims []claim, without int) (sum float64) {
	var rivals, candidates uint64
	for _, c := range claims {
		if c.candidate == without || rivals>>c.rival&1 != 0 || candidates>>c.candidate&1 != 0 {
			continue
		}
		rivals |= 1 << c.rival
		candidates |= 1 << c.candidate
		sum += c.odds
	}
	return sum
}

// mostRivals bounds what is followed beside a sticker, and rivalsLast how many frames one is expected that is not seen.
const (
	mostRivals = 24
	rivalsLast = 60
)

// follow goes on with the rivals.
func (t *track) follow(cs []candidate, pick int) {
	var claimed, gone uint64
	if pick >= 0 {
		claimed |= 1 << pick
	}
	var all []claim
	for k := range t.rivals {
		for j := range cs {
			if o := t.rivals[k].odds(cs[j].at, t.picture, 1); o > 0 {
				all = append(all, claim{k, j, o})
			}
		}
	}
	slices.SortFunc(all, func(a, b claim) int {
		if a.odds > b.odds {
			return -1
		}
		return 1
	})
	for _, c := range all {
		if claimed>>c.candidate&1 != 0 || gone>>c.rival&1 != 0 {
			continue
		}
		claimed |= 1 << c.candidate
		gone |= 1 << c.rival
		r := &t.rivals[c.rival]
		r.see(&cs[c.candidate])
		r.proven = r.proven || pick >= 0
	}
	t.rivals = slices.DeleteFunc(t.rivals, func(r thread) bool { return r.frames > rivalsLast })
	for j := range cs {
		if claimed>>j&1 == 0 && len(t.rivals) < mostRivals {
			r := newThread(&cs[j])
			r.proven = pick >= 0
			t.rivals = append(t.rivals, r)
		}
	}
}
