package sticker

import "math"

// claim is what one sticker would make of one place in the picture.
type claim struct {
	object int     // which place
	cost   float64 // how unlikely, as minus twice the logarithm of its likelihood
}

// absent is the cost of leaving a sticker without a mark. It is above what a sticker that is
// there costs but once in some thousand times.
const absent = 45

// assign gives each sticker one of its claims or none (-1), no object to two, so that the sum of
// all costs is least. extra adds what two choices cost together; it must not be negative.
func assign(claims [][]claim, extra func(i, a, j, b int) float64) []int {
	n := len(claims)
	s := assignment{claims: claims, extra: extra, now: make([]int, n), best: make([]int, n), rest: make([]float64, n+1), least: math.Inf(1)}
	for i := n - 1; i >= 0; i-- {
		low := float64(absent)
		for _, c := range claims[i] {
			low = math.Min(low, c.cost)
		}
		s.rest[i] = s.rest[i+1] + low
	}
	s.steps = mostSteps
	s.try(0, 0)
	return s.best
}

// mostSteps bounds the search; the first full assignment, of the best claims first, is found in
// as many steps as there are stickers.
const mostSteps = 20000

type assignment struct {
	claims    [][]claim
	extra     func(i, a, j, b int) float64
	now, best []int
	rest      []float64 // the least that the stickers from i on can cost
	least     float64
	steps     int
}

func (s *assignment) try(i int, cost float64) {
	if s.steps--; s.steps < 0 && !math.IsInf(s.least, 1) {
		return
	}
	if cost+s.rest[i] >= s.least {
		return
	}
	if i == len(s.claims) {
		s.least = cost
		copy(s.best, s.now)
		return
	}
	for a, c := range s.claims[i] {
		if s.taken(i, c.object) {
			continue
		}
		sum := cost + c.cost
		for j := range i {
			if s.now[j] >= 0 {
				sum += s.extra(j, s.now[j], i, a)
			}
		}
		s.now[i] = a
		s.try(i+1, sum)
	}
	s.now[i] = -1
	s.try(i+1, cost+absent)
}

func (s *assignment) taken(i, object int) bool {
	for j := range i {
		if s.now[j] >= 0 && s.claims[j][s.now[j]].object == object {
			return true
		}
	}
	return false
}
