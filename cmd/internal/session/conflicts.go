package session

// refuseDoubles refuses a row that reads the same marks on the same take as a row before
// it. For the same athlete and condition the reading would count twice; otherwise one of
// the two rows is wrong.
func (s *Session) refuseDoubles() {
	type picture struct{ takeSum, marks, at, measure, leg, side string }
	first := map[picture]*rowWork{}
	for _, w := range s.rows {
		if w.err != nil || w.takeSum == "" {
			continue
		}
		q := &w.question
		p := picture{w.takeSum, q.MarksOrigin, q.At, q.Measure, q.Leg, q.Side}
		other, ok := first[p]
		switch {
		case !ok:
			first[p] = w
		case Key(other.row.Athlete) != Key(w.row.Athlete):
			w.err = newError("write each athlete's own take and marks", "the row has the take and the marks of line %d, where they are %s's", other.row.Line, other.row.Athlete)
		case other.question.Filing.Condition != q.Filing.Condition || other.question.Filing.Variant != q.Filing.Variant || other.question.Filing.State != q.Filing.State:
			w.err = newError("one picture is of one condition and position: write the take that belongs to it", "the row has the take and the marks of line %d, under another condition, position or state", other.row.Line)
		case other.key == w.key:
			w.err = newError("take one of them out: it would count twice", "the row says the same as line %d", other.row.Line)
		}
	}
}

// refuseTwoStatures refuses a row whose athlete has another stature than in a row before:
// either two athletes have one name, or one of the statures is wrong.
func (s *Session) refuseTwoStatures() {
	first := map[string]*rowWork{}
	for _, w := range s.rows {
		if w.err != nil || w.question.StatureMm == 0 {
			continue
		}
		k := Key(w.row.Athlete)
		other, ok := first[k]
		if !ok {
			first[k] = w
			continue
		}
		if other.question.StatureMm != w.question.StatureMm {
			w.err = newError("give two athletes two names or pseudonyms, or write one stature",
				"%s is %s tall here and %s in line %d", w.row.Athlete, w.question.Stature, other.question.Stature, other.row.Line)
		}
	}
}
