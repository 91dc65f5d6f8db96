package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"text/tabwriter"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/season"
)

// seasonRow counts how often one statement about several readings is true, over simulated
// athletes with constant errors of their own.
type seasonRow struct {
	Statement string  `json:"statement"`
	Case      string  `json:"case"`
	Named     bool    `json:"named"` // rater and set-up
	Percent   float64 `json:"percent"`
	Least     float64 `json:"least_percent,omitempty"` // goal: at least,
	Most      float64 `json:"most_percent,omitempty"`  // and at most

	plan   season.Plan
	stream uint64 // of random numbers
	hit    func(readings []season.Reading, rs []change.Reading) (bool, error)

	group    group // with hitGroup, of a statement about a group; in place of hit
	hitGroup func(rs []change.Reading, mean float64) (bool, error)
}

// seasonTable is the study of statements about several readings.
type seasonTable struct {
	Athletes int         `json:"athletes"`
	Seed     uint64      `json:"seed"`
	Rows     []seasonRow `json:"rows"`
}

// The accepted percentages for statements of 95 %: chance in the counting changes them, and
// a season's constant errors differ from what the rules assume.
const (
	minHolds = 93.5
	maxHolds = 96.5
	maxFalse = 5.5
	slopeDeg = 2.0 // degrees a month
)

func seasonsOf(o options, _ io.Writer) (printed, error) {
	t := &seasonTable{Athletes: o.takes, Seed: o.seed}
	for i, r := range slices.Concat(seasonRows(), groupRows(), planRows()) {
		r.stream = uint64(i) // so that a row has the same athletes alone and among all rows
		if o.study != "seasons" || strings.Contains(r.name(), o.cell) {
			t.Rows = append(t.Rows, r)
		}
	}
	if len(t.Rows) == 0 {
		return nil, fmt.Errorf("no row of the study seasons has %q in its name\ngive part of a name such as %q", o.cell, "the line on the last day")
	}
	errs := make([]error, len(t.Rows))
	next := make(chan int)
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := range next {
				errs[i] = t.Rows[i].count(o.takes, o.seed)
			}
		})
	}
	for i := range t.Rows {
		next <- i
	}
	close(next)
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return t, nil
}

func (r *seasonRow) count(athletes int, seed uint64) error {
	rnd := rand.New(rand.NewPCG(seed, r.stream))
	if r.hitGroup != nil {
		return r.countGroups(athletes, rnd)
	}
	n := 0
	for range athletes {
		readings := season.Make(r.plan, rnd)
		hit, err := r.hit(readings, asChange(readings))
		if err != nil {
			return fmt.Errorf("%s, %s: %w", r.Statement, r.Case, err)
		}
		if hit {
			n++
		}
	}
	r.Percent = 100 * float64(n) / float64(athletes)
	return nil
}

func asChange(readings []season.Reading) (out []change.Reading) {
	frame := reading.DefaultPriors().Moment.ClipDeg
	for i, r := range readings {
		missed := [2]float64{}
		if r.OneFrame {
			missed[1] = frame
		}
		out = append(out, change.Reading{ID: int64(i + 1), Day: r.Day, Measure: "hip-split", Definition: "hip-ankle and hip-ankle", Side: r.Side, State: "warm",
			Condition: r.Condition, Missed: missed, Rater: r.Rater, Setup: r.Setup, AngleDeg: r.AngleDeg, StandardDeg: r.StandardDeg, Sources: r.Sources})
	}
	return out
}

