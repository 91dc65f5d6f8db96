package geometry

import (
	"fmt"
	"slices"
	"strings"
)

// Limits of a line's length. A line shorter than minLength counts as two marks on one
// spot, and one longer than maxLength is refused: products of two lengths, 1e-200 to
// 1e200, then stay well inside the range of float64, 1e-308 to 1e308.
const (
	minLength = 1e-100
	maxLength = 1e100
)

// Bind matches the measure with the marks of one frame, given in plane
// coordinates, and decides in which sense (clockwise or counter-clockwise) the
// angle is positive.
//
// Errors are a [*MissingError], an [*OptionError] or a [*MarkError]; each has a
// Hint that says what to do.
func (m Measure) Bind(at map[string]Point, opt Options) (Bound, error) {
	if err := opt.check(m.Name); err != nil {
		return Bound{}, err
	}
	w, find, err := m.choose(at, opt)
	if err != nil {
		return Bound{}, err
	}
	b := Bound{within: m.Range, sense: 1}
	if w.note != "" {
		b.assumptions = append(b.assumptions, w.note)
	}
	for i, s := range w.lines {
		from, _ := find.name(s.from)
		b.lines[i] = LineRef{From: b.point(from), To: -1, Mirrored: s.mirrored}
		switch s.to {
		case up:
			b.lines[i].Fixed = Vec{0, 1}
		case level:
			b.lines[i].Fixed = Vec{1, 0}
		default:
			to, _ := find.name(s.to)
			b.lines[i].To = b.point(to)
		}
	}
	p := pose{measure: m.Name, opt: opt, find: find, b: &b}
	if err := p.place(); err != nil {
		return Bound{}, err
	}
	if b.sense, err = m.side(&p); err != nil {
		return Bound{}, err
	}
	return b, nil
}

// Serves reports whether marks with these names suffice for the measure, wherever they
// lie: nil, or a [*MissingError] or an [*OptionError].
func (m Measure) Serves(names []string, opt Options) error {
	if err := opt.check(m.Name); err != nil {
		return err
	}
	at := map[string]Point{}
	for _, n := range names {
		at[n] = Point{}
	}
	_, _, err := m.choose(at, opt)
	return err
}

// finder finds the mark to use for a landmark.
type finder struct {
	at    map[string]Point
	side  Side // "left": left-hip can be used for hip; "": no side
	first bool // prefer the sided mark to the plain one
	plain bool // use plain names only
}

// name returns the name of the mark to use for the landmark, and whether it is
// marked.
func (f finder) name(landmark string) (string, bool) {
	_, plain := f.at[landmark]
	if f.plain || f.side == "" || strings.Contains(landmark, "-") {
		return landmark, plain
	}
	sided := f.side.prefix() + landmark
	_, ok := f.at[sided]
	if plain && !(ok && f.first) {
		return landmark, true
	}
	return sided, ok
}

// missing returns the names of the marks that the set of lines needs and that are
// not marked.
func (f finder) missing(w lineSet) []string {
	var names []string
	for _, s := range w.lines {
		for _, landmark := range []string{s.from, s.to} {
			if landmark == up || landmark == level {
				continue
			}
			if name, ok := f.name(landmark); !ok {
				names = append(names, name)
			}
		}
	}
	return names
}

// choose returns the first set of lines for which all marks exist, and the finder for
// its marks.
func (m Measure) choose(at map[string]Point, opt Options) (lineSet, finder, error) {
	sets := m.lineSetsFor(opt.Leg)
	least, lacking := len(Landmarks()), ""
	for _, w := range sets {
		try := []finder{{at: at, plain: w.plain}}
		if opt.Side != "" {
			try[0].side, try[0].first = opt.Side, true
		} else if !w.plain {
			for _, s := range sides {
				try = append(try, finder{at: at, side: s})
			}
		}
		var fits []finder
		for _, f := range try {
			missing := f.missing(w)
			if len(missing) == 0 {
				fits = append(fits, f)
				if f.side == "" {
					break
				}
			} else if len(missing) < least {
				least, lacking = len(missing), missing[0]
			}
		}
		switch len(fits) {
		case 0:
		case 1:
			return w, fits[0], nil
		default:
			return lineSet{}, finder{}, m.ambiguous(fits)
		}
	}
	return lineSet{}, finder{}, &MissingError{Measure: m.Name, Landmark: lacking, hint: m.sufficientMarks(opt.Leg)}
}

func (m Measure) ambiguous(fits []finder) error {
	var names []string
	for _, f := range fits {
		names = append(names, string(f.side))
	}
	return &OptionError{Measure: m.Name, Option: "side", Choices: names,
		fact: fmt.Sprintf("%s could be read from the %s marks", m.Name, orList(names)),
		also: "leave the marks of one side only"}
}

// lineSetsFor returns the sets of lines for the part of the leg asked for: for the thigh,
// ankle and knee are exchanged.
func (m Measure) lineSetsFor(leg Leg) []lineSet {
	if !m.leg || leg != Thigh {
		return m.lineSets
	}
	exchange := strings.NewReplacer("ankle", "knee", "knee", "ankle")
	sets := make([]lineSet, len(m.lineSets))
	for i, w := range m.lineSets {
		for j, s := range w.lines {
			w.lines[j] = bodyLine{exchange.Replace(s.from), exchange.Replace(s.to), s.mirrored}
		}
		w.note = exchange.Replace(w.note)
		sets[i] = w
	}
	return sets
}

// sufficientMarks is the hint that lists the sets of marks that would suffice.
func (m Measure) sufficientMarks(leg Leg) string {
	var sets []string
	sided := false
	for _, w := range m.lineSetsFor(leg) {
		var names []string
		for _, s := range w.lines {
			for _, n := range []string{s.from, s.to} {
				if n != up && n != level && !slices.Contains(names, n) {
					names = append(names, n)
					sided = sided || !w.plain && !strings.Contains(n, "-")
				}
			}
		}
		sets = append(sets, joinList(names, " and "))
	}
	hint := "mark " + strings.Join(sets, "; or ")
	if m.leg && leg != Thigh && !strings.Contains(hint, "knee") {
		hint += "; or read the thigh, with knee in place of ankle"
	}
	if sided {
		hint += " (a name without a side may carry one, the same for all)"
	}
	return hint
}
