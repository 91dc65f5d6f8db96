package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/vision/take"
)

// Filing is how a reading is filed in the journal; "" means not given.
type Filing struct {
	Athlete   string // a name or a pseudonym; "" for nobody
	Day       string // on which the take was made, 2006-01-02
	Session   string
	State     string // of the body: cold, warm or after
	Condition string // who moved the limb: passive, active, in-skill or swung
	Variant   string // the position, as in package movement; "" is the measure's usual one
	Rater     string // who placed the marks
	Setup     string // where and how the camera stood
	Note      string
}

// CheckFiling checks how a reading is filed, and with withJournal that the journal can be
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

// Entry returns the journal's entry for a reading r that q gave. The filing has its day.
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

// checkVariant returns an error if the position is none of this measure, or does not fit the lines of
// the reading.
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

// Kept describes a kept reading.
type Kept struct {
	ID            int64
	Athlete, Path string
	Day           string
	Near          string // for a new athlete: another whose name is one slip of typing away
	AtLeast       string // AtLeastOf the reading
}

// AtLeastOf returns a note if a floor may have stopped the split, so that the angle is a lower bound; else "".
func AtLeastOf(e *journal.Entry, r *reading.Reading) string {
	if change.AtLeast(r.Measure, e.Variant, e.Condition, r.IntervalDeg) {
		return change.AtLeastNote
	}
	return ""
}

// Keep keeps a reading that q gave in the journal, which is created if missing.
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

// ahead reports whether a day is in the future in every time zone.
func (d *Desk) ahead(day time.Time) bool { return day.After(d.Now().UTC().Add(14 * time.Hour)) }

// Day returns the day on which a take was made: the one given, else the take's own.
func (d *Desk) Day(given string, info take.Info) (string, error) {
	ofTake := DayOf(info)
	switch {
	case given != "" && ofTake != "" && given != ofTake:
		d.note("%s says that it was made on %s; it is kept under %s, as %s says", info.Name, ofTake, given, fault.Option("day"))
		return given, nil
	case given != "":
		return given, nil
	case ofTake == "":
		return "", fault.New(fmt.Sprintf("%q does not say on which day it was made", info.Name), "give the day with "+fault.Option("day")+", such as "+fault.Option("day")+" 2026-03-21")
	}
	if at, err := time.Parse(time.DateOnly, ofTake); err != nil || d.ahead(at) {
		return "", fault.New(fmt.Sprintf("%q says that it was made on %s, which lies ahead of today", info.Name, ofTake), "give the right day with "+fault.Option("day"))
	}
	return ofTake, nil
}

// ParseDay parses a date such as 2026-03-21; "" is the zero time. option names it in errors.
func ParseDay(option, s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, fault.New(fmt.Sprintf("%s %q is no date", fault.Option(option), s), fmt.Sprintf("write it as year, month and day: %s 2026-03-21", fault.Option(option)))
	}
	return t, nil
}

// firstYear is earlier than any camera whose files are read here. A phone whose clock was never
// set gives 1904, 1970 or 1980.
const firstYear = 1990

// DayOf returns the day in a take's metadata, in its time zone; "" if it has none. Clips without
// a zone give UTC, which is converted to this machine's zone; stills give local time.
func DayOf(info take.Info) string {
	t := info.Captured
	if !info.Still && t.Location() == time.UTC {
		t = t.Local()
	}
	if t.Year() < firstYear {
		return ""
	}
	return t.Format(time.DateOnly)
}