func seasonRows() (rows []seasonRow) {
	both := func(r seasonRow) {
		for _, named := range []bool{true, false} {
			r.Named, r.plan.Named = named, named
			if !named && r.Most == maxHolds {
				r.Most = 0 // an unknown rater or set-up may make the interval wider
			}
			rows = append(rows, r)
		}
	}
	trend := func(rs []change.Reading) (*change.Trend, error) { return change.NewTrend(rs, change.Options{}) }

	for _, takes := range []int{1, 3, 10} {
		both(seasonRow{Statement: "the mean of a day holds", Case: plural(takes, "take"), Least: minHolds, Most: maxHolds, plan: season.Plan{Days: 1, Takes: takes},
			hit: func(readings []season.Reading, rs []change.Reading) (bool, error) {
				t, err := trend(rs)
				return err == nil && within(t.Days[0].IntervalDeg, readings[0].DayTrueDeg), err
			}})
	}
	both(seasonRow{Statement: "the line on the last day holds", Case: "7 days, 3° from day to day", Least: minHolds, Most: maxHolds, plan: season.Plan{Days: 7, Takes: 1, SlopeDeg: 1, DayDeg: 3},
		hit: func(readings []season.Reading, rs []change.Reading) (bool, error) {
			t, err := trend(rs)
			if err != nil {
				return false, err
			}
			last := readings[len(readings)-1]
			_, low, high := t.Line.At(last.Day)
			return within([2]float64{low, high}, last.LineTrueDeg), nil
		}})
	both(seasonRow{Statement: "the rate holds", Case: "8 days, 3° from day to day", Least: minHolds, plan: season.Plan{Days: 8, Takes: 1, SlopeDeg: slopeDeg, DayDeg: 3},
		hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
			t, err := trend(rs)
			return err == nil && within(t.Line.SlopeIntervalDeg, slopeDeg), err
		}})
	asked := 180.0
	day := season.Start.AddDate(0, 0, int(math.Ceil((asked-150)/slopeDeg*365.25/12)))
	both(seasonRow{Statement: "the day of reaching is ruled out", Case: "8 days, 3° from day to day", Most: maxFalse, plan: season.Plan{Days: 8, Takes: 1, SlopeDeg: slopeDeg, DayDeg: 3},
		hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
			t, err := change.NewTrend(rs, change.Options{AskedDeg: &asked})
			if err != nil {
				return false, err
			}
			switch r := t.Reach; r.Status {
			case change.Coming:
				return r.From.After(day) || r.To != nil && r.To.Before(day), nil
			case change.Near, change.CannotTell:
				return false, nil
			}
			return true, nil
		}})
	for _, days := range []int{1, 6} {
		for _, takes := range []int{1, 3} {
			both(seasonRow{Statement: "equal sides are called unequal", Case: plural(days, "day") + ", " + plural(takes, "take") + ", 2° from take to take", Most: maxFalse,
				plan: season.Plan{Days: days, Takes: takes, DayDeg: 3, TakeDeg: 2, Sides: []string{"left", "right"}},
				hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
					a, err := change.Sides(rs, 0.95)
					return err == nil && a.Real, err
				}})
		}
	}
	for _, deg := range []float64{1, 3, 5} {
		for _, days := range []int{2, 4, 6, 10} {
			for _, takes := range []int{1, 5} {
				both(seasonRow{Statement: "an unchanged athlete is called changed", Case: fmt.Sprintf("%g° from day to day, %s, %s", deg, plural(days, "day"), plural(takes, "take")), Most: maxFalse,
					plan: season.Plan{Days: days, Takes: takes, DayDeg: deg, TakeDeg: 1},
					hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
						t, err := trend(rs)
						return err == nil && t.Real, err
					}})
			}
		}
	}
	for _, days := range []int{2, 5} {
		both(seasonRow{Statement: "the effect of a warm-up holds", Case: plural(days, "session") + ", 1.5° from take to take", Least: minHolds,
			plan: season.Plan{Days: days, Takes: 1, DayDeg: 3, TakeDeg: 1.5, Conditions: []season.Condition{{Name: "cold"}, {Name: "warm", AddDeg: 5}}},
			hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
				for i := range rs {
					rs[i].State, rs[i].Condition = rs[i].Condition, "active"
				}
				w, err := change.NewWarmUp(rs, 0.95)
				return err == nil && within(w.IntervalDeg, 5), err
			}})
	}
	for _, deg := range []float64{2, 4} {
		both(seasonRow{Statement: "the interval of what varies from day to day holds", Case: fmt.Sprintf("8 days, %g°", deg), Least: minHolds, plan: season.Plan{Days: 8, Takes: 1, DayDeg: deg},
			hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
				t, err := trend(rs)
				return err == nil && within(t.DayToDay.UsedInterval, deg), err
			}})
	}
	for _, c := range []struct{ framesOff, takeDeg float64 }{{0, 0}, {3, 0}, {0, 2}} {
		for _, takes := range []int{1, 3} {
			name := plural(takes, "take") + " in each condition"
			if c.framesOff > 0 {
				name += fmt.Sprintf(", picked up to %g frames off", c.framesOff)
			}
			if c.takeDeg > 0 {
				name += fmt.Sprintf(", %g° from take to take", c.takeDeg)
			}
			both(seasonRow{Statement: "a gap of 0 is called shown", Case: name, Most: maxFalse,
				plan: season.Plan{Days: 1, Takes: takes, FramesOff: c.framesOff, TakeDeg: c.takeDeg, Conditions: []season.Condition{{Name: "passive", AddDeg: 10}, {Name: "active"}, {Name: "in-skill"}}},
				hit: func(_ []season.Reading, rs []change.Reading) (bool, error) {
					s, err := change.NewScreen(rs, change.ScreenOptions{AskedDeg: &asked, Draws: 10_000})
					return err == nil && s.Gaps[2].Shown, err
				}})
		}
	}
	return rows
}

func within(interval [2]float64, v float64) bool { return interval[0] <= v && v <= interval[1] }

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// name returns the row's statement, case, and "named" or "not named", as they are printed.
func (r *seasonRow) name() string {
	return r.Statement + ", " + r.Case + ", " + r.namedText()
}

func (r *seasonRow) namedText() string {
	if r.Named {
		return "named"
	}
	return "not named"
}

func (r *seasonRow) ok() bool {
	return r.Percent >= r.Least && (r.Most == 0 || r.Percent <= r.Most)
}

func (t *seasonTable) print(w io.Writer) error {
	fmt.Fprintf(w, "What is said of several readings, %d made athletes a row, seed %d. 5 %% of them is good to %.1f points (one standard deviation).\n\n",
		t.Athletes, t.Seed, 100*math.Sqrt(0.05*0.95/float64(t.Athletes)))
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "statement\tcase\trater and set-up\t%\tgoal\t")
	for i := range t.Rows {
		r := &t.Rows[i]
		var goal []string
		if r.Least > 0 {
			goal = append(goal, fmt.Sprintf("at least %g", r.Least))
		}
		if r.Most > 0 {
			goal = append(goal, fmt.Sprintf("at most %g", r.Most))
		}
		mark := ""
		if !r.ok() {
			mark = "missed"
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%.1f\t%s\t%s\n", r.Statement, r.Case, r.namedText(), r.Percent, strings.Join(goal, ", "), mark)
	}
	return tw.Flush()
}
