package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
)

// Filing is how a reading is filed in the journal; "" means not given.
type Filing struct {
	Athlete   string // a pseudonym if you like; "" is for nobody
	Day       string // on which the take was made, 2006-01-02
	Session   string
	State     string // of the body: cold, warm or after
	Condition string // who moved the limb: passive, active, in-skill or swung
	Variant   string // the position, as in package movement; "" is the measure's usual one
	Rater     string // who placed the marks
	Setup     string // where and how the camera stood
	Note      string
}

// CheckFiling looks through how a reading is filed; with the journal, whether that can be
// written.
func (d *Desk) CheckFiling(f Filing, withJournal bool) error {
	if err := OneOf("state", f.State, "cold", "warm", "after"); err != nil {
		return err
	}
	if err := OneOf("condition", f.Condition, movement.Conditions...); err != nil {
		return err
	}
	if err := OneOf("variant", f.Variant, movement.VariantNames("")...); err != nil {
		return err
	}
	if day, err := ParseDay("day", f.Day); err != nil {
		return err
	} else if d.ahead(day) {
		return fault.New(fmt.Sprintf("%s %s lies ahead of today", fault.Option("day"), f.Day), "give the day the take was made; if it is right, set this machine's clock")
	}
	e := journal.Entry{Athlete: f.Athlete, Session: f.Session, Rater: f.Rater, Setup: f.Setup, Note: f.Note}
	if err := e.CheckNames(); err != nil || !withJournal {
		return err
	}
	return d.CheckJournal()
}

// Entry is a reading as it is kept, made by q; the filing's day is that of the take.
func Entry(f Filing, q *Asked, r *reading.Reading) (*journal.Entry, error) {
	if r.Proposed {
		return nil, fault.New("the marks of the reading are proposed and not confirmed, and such a reading is not kept", "look at the marks, and confirm them: give "+fault.Option("confirm")+", or delete \"proposed\" from each mark that is right")
	}
	if err := checkVariant(f.Variant, r); err != nil {
		return nil, err
	}
	marks := bytes.TrimPrefix(q.Sources.Marks, []byte("\xef\xbb\xbf"))
	if marks == nil {
		var err error
		if marks, err = json.Marshal(q.Request.Marks); err != nil {
			return nil, err
		}
	}
	side := string(q.Request.Options.Side)
	if side == "" {
		side = sideOf(r)
	}
	e := &journal.Entry{Athlete: f.Athlete, Day: f.Day, Session: f.Session, State: f.State, Condition: f.Condition, Variant: f.Variant, Side: side,
		Rater: f.Rater, Setup: f.Setup, Note: f.Note, Tool: Version(),
		Marks: marks, Request: journal.NewRequest(&q.Request, q.Sources.Lens, q.Sources.Priors)}
	return e, e.SetReading(r)
}

// checkVariant returns an error if no reading of this measure, or none with these lines, is made in
// the position.
func checkVariant(name string, r *reading.Reading) error {
	if name == "" {
		return nil
	}
	v, ok := movement.FindVariant(r.Measure, name)
	if !ok {
		do := "leave it out: this measure has no other position"
		if names := movement.VariantNames(r.Measure); len(names) > 0 {
			do = "it is one of " + strings.Join(names, ", ")
		}
		return fault.New(fmt.Sprintf("%s %q is no position of %s", fault.Option("variant"), name, r.Measure), do)
	}
	toAnkle := slices.ContainsFunc(r.Lines[:], func(l reading.Line) bool { return strings.HasSuffix(l.To, "ankle") })
	if v.Thigh && toAnkle {
		return fault.New(fmt.Sprintf("%s %s is read from the thigh, and this reading goes to the ankle", fault.Option("variant"), name), "read it with "+fault.Option("leg")+" thigh, and mark the knee")
	}
	return nil
}

// sideOf returns the side of the body if all lines are of one side.
func sideOf(r *reading.Reading) string {
	found := map[string]bool{}
	for _, l := range r.Lines {
		for _, name := range []string{l.From, l.To} {
			for _, side := range []string{"left", "right"} {
				if strings.HasPrefix(name, side+"-") {
					found[side] = true
				}
			}
		}
	}
	if len(found) == 1 {
		for side := range found {
			return side
		}
	}
	return ""
}

// Kept is where a reading was kept.
type Kept struct {
	ID            int64
	Athlete, Path string
	Day           string
	Near          string // of an athlete who is new: another whose name is one slip of typing away
	AtLeast       string // of a passive split that a floor may have stopped: that it is read as at least this; else ""
}

// AtLeastOf is the note of a kept reading of a passive split that a floor may have stopped; else "".
func AtLeastOf(e *journal.Entry, r *reading.Reading) string {
	if change.AtLeast(r.Measure, e.Variant, e.Condition, r.IntervalDeg) {
		return change.AtLeastNote
	}
	return ""
}

// Keep keeps a reading made by q in the journal, which is created if missing.
func (d *Desk) Keep(ctx context.Context, f Filing, q *Asked, r *reading.Reading) (_ *Kept, err error) {
	e, err := Entry(f, q, r)
	if err != nil {
		return nil, err
	}
	j, err := d.OpenJournal(journal.Options{Create: true})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	before, err := j.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	id, err := j.Keep(ctx, e)
	if err != nil {
		return nil, err
	}
	k := &Kept{ID: id, Athlete: e.Athlete, Day: e.Day, Path: j.Path(), AtLeast: AtLeastOf(e, r)}
	var others []string
	for _, a := range before {
		others = append(others, a.Name)
	}
	k.Near = text.Alike(e.Athlete, others)
	return k, nil
}
