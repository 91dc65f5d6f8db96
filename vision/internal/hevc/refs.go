package hevc

// refSet is a short-term reference picture set (7.4.8).
type refSet struct {
	before, after []refPicture // by distance
}

type refPicture struct {
	distance int // in picture order, negative before the current picture
	used     bool
}

// current returns the number of pictures that the current picture may be predicted from.
func (s *refSet) current() int {
	n := 0
	for _, list := range [][]refPicture{s.before, s.after} {
		for _, p := range list {
			if p.used {
				n++
			}
		}
	}
	return n
}

// maxRefs is the largest number of pictures in a set (A.4.2).
const maxRefs = 16

// parseRefSet reads st_ref_pic_set(i) (7.3.7). sets are those already read, and count is their number in the sequence
// parameter set; for a set in a slice header, i equals count.
func parseRefSet(b *bitReader, sets []refSet, i, count int) refSet {
	if i > 0 && b.flag() {
		return predictRefSet(b, sets, i, count)
	}
	before, after := b.atMost(maxRefs), b.atMost(maxRefs)
	list := func(n, sign int) []refPicture {
		out, at := []refPicture{}, 0
		for range n {
			at += sign * (1 + b.atMost(1<<15))
			out = append(out, refPicture{at, b.flag()})
		}
		return out
	}
	return refSet{list(before, -1), list(after, 1)}
}

// predictRefSet reads a set that is coded as a difference from an earlier one (7-61, 7-62).
func predictRefSet(b *bitReader, sets []refSet, i, count int) refSet {
	back := 1
	if i == count {
		back += b.ue()
	}
	sign := 1
	if b.flag() {
		sign = -1
	}
	shift := sign * (1 + b.atMost(1<<15))
	if back > i || i-back >= len(sets) {
		b.invalid = true
		return refSet{}
	}
	ref := sets[i-back]
	old := append(append([]refPicture{}, ref.before...), ref.after...)
	old = append(old, refPicture{}) // the earlier set's own picture
	kept := make([]bool, len(old))
	used := make([]bool, len(old))
	for j := range old {
		used[j] = b.flag()
		kept[j] = used[j] || b.flag()
	}
	var out refSet
	add := func(j int, after bool) {
		d := old[j].distance + shift
		switch {
		case !kept[j]:
		case d > 0 && after:
			out.after = append(out.after, refPicture{d, used[j]})
		case d < 0 && !after:
			out.before = append(out.before, refPicture{d, used[j]})
		}
	}
	n, own := len(ref.before), len(old)-1
	for j := own - 1; j >= n; j-- {
		add(j, false)
	}
	add(own, false)
	for j := range n {
		add(j, false)
	}
	for j := n - 1; j >= 0; j-- {
		add(j, true)
	}
	add(own, true)
	for j := n; j < own; j++ {
		add(j, true)
	}
	return out
}
