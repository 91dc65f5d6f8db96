package record

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
)

// ContrastSchema names the version of the JSON of a Contrast.
const ContrastSchema = "ecart/contrast/1"

// ContrastAsk is the input of [Record.Contrast].
type ContrastAsk struct {
	Athlete    string
	Contrast   string // its name, as in package movement
	Day, Side  string // "" is the last day with both positions, and each side
	Confidence float64
}

// Contrast compares the two positions of a contrast on one day, and its JSON: a comparison of
// each side.
type Contrast struct {
	Schema  string             `json:"schema"`
	Athlete string             `json:"athlete"`
	Name    string             `json:"contrast"`
	Title   string             `json:"title"`
	Day     string             `json:"day"`
	Sides   []*change.Contrast `json:"sides"`
	Notes   []string           `json:"notes"`
}

// Contrast computes a contrast of an athlete in the journal.
func (d *Record) Contrast(ctx context.Context, a ContrastAsk) (*Contrast, error) {
	if err := desk.OneOf("contrast", a.Contrast, movement.ContrastNames()...); err != nil {
		return nil, err
	}
	c, ok := movement.FindContrast(a.Contrast)
	if !ok {
		return nil, fault.New("no contrast was named", "give "+fault.Option("contrast")+" "+strings.Join(movement.ContrastNames(), ", "))
	}
	q := journal.Filter{Athlete: a.Athlete, Measure: c.Measure, Side: a.Side, From: a.Day, To: a.Day}
	if err := desk.CheckFilter(journal.Filter{Side: a.Side}); err != nil {
		return nil, err
	}
	if _, err := desk.ParseDay("day", a.Day); err != nil {
		return nil, err
	}
	if err := CheckConfidence(a.Confidence); err != nil {
		return nil, err
	}
	j, err := d.OpenJournal(journal.Options{Read: true})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	rows, err := rowsOf(ctx, j, q)
	if err != nil {
		return nil, err
	}
	return contrastOf(rows, c, a.Confidence, d.Now().Format(time.DateOnly))
}

// contrastOf computes a contrast from the rows of one athlete and measure.
func contrastOf(rows []journal.Row, c movement.Contrast, confidence float64, today string) (*Contrast, error) {
	out := &Contrast{Schema: ContrastSchema, Athlete: rows[0].Athlete, Name: c.Name, Title: c.Title, Notes: []string{}}
	rows, err := notAhead(rows, today, &out.Notes)
	if err != nil {
		return nil, err
	}
	if out.Day = latestPair(rows, c); out.Day == "" {
		return nil, noPair(rows, c)
	}
	rows = slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Day != out.Day })
	rs, err := changeRows(rows)
	if err != nil {
		return nil, err
	}
	for _, side := range []string{"left", "right", "front", "back", ""} {
		sideReadings := slices.DeleteFunc(slices.Clone(rs), func(r change.Reading) bool { return r.Side != side || r.Variant != c.Taut && r.Variant != c.Slack })
		if !hasPair(sideReadings, c) {
			continue
		}
		one, err := change.NewContrast(sideReadings, c, confidence)
		if err != nil { // both positions were read, and not alike in all else
			out.Notes = append(out.Notes, err.Error())
			continue
		}
		out.Sides = append(out.Sides, one)
	}
	if len(out.Sides) == 0 {
		return nil, noPair(rows, c)
	}
	return out, nil
}

func hasPair(rs []change.Reading, c movement.Contrast) bool {
	is := func(variant string) bool {
		return slices.ContainsFunc(rs, func(r change.Reading) bool { return r.Variant == variant })
	}
	return is(c.Taut) && is(c.Slack)
}

// latestPair is the last day on which a side was read in both positions, alike in condition and
// state; "" if there is none.
func latestPair(rows []journal.Row, c movement.Contrast) (latest string) {
	type cell struct{ day, session, side, condition, state string }
	read := map[cell][2]bool{}
	for _, r := range rows {
		at := cell{r.Day, r.Session, r.Side, r.Condition, r.State}
		has := read[at]
		has[0], has[1] = has[0] || r.Variant == c.Taut, has[1] || r.Variant == c.Slack
		if read[at] = has; has[0] && has[1] && r.Day > latest {
			latest = r.Day
		}
	}
	return latest
}

// noPair says what is missing for a contrast.
func noPair(rows []journal.Row, c movement.Contrast) error {
	existing := distinct(rows, func(r *journal.Row) string { return positionWords(r.Variant) })
	return fault.New(fmt.Sprintf("%q has no day on which %s was read in both positions of %s, %s and %s, in one condition and state; there is %s", rows[0].Athlete, c.Measure, c.Name, c.Taut, c.Slack, strings.Join(existing, ", ")),
		fmt.Sprintf("read it in both on one day, alike in all else, and keep them with %s %s and %s %s", fault.Option("variant"), c.Taut, fault.Option("variant"), c.Slack))
}
