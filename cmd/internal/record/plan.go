package record

import (
	"context"
	"fmt"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// PlanSchema names the version of the JSON of a Plan.
const PlanSchema = "ecart/plan/1"

// PlanAsk is the input of [Desk.Plan].
type PlanAsk struct {
	Measure    string
	Athlete    string  // whose readings say how much she varies and how they are made; "": nobody
	ChangeDeg  float64 // worth finding
	By         string  // day, 2006-01-02
	Chance     float64 // promised share of cases; 0: change.PlanChance
	VariesDeg  *float64
	Confidence float64
}

// Plan says with which takes a change would be found, and its JSON.
type Plan struct {
	Schema  string `json:"schema"`
	Measure string `json:"measure"`
	Athlete string `json:"athlete,omitempty"`
	*change.Plan
	Cautions []string `json:"cautions"`
}

// planSetups are the set-ups that a plan compares.
var planSetups = []struct {
	name string
	set  func(*reading.Request)
}{
	{"camera as it stands, landmarks seen", func(*reading.Request) {}},
	{"camera by eye, 5 m off, landmarks seen", func(q *reading.Request) { q.Camera, q.DistanceM = "by-eye", 5 }},
	{"camera squared, 5 m off, landmarks felt", func(q *reading.Request) { q.Camera, q.DistanceM, q.Found = "squared", 5, reading.Felt }},
	{"camera squared, 5 m off, stickers", func(q *reading.Request) { q.Camera, q.DistanceM, q.Found = "squared", 5, reading.Stickered }},
}

// Plan works out with which takes a change would be found by a day.
func (d *Record) Plan(ctx context.Context, a PlanAsk) (*Plan, error) {
	m, ok := geometry.Lookup(a.Measure)
	if !ok {
		return nil, desk.OneOf("measure", a.Measure, desk.MeasureNames()...)
	}
	if !(a.ChangeDeg > 0 && a.ChangeDeg <= 180) {
		return nil, fault.New(fmt.Sprintf(fault.Option("change")+" %g is no change from above 0 to 180 degrees", a.ChangeDeg), "5 is a change worth finding")
	}
	if a.Chance != 0 && !(a.Chance >= 0.5 && a.Chance <= 0.99) {
		return nil, fault.New(fmt.Sprintf(fault.Option("chance")+" %g is not between 0.5 and 0.99", a.Chance), "0.8 is usual")
	}
	if a.VariesDeg != nil && !(*a.VariesDeg >= 0 && *a.VariesDeg <= 30) {
		return nil, fault.New(fmt.Sprintf(fault.Option("varies")+" %g is no standard deviation from 0 to 30 degrees", *a.VariesDeg), "'ecart change' says how much an athlete varies")
	}
	if err := CheckConfidence(a.Confidence); err != nil {
		return nil, err
	}
	by, err := desk.ParseDay("by", a.By)
	if err != nil {
		return nil, err
	}
	if a.By == "" {
		return nil, fault.New("no day was named by which the change is to be found", "give "+fault.Option("by")+" and a day such as 2027-03-01")
	}
	now := d.Now()
	opt := change.PlanOptions{ChangeDeg: a.ChangeDeg, From: time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC), By: by,
		Chance: a.Chance, Coverage: a.Confidence, DayDeg: a.VariesDeg}
	if !by.After(opt.From) {
		return nil, fault.New(fmt.Sprintf(fault.Option("by")+" %s is not ahead of today, %s", a.By, opt.From.Format(time.DateOnly)), "give a day to come")
	}
	out := &Plan{Schema: PlanSchema, Measure: m.Name, Athlete: a.Athlete, Cautions: []string{cautionMeasures, cautionPain}}
	var setups []change.Setup
	if a.Athlete != "" {
		if opt.Before, out.Athlete, err = d.keptFor(ctx, a.Athlete, m.Name); err != nil {
			return nil, err
		}
		last := opt.Before[len(opt.Before)-1]
		setups = append(setups, change.Setup{Name: "as her last reading", Reading: last})
	}
	q, err := typicalRequest(m)
	switch {
	case err == nil:
		typical, err := typicalSetups(q)
		if err != nil {
			return nil, err
		}
		setups = append(setups, typical...)
	case setups == nil:
		return nil, err
	}
	if out.Plan, err = change.NewPlan(setups, opt); err != nil {
		return nil, err
	}
	if err == nil && len(setups) > 1 {
		out.Notes = append(out.Notes, "how uncertain a take is comes from a typical picture of the movement (1920 by 1080 pixels, the athlete 480 pixels tall): a reading of a take of yours says it better", "such takes are of a limb that is held, or followed to their widest moment: frames that somebody picks out of a movement find less")
	}
	return out, nil
}

