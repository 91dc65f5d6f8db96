package page

import (
	"maps"
	"slices"

	"ecart/cmd/internal/reading"
)

// keyOf is what decides the landmarks that are proposed; "" where none are: nothing is chosen to be read, or a person has
// placed marks.
func keyOf(k *Work) string {
	if k.Skill == "" && k.Measure == "" || k.marked() > 0 {
		return ""
	}
	return k.Skill + " " + k.Measure + " " + k.Leg + " " + k.Side
}

// propose replaces the proposals in the work by those, nil for none, and says whether anything changed.
func (k *Work) propose(m *reading.Marks) bool {
	changed := m != nil
	frames := map[int]*Placed{}
	for n, p := range k.Frames {
		if len(p.Proposed) == 0 {
			frames[n] = p
			continue
		}
		changed = true
		if k.Facing == p.Facing {
			k.Facing = ""
		}
		if len(p.Level) > 0 || len(p.Corners) > 0 {
			q := *p
			q.Rounds, q.Proposed, q.Facing = []map[string]reading.Pixel{}, nil, ""
			frames[n] = &q
		}
	}
	k.Frames, k.Widest = frames, nil
	if m == nil {
		return changed
	}
	p := &Placed{Level: []reading.Pixel{}, Corners: []reading.Pixel{}}
	if old := frames[m.Frame]; old != nil { // what was said of level and corners stays
		*p = *old
	}
	round := map[string]reading.Pixel{}
	p.Proposed = map[string]Proposed{}
	for _, one := range m.Marks {
		round[one.Landmark] = reading.Pixel{one.X, one.Y}
		p.Proposed[one.Landmark] = Proposed{Covariance: *one.Covariance}
	}
	p.Rounds = []map[string]reading.Pixel{round}
	if k.Facing == "" {
		k.Facing, p.Facing = m.Facing, m.Facing
	}
	frames[m.Frame], k.Frame, k.Widest = p, m.Frame, m.Widest
	return true
}

// proposedFacing is the way the chest faces as it was proposed, "" where it was not.
func proposedFacing(k *Work) string {
	for _, n := range slices.Sorted(maps.Keys(k.Frames)) {
		if f := k.Frames[n].Facing; f != "" {
			return f
		}
	}
	return ""
}
