package take

import (
	"ecart/vision/internal/av"
	"ecart/vision/internal/hevc"
)

// span is a range of pictures that damage to the first of them may reach: those at place first or later
// in decoding order that are shown before the time stamp to, which is that of the next clean start.
type span struct {
	first int
	to    int64
}

// damage is all damage found since decoding last restarted.
type damage struct {
	spans []span
	all   bool // for a clip whose frames are counted: every later picture counts as damaged, since the end of the damage is unknown
}

// markDamaged marks the picture at place pos in decoding order, and all later ones up to the next clean start.
// A damaged packet may say that no other picture is predicted from it: that is not relied on, since its
// head may be damaged as well.
func (r *reader) markDamaged(pos int) {
	x, d := r.index, &r.damage
	if x.counted {
		d.all = true
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

// markUnknown marks damage whose packet the decoder does not name. The decoder works on as many packets
// at once as it has threads, so that the damage is taken to begin that many packets back.
func (r *reader) markUnknown() { r.markDamaged(max(0, min(r.fed-r.threads, r.index.packets-1))) }

// markFaults marks the packets that the decoder reports as damaged, and returns their number.
func (r *reader) markFaults() int {
	list := r.clip.Faults()
	for _, pts := range list {
		if pos := r.index.place(pts); pos >= 0 && !r.index.counted {
			r.markDamaged(pos)
		} else {
			r.markUnknown()
		}
	}
	return len(list)
}

// judgeFed marks the packet last fed as damaged if it is not whole. The decoder works on it meanwhile.
func (r *reader) judgeFed(p av.Packet) {
	if r.judge != nil && r.judge.check(p.Data) == hevc.Damaged {
		r.markDamaged(r.fed)
	}
}

// isDamaged reports whether a picture may show damage. Callers ask in the order of showing.
func (r *reader) isDamaged(pts int64) bool {
	d := &r.damage
	if d.all || r.index.counted {
		return d.all
	}
	pos := r.index.place(pts)
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

// judge checks whether coded HEVC pictures are whole; FFmpeg's decoder does not.
type judge struct {
	checker hevc.Checker
	size    int // of the length field before each NAL unit, bytes; 0 if units are separated by start codes
}

// newJudge returns a judge for pictures with this decoder configuration (hvcC record or parameter sets).
func newJudge(config []byte) *judge {
	j := &judge{}
	if isRecord(config) {
		j.size = int(config[21]&3) + 1
	}
	j.checker.Packet(configUnits(config))
	return j
}

func (j *judge) check(coded []byte) hevc.Verdict { return j.checker.Packet(units(coded, j.size)) }

// judge returns a new judge for one reader of the clip, or nil if its packets are not judged.
func (x *index) judge(clip *av.Clip) *judge {
	if !x.judged {
		return nil
	}
	return newJudge(clip.Config())
}
