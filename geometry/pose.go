package geometry

import (
	"fmt"
	"slices"
)

// pose is the input of a rule: the options and the two lines at the marks.
type pose struct {
	measure string
	opt     Options
	find    finder
	b       *Bound
	first   Vec // along the first line, at the marks
	second  Vec // along the second
}

// place computes the two lines, or returns a [*MarkError] for marks that form none.
func (p *pose) place() error {
	var pts [maxPoints]Point
	for i, name := range p.b.names[:p.b.n] {
		pts[i] = p.find.at[name]
		if err := p.finite(name); err != nil {
			return err
		}
	}
	for _, l := range p.b.lines {
		if l.To < 0 {
			continue
		}
		if err := p.distinct(pts[l.To].Sub(pts[l.From]), p.b.names[l.From], p.b.names[l.To]); err != nil {
			return err
		}
	}
	p.first, p.second = p.b.vec(0, pts[:]), p.b.vec(1, pts[:])
	return nil
}

func (p *pose) finite(name string) error {
	if p.find.at[name].finite() {
		return nil
	}
	return &MarkError{Measure: p.measure, Landmarks: []string{name},
		fact: fmt.Sprintf("mark %q, which %s needs, has a coordinate that is not a finite number", name, p.measure),
		hint: "place the mark again"}
}

func (p *pose) distinct(v Vec, from, to string) error {
	n := v.Norm()
	if n >= minLength && n <= maxLength {
		return nil
	}
	e := &MarkError{Measure: p.measure, Landmarks: []string{from, to},
		fact: fmt.Sprintf("marks %q and %q, a line of %s, are at the same spot", from, to, p.measure),
		hint: "place one of them again: a line needs two different points"}
	if n > maxLength {
		e.fact = fmt.Sprintf("marks %q and %q, a line of %s, are too far apart to be real", from, to, p.measure)
		e.hint = "check their coordinates and place them again"
	}
	return e
}

func (p *pose) assume(format string, args ...any) {
	p.b.assumptions = append(p.b.assumptions, fmt.Sprintf(format, args...))
}

// spot locates a landmark that decides the sense only: the mark that the measure's own
// lines would use, else the midpoint of left and right, else whichever side is marked.
// It returns the names of the marks used.
func (p *pose) spot(landmark string) (Point, []string, error) {
	var names []string
	if name, ok := p.find.name(landmark); ok {
		names = []string{name}
	} else {
		for _, s := range sides {
			name := s.prefix() + landmark
			if _, ok := p.find.at[name]; ok {
				names = append(names, name)
			}
			if len(names) > 0 && s == Right || len(names) == 2 {
				break
			}
		}
	}
	var at Point
	for i, name := range names {
		if err := p.finite(name); err != nil {
			return Point{}, nil, err
		}
		at = p.find.at[name]
		if i == 1 {
			at = p.find.at[names[0]].Mid(at)
		}
	}
	return at, names, nil
}

// trunk returns the unit vector from hip to shoulder; false if one is not marked.
func (p *pose) trunk() (Vec, bool, error) {
	hip, hips, err := p.spot("hip")
	if err != nil {
		return Vec{}, false, err
	}
	shoulder, shoulders, err := p.spot("shoulder")
	if err != nil {
		return Vec{}, false, err
	}
	if len(hips) == 0 || len(shoulders) == 0 {
		return Vec{}, false, nil
	}
	v := shoulder.Sub(hip)
	if err := p.distinct(v, hips[0], shoulders[0]); err != nil {
		return Vec{}, false, err
	}
	p.decided(hips...)
	p.decided(shoulders...)
	return v.Unit(), true, nil
}

// decided records marks that decided the sense and are not on one of the two lines.
func (p *pose) decided(names ...string) {
	for _, n := range names {
		if !slices.Contains(p.b.names[:p.b.n], n) && !slices.Contains(p.b.deciders, n) {
			p.b.deciders = append(p.b.deciders, n)
		}
	}
}
