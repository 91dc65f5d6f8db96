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

// ScreenSchema names the version of the JSON of a Screen.
const ScreenSchema = "ecart/screen/1"

// ScreenAsk is the input of [Record.Screen].
type ScreenAsk struct {
	Athlete    string
	Movement   string // its name, as in package movement
	Day, Side  string // "" is the last day with two conditions, and each side
	Goal       Goal
	Confidence float64 // what intervals hold and a gap takes to be named, 0.5 to 1
	Seed       uint64
}

// Screen is where the missing degrees of one day are, and its JSON: a screen of each side.
type Screen struct {
	Schema   string       `json:"schema"`
	Athlete  string       `json:"athlete"`
	Movement string       `json:"movement"`
	Measure  string       `json:"measure"`
	Title    string       `json:"title"` // of the movement
	Day      string       `json:"day"`
	Screens  []SideScreen `json:"screens"`
	Notes    []string     `json:"notes"`
}

// SideScreen is the screen of one side; "" if no side was stated.
type SideScreen struct {
	Side string `json:"side,omitempty"`
	*change.Screen
}

// Screen computes the screen of an athlete in the journal.
func (d *Record) Screen(ctx context.Context, a ScreenAsk) (*Screen, error) {
	m, q, opt, err := d.screenAsked(a)
	if err != nil {
		return nil, err
	}
	j, err := d.OpenJournal(journal.Options{Read: true})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	return d.screenOf(ctx, j, m, q, opt)
}

// screenAsked checks the input of a screen, and returns the movement, the filter and the options.
func (d *Record) screenAsked(a ScreenAsk) (m movement.Movement, q journal.Filter, opt change.ScreenOptions, err error) {
	if a.Movement == "" {
		return m, q, opt, noMovement()
	}
	if err = desk.OneOf("movement", a.Movement, movement.Names()...); err != nil {
		return m, q, opt, err
	}
	m, _ = movement.Find(a.Movement)
	q = journal.Filter{Athlete: a.Athlete, Measure: m.Measure, Side: a.Side, From: a.Day, To: a.Day}
	if err = desk.CheckFilter(journal.Filter{Side: a.Side}); err != nil {
		return m, q, opt, err
	}
	if _, err = desk.ParseDay("day", a.Day); err != nil {
		return m, q, opt, err
	}
	if err = CheckConfidence(a.Confidence); err != nil {
		return m, q, opt, err
	}
	opt = change.ScreenOptions{Coverage: a.Confidence, Seed: a.Seed}
	if opt.AskedDeg, opt.AtMost, err = d.goal(a.Goal, &q.Measure); a.Goal.Deg != nil {
		opt.AtMost = m.Less
	}
	return m, q, opt, err
}

// screenOf computes the screen of a movement from the readings that match q and are in its position.
func (d *Record) screenOf(ctx context.Context, j *journal.Journal, m movement.Movement, q journal.Filter, opt change.ScreenOptions) (*Screen, error) {
	rows, err := rowsOf(ctx, j, q)
	if err != nil {
		return nil, err
	}
	if rows, err = inPosition(rows, m.Measure, m.Variant); err != nil {
		return nil, err
	}
	return d.screenOfRows(ctx, j, m, rows, opt)
}

// screenOfRows computes the screen of a movement from an athlete's rows in its position, one at
// least.
func (d *Record) screenOfRows(ctx context.Context, j *journal.Journal, m movement.Movement, rows []journal.Row, opt change.ScreenOptions) (*Screen, error) {
	out := &Screen{Schema: ScreenSchema, Athlete: rows[0].Athlete, Movement: m.Name, Measure: m.Measure, Title: m.Title, Notes: []string{}}
	rows, err := notAhead(rows, d.Now().Format(time.DateOnly), &out.Notes)
	if err != nil {
		return nil, err
	}
	if out.Day = latestScreen(rows); out.Day == "" {
		return nil, nothingToScreen(rows, m.Name)
	}
	var ids []int64
	for _, r := range rows {
		if r.Day == out.Day {
			ids = append(ids, r.ID)
		}
	}
	rs, err := changeReadings(ctx, j, journal.Filter{IDs: ids})
	if err != nil {
		return nil, err
	}
	for _, side := range []string{"left", "right", "front", "back", ""} {
		group := slices.DeleteFunc(slices.Clone(rs), func(r change.Reading) bool { return r.Side != side })
		if len(group) == 0 {
			continue
		}
		if change.Conditions(group) < change.FewestConditions {
			out.Notes = append(out.Notes, noteOneCondition(side, len(group)))
			continue
		}
		one, err := change.NewScreen(group, opt)
		if err != nil {
			return nil, err
		}
		out.Screens = append(out.Screens, SideScreen{side, one})
	}
	if len(out.Screens) == 0 {
		return nil, nothingToScreen(rows, m.Name)
	}
	return out, nil
}

