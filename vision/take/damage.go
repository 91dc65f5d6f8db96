package take

// span is the pictures that damage to one of them may show in: those decoded from place first on and
// shown before the time stamp to, that of the next clean start.
type span struct {
	first int
	to    int64
}

// damage is what has been met since decoding last began anew.
type damage struct {
	spans []span
	alone map[int]bool // places of damaged pictures that no other is predicted from
	all   bool         // of a clip whose frames are counted: nobody can tell where it ends
}

// spoil marks the picture at a place in decoding order, and those that may be predicted from it.
func (r *reader) spoil(pos int) {
	x, d := r.index, &r.damage
	switch {
	case x.counted:
		d.all = true
		return
	case x.alone[pos]:
		if d.alone == nil {
			d.alone = map[int]bool{}
		}
		d.alone[pos] = true
		return
	}
	to := x.cleanAfter(pos)
	for i := range d.spans {
		if s := &d.spans[i]; s.to == to {
			s.first = min(s.first, pos)
			return
		}
	}
	d.spans = append(d.spans, span{pos, to})
}

// failed marks what an error of the decoder may have spoilt where it does not say which packet the
// error belongs to: it works on as many at once as it has threads.
func (r *reader) failed() { r.spoil(max(0, min(r.fed-r.threads, r.index.packets-1))) }

// faults marks what the decoder has met damage in. It returns how many packets those are.
func (r *reader) faults() int {
	list := r.clip.Faults()
	for _, pts := range list {
		if pos := r.index.place(pts); pos >= 0 && !r.index.counted {
			r.spoil(pos)
		} else {
			r.failed()
		}
	}
	return len(list)
}

// isDamaged reports whether damage may show in a picture. Pictures are asked for in the order of showing.
func (r *reader) isDamaged(pts int64) bool {
	d := &r.damage
	if d.all || r.index.counted {
		return d.all
	}
	pos := r.index.place(pts)
	if d.alone[pos] {
		return true
	}
	left := d.spans[:0]
	found := false
	for _, s := range d.spans {
		if s.to > pts {
			left = append(left, s)
			found = found || pos < 0 || pos >= s.first
		}
	}
	d.spans = left
	return found
}
