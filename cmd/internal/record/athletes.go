package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
)

// OnRoster is an athlete with readings in the journal.
type OnRoster struct {
	journal.Athlete
	Last *journal.Row // the reading of the last day; nil if all of them are damaged
}

// Roster lists the athletes by name; without a journal the list is empty. groups are the measures in
// which two athletes or more were read on two days. damaged names damaged readings, nil if there are
// none.
func (d *Record) Roster(ctx context.Context) (list []OnRoster, groups []string, damaged error, err error) {
	err = d.readJournal(nil, func(j *journal.Journal) error {
		athletes, err := j.Athletes(ctx)
		if err != nil {
			return err
		}
		rows, damage, err := splitDamaged(j.List(ctx, journal.Filter{}))
		if err != nil {
			return err
		}
		last := map[string]*journal.Row{}
		slices.SortStableFunc(rows, byDay)
		for i := range rows {
			last[rows[i].Athlete] = &rows[i]
		}
		for _, a := range athletes {
			list = append(list, OnRoster{a, last[a.Name]})
		}
		groups = groupMeasures(rows)
		if len(damage) > 0 {
			damaged = damage
		}
		return nil
	})
	return list, groups, damaged, err
}

// groupMeasures are the measures in which two athletes or more were read on two days.
func groupMeasures(rows []journal.Row) (out []string) {
	for _, measure := range distinct(rows, func(r *journal.Row) string { return r.Measure }) {
		days := map[string][]string{} // by athlete
		for _, r := range rows {
			if r.Measure == measure && !slices.Contains(days[r.Athlete], r.Day) {
				days[r.Athlete] = append(days[r.Athlete], r.Day)
			}
		}
		maps.DeleteFunc(days, func(_ string, d []string) bool { return len(d) < 2 })
		if len(days) > 1 {
			out = append(out, measure)
		}
	}
	return out
}

// readJournal opens the journal for f, which only reads. If there is no journal, or no athlete of the
// name that f looks for, it returns absent.
func (d *Record) readJournal(absent error, f func(*journal.Journal) error) error {
	err := d.InJournal(journal.Options{Read: true}, f)
	if errors.Is(err, journal.ErrAbsent) {
		return absent
	}
	return err
}

// byDay orders readings by day, and those of one day as they were kept.
func byDay(a, b journal.Row) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.ID, b.ID)) }

// splitDamaged splits what List returns: the sound readings, the damaged ones, and any other error.
func splitDamaged(rows []journal.Row, err error) ([]journal.Row, journal.DamagedReadings, error) {
	var damaged journal.DamagedReadings
	if err != nil && !errors.As(err, &damaged) {
		return nil, nil, err
	}
	return rows, damaged, nil
}

// Months is everything the journal has of an athlete.
type Months struct {
	journal.Athlete
	Measures  []MonthsOf  // by name
	Contrasts []*Contrast // of the last day on which both positions were read
	Statures  []Stature   // as stated, the first day first
	Damaged   journal.DamagedReadings
}

// MonthsOf is one measure of an athlete in one position.
type MonthsOf struct {
	Measure  string
	Variant  string  // "" is the measure's usual position
	Change   *Change // nil: NoChange says why
	NoChange error
	Movement string  // of the screen; "" where no day has two conditions, or no screen is of this measure
	Screen   *Screen // nil: NoScreen says why, if there is a movement
	NoScreen error
	Readings []KeptReading // the last day first
}

// KeptReading is a reading of the journal: how it is filed, and the reading itself.
type KeptReading struct {
	journal.Row
	Reading *reading.Reading
}

// NoAthlete is the error of a number under which nobody is in the journal.
var NoAthlete = fault.New("nobody has this number in the journal any more", "choose an athlete from the list")

// athleteAt returns the athlete with this number in the journal.
func athleteAt(ctx context.Context, j *journal.Journal, number int64) (journal.Athlete, error) {
	list, err := j.Athletes(ctx)
	if err != nil {
		return journal.Athlete{}, err
	}
	i := slices.IndexFunc(list, func(a journal.Athlete) bool { return a.ID == number })
	if i < 0 {
		return journal.Athlete{}, NoAthlete
	}
	return list[i], nil
}

// AthleteName returns the name of the athlete with this number in the journal.
func (d *Record) AthleteName(ctx context.Context, number int64) (name string, err error) {
	err = d.readJournal(NoAthlete, func(j *journal.Journal) error {
		a, err := athleteAt(ctx, j, number)
		name = a.Name
		return err
	})
	return name, err
}

