package session

import "ecart/cmd/internal/reading"

// Kept is a reading that was kept in a journal, for a report of what a session came to.
type Kept struct {
	ID      int64 // in the journal
	Athlete string
	Filing  Filing
	Side    string
	Reading *reading.Reading
}

// Gather returns the report of readings that were kept, in their order, as if they were the
// rows of a list.
func Gather(kept []Kept, opt Options) *Report {
	r := newReport(ListRef{}, opt.Version, len(kept))
	for i := range kept {
		k := &kept[i]
		read := *k.Reading
		read.Take.Name = "" // as in Report: it is often named after a person
		f := &k.Filing
		r.Read++
		r.add(Line{Number: i + 1, Condition: f.Condition, Side: k.Side, State: f.State}, k.Athlete,
			Reading{Line: i + 1, Day: f.Day, Session: f.Session, Condition: f.Condition, Variant: f.Variant, State: f.State, Side: k.Side,
				Rater: f.Rater, Setup: f.Setup, Note: f.Note, Kept: k.ID, Notes: []string{}, Reading: &read})
	}
	r.complete(opt)
	return r
}