// inPosition returns the rows in a position of the measure, one at least.
func inPosition(rows []journal.Row, measure, variant string) ([]journal.Row, error) {
	existing := distinct(rows, func(r *journal.Row) string { return positionWords(r.Variant) })
	matching := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Variant != variant })
	if len(matching) > 0 {
		return matching, nil
	}
	do := "read it in that position, and keep it with " + fault.Option("variant") + " " + variant
	if variant == "" {
		do = "read it in the measure's usual position, and keep it without " + fault.Option("variant")
	}
	return nil, fault.New(fmt.Sprintf("%q has no reading of %s in %s; there is %s", rows[0].Athlete, measure, positionWords(variant), strings.Join(existing, ", ")), do)
}

// positionWords are a variant's name in a message.
func positionWords(variant string) string {
	if variant == "" {
		return "the usual position"
	}
	return "the position " + variant
}

// latestScreen is the last day on which a side was read in two conditions or more.
func latestScreen(rows []journal.Row) (latest string) {
	type cell struct{ day, side string }
	said := map[cell][]string{}
	for _, r := range rows {
		c := cell{r.Day, r.Side}
		if r.Condition == journal.Unknown || slices.Contains(said[c], r.Condition) {
			continue
		}
		if said[c] = append(said[c], r.Condition); len(said[c]) >= change.FewestConditions && r.Day > latest {
			latest = r.Day
		}
	}
	return latest
}

func noMovement() error {
	return fault.New("no movement was named", "give "+fault.Option("movement")+" "+strings.Join(movement.Names(), ", "))
}

func noteOneCondition(side string, n int) string {
	if side == "" {
		return desk.Count(n, "reading") + " of which the side was not said, left out: no gap is known of one condition"
	}
	return fmt.Sprintf("%s of the side %s, left out: no gap is known of one condition", desk.Count(n, "reading"), side)
}

// nothingToScreen is the error of readings without a day with two conditions.
func nothingToScreen(rows []journal.Row, movement string) error {
	last := rows[len(rows)-1].Day
	var lastRows []journal.Row
	for _, r := range rows {
		if r.Day == last {
			lastRows = append(lastRows, r)
		}
	}
	existing := distinct(lastRows, func(r *journal.Row) string { return r.Condition })
	return fault.New(fmt.Sprintf("%q has no day with readings of one %s in two conditions; on the last, %s, there is %s", rows[0].Athlete, movement, last, strings.Join(existing, ", ")),
		"read at least two of passive, active, in-skill and swung on one day, and keep them with "+fault.Operation("keep a reading in its condition")+" and so on")
}

// ScreenListSchema names the version of the JSON of a ScreenList.
const ScreenListSchema = "ecart/screens/1"

// ScreenList is what a screen can be of, and its JSON.
type ScreenList struct {
	Schema    string         `json:"schema"`
	Movements []MovementRow  `json:"movements"`
	Contrasts []ContrastRow  `json:"contrasts"`
	Variants  []PositionName `json:"variants"`
}

// MovementRow is a movement in a list.
type MovementRow struct {
	Name    string `json:"name"`
	Title   string `json:"title"`
	Measure string `json:"measure"`
	Variant string `json:"variant,omitempty"`
	Less    bool   `json:"less_is_better"`
}

// ContrastRow is a contrast in a list.
type ContrastRow struct {
	Name       string   `json:"name"`
	Title      string   `json:"title"`
	Measure    string   `json:"measure"`
	Taut       string   `json:"taut"`
	Slack      string   `json:"slack"`
	Separates  string   `json:"separates"`
	Cannot     []string `json:"cannot_say"`
	Source     string   `json:"source"`
	Provenance string   `json:"provenance"`
}

// PositionName is a position of a measure in a list.
type PositionName struct {
	Name    string `json:"name"`
	Measure string `json:"measure"`
	Words   string `json:"words"`
	Thigh   bool   `json:"thigh"` // the leg is read from hip to knee
}

// Screens lists what a screen can be of.
func Screens() *ScreenList {
	l := &ScreenList{Schema: ScreenListSchema}
	for _, m := range movement.All() {
		l.Movements = append(l.Movements, MovementRow{m.Name, m.Title, m.Measure, m.Variant, m.Less})
	}
	for _, c := range movement.Contrasts() {
		l.Contrasts = append(l.Contrasts, ContrastRow{c.Name, c.Title, c.Measure, c.Taut, c.Slack, c.Separates, c.Cannot, c.Source, c.Provenance})
	}
	for _, v := range movement.Variants("") {
		l.Variants = append(l.Variants, PositionName{v.Name, v.Measure, v.Words, v.Thigh})
	}
	return l
}