// Months gathers, for the athlete with a number in the journal, the change, the screen and the readings
// of each measure. asked has the angle asked, degrees, by the movement's name; a movement that is not in
// it is compared with what its readings were asked.
func (d *Record) Months(ctx context.Context, number int64, asked map[string]float64) (out *Months, err error) {
	err = d.readJournal(NoAthlete, func(j *journal.Journal) error {
		if out, err = gatherMonths(ctx, j, number, d.Now().Format(time.DateOnly)); err != nil {
			return err
		}
		for i := range out.Measures {
			m := &out.Measures[i]
			q := journal.Filter{Athlete: out.Name, Measure: m.Measure}
			m.Change, m.NoChange = d.changeIn(ctx, j, q, &m.Variant, change.Options{Coverage: usualConfidence})
			if screened, ok := movement.Find(m.Movement); ok {
				opt := change.ScreenOptions{Coverage: usualConfidence, Seed: usualSeed}
				if deg, ok := asked[screened.Name]; ok {
					opt.AskedDeg, opt.AtMost = &deg, screened.Less
				}
				m.Screen, m.NoScreen = d.screenOf(ctx, j, screened, q, opt)
			}
		}
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// MonthsContrast is Contrast for an athlete, with defaults for the rest.
func (d *Record) MonthsContrast(ctx context.Context, athlete, contrast string) (*Contrast, error) {
	return d.Contrast(ctx, ContrastAsk{Athlete: athlete, Contrast: contrast, Confidence: usualConfidence})
}

const (
	usualConfidence = 0.95
	usualSeed       = 1
)

// MonthsChange is Change for an athlete and a measure in a position, with defaults for the rest.
func (d *Record) MonthsChange(ctx context.Context, athlete, measure, variant string) (*Change, error) {
	return d.Change(ctx, ChangeAsk{Filter: journal.Filter{Athlete: athlete, Measure: measure}, Variant: &variant, Confidence: usualConfidence})
}

// MonthsScreen is Screen for an athlete and a movement, with defaults for the rest; asked nil is what
// the readings were asked.
func (d *Record) MonthsScreen(ctx context.Context, athlete, movement string, asked *float64) (*Screen, error) {
	return d.Screen(ctx, ScreenAsk{Athlete: athlete, Movement: movement, Goal: Goal{Deg: asked}, Confidence: usualConfidence, Seed: usualSeed})
}

// LastDay is the day of the last reading, 2006-01-02.
func (c *Change) LastDay() (last string) {
	for i := range c.Readings {
		last = max(last, c.Readings[i].Day.Format(time.DateOnly))
	}
	return last
}

// gatherMonths returns the readings of an athlete by measure.
func gatherMonths(ctx context.Context, j *journal.Journal, number int64, today string) (*Months, error) {
	a, err := athleteAt(ctx, j, number)
	if err != nil {
		return nil, err
	}
	out := &Months{Athlete: a}
	rows, damaged, err := splitDamaged(j.List(ctx, journal.Filter{Athlete: a.Name, Moments: true}))
	if err != nil {
		return nil, err
	}
	out.Damaged = damaged
	slices.SortStableFunc(rows, byDay)
	for _, what := range distinct(rows, func(r *journal.Row) string { return r.Measure + " " + r.Variant }) {
		measure, variant, _ := strings.Cut(what, " ")
		m := MonthsOf{Measure: measure, Variant: variant}
		readings := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Measure != measure || r.Variant != variant })
		if screen, ok := movement.Of(measure, variant); ok && latestScreen(readings) != "" {
			m.Movement = screen.Name
		}
		for _, row := range slices.Backward(readings) {
			e, err := j.Show(ctx, row.ID)
			if one := new(journal.Damaged); errors.As(err, &one) {
				out.Damaged = append(out.Damaged, one)
				continue
			}
			if err != nil {
				return nil, err
			}
			r, err := e.Parse()
			if err != nil {
				return nil, err
			}
			m.Readings = append(m.Readings, KeptReading{row, r})
			if said := (Stature{row.Day, e.Request.StatureMm}); said.Mm > 0 && !slices.Contains(out.Statures, said) {
				out.Statures = append(out.Statures, said)
			}
		}
		out.Measures = append(out.Measures, m)
	}
	for _, c := range movement.Contrasts() {
		readings := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Measure != c.Measure || r.Day > today })
		if latestPair(readings, c) == "" {
			continue
		}
		one, err := contrastOf(readings, c, usualConfidence, today)
		if err != nil {
			return nil, err
		}
		out.Contrasts = append(out.Contrasts, one)
	}
	slices.SortStableFunc(out.Statures, func(a, b Stature) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Mm, b.Mm)) })
	return out, nil
}

