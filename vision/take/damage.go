package take

import "math"

// span is a stretch of time stamps, the end not in it.
type span struct{ from, to int64 }

// spoil marks the pictures from the time stamp from on, up to the first clean start after last.
func (r *reader) spoil(from, last int64) {
	to, more := r.index.keyAfter(last)
	if !more || r.index.counted {
		to = math.MaxInt64
	}
	if n := len(r.spoilt); n > 0 && r.spoilt[n-1].to >= to {
		r.spoilt[n-1].from = min(r.spoilt[n-1].from, from)
		return
	}
	r.spoilt = append(r.spoilt, span{from, to})
}

// failed marks what an error of the decoder may have spoilt. The decoder works on as many packets
// at once as it has threads and does not say which of them an error belongs to.
func (r *reader) failed() {
	if r.index.counted {
		r.spoil(math.MinInt64, 0)
		return
	}
	from, last := int64(math.MaxInt64), int64(math.MinInt64)
	for pos := max(0, r.fed-r.threads); pos <= r.fed && pos < len(r.index.order); pos++ {
		from, last = min(from, r.index.order[pos]), max(last, r.index.order[pos])
	}
	r.spoil(from, last)
}

// isDamaged reports whether damage may show in a picture.
func (r *reader) isDamaged(pts int64) bool {
	for _, s := range r.spoilt {
		if s.from <= pts && pts < s.to || r.index.counted {
			return true
		}
	}
	return false
}