// typicalSetups reads a typical picture with each set-up.
func typicalSetups(q reading.Request) (out []change.Setup, err error) {
	for _, s := range planSetups {
		one := q
		s.set(&one)
		r, err := reading.Read(one)
		if err != nil {
			return nil, err
		}
		c := change.FromReading(r)
		c.Missed = [2]float64{} // its takes are held, or followed to their peak
		out = append(out, change.Setup{Name: s.name, Reading: c})
	}
	return out, nil
}

// keptFor are an athlete's readings of a measure, the last day last, one at least, with the name as the
// journal has it.
func (d *Record) keptFor(ctx context.Context, athlete, measure string) (rs []change.Reading, name string, err error) {
	err = d.InJournal(journal.Options{Read: true}, func(j *journal.Journal) error {
		rows, err := rowsOf(ctx, j, journal.Filter{Athlete: athlete, Measure: measure})
		if err != nil {
			return err
		}
		var notes []string
		if rows, err = notAhead(rows, d.Now().Format(time.DateOnly), &notes); err != nil {
			return err
		}
		slices.SortStableFunc(rows, byDay)
		name = rows[0].Athlete
		rs, err = changeRows(rows)
		return err
	})
	return rs, name, err
}

// PlanFor is Plan with defaults for the rest; who is "" for nobody in the journal.
func (d *Record) PlanFor(ctx context.Context, measure, who string, deg float64, by string) (*Plan, error) {
	return d.Plan(ctx, PlanAsk{Measure: measure, Athlete: who, ChangeDeg: deg, By: by, Confidence: usualConfidence})
}

// Chart draws the plan.
func (p *Plan) Chart(opt chart.Options) (*chart.Drawing, error) {
	m, _ := geometry.Lookup(p.Measure)
	return chart.Plan(chart.PlanData{Title: m.Title, Who: p.Athlete, Plan: p.Plan}, opt)
}

// Draw returns the plan as SVG, widthMM wide, without heading.
func (p *Plan) Draw(widthMM float64) (string, error) {
	d, err := p.Chart(chart.Options{WidthMM: widthMM, Bare: true})
	if err != nil {
		return "", err
	}
	return svgOf(d)
}

// PlanTable is a set-up's part of a plan.
type PlanTable struct {
	Setup     string
	SingleDeg float64  // half-width of one take's interval
	Every     []string // heads of the columns
	Rows      []PlanTableRow
	Says      string
}

// PlanTableRow is a number of takes a day, with a way for each column.
type PlanTableRow struct {
	Takes int
	Ways  []change.PlanWay
}

// Tables are the plan's ways as tables, one for each set-up.
func (p *Plan) Tables() (out []PlanTable) {
	for _, setup := range p.Setups() {
		t := PlanTable{Setup: setup, SingleDeg: p.Nearest(setup).SingleDeg, Says: p.SetupSays(setup)}
		for _, takes := range change.PlanTakes {
			row := PlanTableRow{Takes: takes}
			for _, w := range p.Ways {
				if w.Setup == setup && w.Takes == takes {
					row.Ways = append(row.Ways, w)
				}
			}
			t.Rows = append(t.Rows, row)
		}
		for _, w := range t.Rows[0].Ways {
			t.Every = append(t.Every, change.EveryWords(w.Every))
		}
		out = append(out, t)
	}
	return out
}

// PlanMeasures are the measures that can be planned for before there is a reading.
func PlanMeasures() (out []string) {
	for _, m := range geometry.Measures() {
		if typical[m.Name] != nil {
			out = append(out, m.Name)
		}
	}
	return out
}