// Earlier returns the last readings, most at most, of an athlete's measure in a position up to a day, ""
// for today, the earliest first, without those of the take with this SHA-256. There are none for a name
// that is not in the journal.
func (d *Record) Earlier(ctx context.Context, athlete, measure, variant, day, take string, most int) (rows []journal.Row, err error) {
	f := journal.Filter{Athlete: athlete, Measure: measure, To: day}
	if err := desk.CheckFilter(f); err != nil {
		return nil, err
	}
	err = d.readJournal(nil, func(j *journal.Journal) error {
		rows, _, err = splitDamaged(j.List(ctx, f))
		return err
	})
	if err != nil {
		return nil, err
	}
	rows = slices.DeleteFunc(rows, func(r journal.Row) bool { return r.Take.SHA256 == take || r.Variant != variant })
	slices.SortStableFunc(rows, byDay)
	return rows[max(0, len(rows)-most):], nil
}

// KeptOfTakes returns the readings of takes by the takes' SHA-256, in the order in which they were kept.
// It reads no other readings. Without a journal there are none.
func (d *Record) KeptOfTakes(ctx context.Context, takes []string) (byTake map[string][]journal.Row, err error) {
	err = d.readJournal(nil, func(j *journal.Journal) (err error) {
		byTake, err = keptByTake(ctx, j, takes)
		return err
	})
	return byTake, err
}

func keptByTake(ctx context.Context, j *journal.Journal, takes []string) (map[string][]journal.Row, error) {
	rows, _, err := splitDamaged(j.List(ctx, journal.Filter{Takes: append([]string{}, takes...)}))
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(rows, func(a, b journal.Row) int { return cmp.Compare(a.ID, b.ID) })
	byTake := map[string][]journal.Row{}
	for _, r := range rows {
		byTake[r.Take.SHA256] = append(byTake[r.Take.SHA256], r)
	}
	return byTake, nil
}

// Erase erases an athlete, or readings by their numbers, from the journal, and the remembered readings of
// their takes. It first calls agree with the readings to erase, and stops at its error. If readings were
// erased but traces remain, it returns their number and an error.
func (d *Record) Erase(ctx context.Context, q journal.Filter, agree func([]journal.Row) error) (got journal.Erased, err error) {
	err = d.InJournal(journal.Options{}, func(j *journal.Journal) error {
		rows, damaged, err := splitDamaged(j.List(ctx, q))
		if err != nil {
			return err
		}
		for _, d := range damaged { // which are erased as well
			if d.ID != 0 {
				rows = append(rows, journal.Row{ID: d.ID, Athlete: d.Athlete, Day: d.Day})
			}
		}
		if len(rows) < len(q.IDs) {
			return fault.New(fmt.Sprintf("%d of the %d readings named are not there", len(q.IDs)-len(rows), len(q.IDs)), fault.Operation("list the readings")+" shows the numbers there are")
		}
		if err := agree(rows); err != nil {
			return err
		}
		if q.Athlete != "" {
			got, err = j.Erase(ctx, q.Athlete)
		} else {
			got, err = j.EraseReadings(ctx, q.IDs...)
		}
		return errors.Join(err, session.Forget(rows))
	})
	return got, err
}

// Move files readings under another athlete and returns their number, also with an error if traces of
// the old name remain. The takes are then named by their content, unless keepTakes is set.
func (d *Record) Move(ctx context.Context, q journal.Filter, to string, keepTakes bool) (n int, err error) {
	err = d.InJournal(journal.Options{}, func(j *journal.Journal) error {
		n, err = j.Move(ctx, q, to, keepTakes)
		return err
	})
	return n, err
}

// EraseReading is Erase of one reading by its number, without agree. It returns the number of copies
// beside the journal from which it was erased too.
func (d *Record) EraseReading(ctx context.Context, id int64) (copies int, err error) {
	got, err := d.Erase(ctx, journal.Filter{IDs: []int64{id}}, func([]journal.Row) error { return nil })
	return len(got.BackUps), err
}

// MoveReading is Move of one reading by its number.
func (d *Record) MoveReading(ctx context.Context, id int64, to string) (n int, err error) {
	return d.Move(ctx, journal.Filter{IDs: []int64{id}}, to, false)
}
