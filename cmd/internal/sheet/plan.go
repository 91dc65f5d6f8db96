package sheet

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
)

// PlanInput says with which takes a change would be found.
type PlanInput struct {
	Title    string // of the measure
	Who      string // may be empty
	By       time.Time
	Change   float64 // degrees
	Chance   float64 // the share of cases
	Sentence string
	Plan     *change.Plan // to be drawn; nil: not drawn
	Tables   []PlanTable
	Notes    []string
	Cautions []string
}

// PlanTable is what takes with one set-up would find.
type PlanTable struct {
	Setup, Says string
	Every       []string // heads: the time between days
	Rows        []PlanRow
}

// PlanRow is one number of takes a day.
type PlanRow struct {
	Takes string
	Cells []PlanCell
}

// PlanCell is the smallest change found, in degrees, and whether the change asked for is found.
type PlanCell struct {
	Deg   string
	Finds bool
}

type planPage struct {
	W        *planWords
	Say, Key string
	Chart    template.HTML
	Tables   []PlanTable
	Notes    []string
	Cares    []string
}

// WritePlan writes a plan of takes, for a coach.
func WritePlan(w io.Writer, in PlanInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach", "there is no page of a plan for %q", string(who))
	}
	if len(in.Tables) == 0 {
		return problem("name a measure, a change and a day", "there is no plan to put on a page")
	}
	t := &s.kind().plan
	p := planPage{W: t, Say: s.sentence(in.Sentence), Key: fmt.Sprintf(t.key, s.number(10*in.Chance, 0)), Tables: in.Tables}
	for i := range p.Tables {
		p.Tables[i].Says = s.sentence(p.Tables[i].Says)
	}
	for _, n := range in.Notes {
		p.Notes = append(p.Notes, s.sentence(n))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	if in.Plan != nil {
		d, err := chart.Plan(chart.PlanData{Title: in.Title, Who: in.Who, Plan: in.Plan}, s.chartOptions(s.widthMM()))
		if p.Chart, err = s.chartSVG(d, err); err != nil {
			return err
		}
	}
	digits := 1
	if in.Change == math.Trunc(in.Change) {
		digits = 0
	}
	facts := []string{in.Who, fmt.Sprintf(t.asked, s.number(in.Change, digits), s.dateOf(in.By))}
	return s.writePage(w, "plan", in.Title, t.title, facts, p)
}
