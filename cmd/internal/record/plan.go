package record

import (
	"context"
	"fmt"
	"math"
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

// PlanAsk is the input of [Record.Plan].
type PlanAsk struct {
	Measure    string
	Athlete    string  // whose readings give her variation and a set-up; "": nobody
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

// Plan computes with which takes a change would be found by a day.
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
		return nil, fault.New(fmt.Sprintf(fault.Option("varies")+" %g is no standard deviation from 0 to 30 degrees", *a.VariesDeg), fault.Operation("show the change")+" says how much an athlete varies")
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

// keptFor returns an athlete's readings of a measure, ordered by day, one at least, and the name as the
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

// Tables returns the plan's ways as tables, one for each set-up.
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

// PlanMeasures returns the measures that can be planned for without a reading.
func PlanMeasures() (out []string) {
	for _, m := range geometry.Measures() {
		if typical[m.Name] != nil {
			out = append(out, m.Name)
		}
	}
	return out
}

// typical has bodies in a typical position of each measure, for a plan before there is a
// picture: places of landmarks from the hip, or from the wrist for off-vertical, x to the
// right and y up, in parts of stature. Lengths are those of the priors' segments. Whoever
// is seen from the side faces right.
var typical = map[string]map[string][2]float64{
	"hip-split":          {"hip": {}, "shoulder": {0, 0.288}, "front-ankle": polar(0.491, -10), "back-ankle": polar(0.491, 190)},
	"shoulder-flexion":   {"hip": {}, "shoulder": {0, 0.288}, "elbow": {0.186 * sin(15), 0.288 + 0.186*cos(15)}},
	"leg-separation":     {"right-hip": {-0.05, 0}, "left-hip": {0.05, 0}, "right-ankle": {-0.05 - 0.491*sin(60), -0.491 * cos(60)}, "left-ankle": {0.05 + 0.491*sin(60), -0.491 * cos(60)}},
	"shoulder-extension": {"hip": {}, "shoulder": {0, 0.288}, "elbow": {-0.186 * sin(60), 0.288 - 0.186*cos(60)}},
	"pike":               {"hip": {}, "shoulder": {0, 0.288}, "ankle": polar(0.491, 30)},
	"knee-bend":          {"hip": {}, "knee": {0, -0.245}, "ankle": {-0.246 * sin(20), -0.245 - 0.246*cos(20)}},
	"elbow-bend":         {"shoulder": {}, "elbow": {0.186, 0}, "wrist": {0.186 + 0.146*cos(20), 0.146 * sin(20)}},
	"foot-point":         {"ankle": {}, "knee": {0, 0.246}, "toe": {0.119 * sin(160), 0.119 * cos(160)}},
	"off-vertical":       {"wrist": {}, "ankle": {1.111 * sin(10), 1.111 * cos(10)}},
	"leg-rise":           {"hip": {}, "ankle": polar(0.491, 80)},
}

func sin(deg float64) float64 { return math.Sin(deg * math.Pi / 180) }

func cos(deg float64) float64 { return math.Cos(deg * math.Pi / 180) }

func polar(r, deg float64) [2]float64 { return [2]float64{r * cos(deg), r * sin(deg)} }

// typicalRequest returns the request for a reading of a typical picture: 1920 by 1080 pixels, in which
// the athlete is 480 pixels tall, as a clip across a hall shows one.
func typicalRequest(m geometry.Measure) (reading.Request, error) {
	pose, ok := typical[m.Name]
	if !ok {
		return reading.Request{}, fault.New(fmt.Sprintf("there is no typical picture of the measure %q to plan with", m.Name), "name an athlete who has a reading of it: "+fault.Option("athlete")+" NAME")
	}
	const tall, x, y = 480.0, 960.0, 700.0 // px
	marks := &reading.Marks{Schema: reading.MarksSchema, NoFrame: true}
	for _, name := range geometry.Landmarks() {
		if at, ok := pose[name]; ok {
			marks.Marks = append(marks.Marks, reading.Placement{Landmark: name, X: x + tall*at[0], Y: y - tall*at[1]})
		}
	}
	q := reading.Request{Take: reading.Take{Name: "a typical picture", WidthPx: 1920, HeightPx: 1080}, Still: true, Marks: marks, Measure: m, Beyond: true, Seed: usualSeed, MaxDraws: 20_000}
	if m.Facing {
		q.Options.Facing = geometry.FacingRight
	}
	return q, nil
}
