package page

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"strconv"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
	"ecart/geometry/uncertainty"
)

// planView is a plan as the page shows it.
type planView struct {
	Says     string      `json:"says"` // as 'ecart plan' does
	Chart    string      `json:"chart"`
	Every    []string    `json:"every"`
	Setups   []planSetup `json:"setups"`
	Notes    []string    `json:"notes"`
	Cautions []string    `json:"cautions"`
}

// planSetup is what takes with a set-up would find.
type planSetup struct {
	Setup string    `json:"setup"`
	Says  string    `json:"says"`
	Rows  []planRow `json:"rows"`
}

// planRow is for a number of takes a day. For each time between days it has the smallest change
// found, and whether the change asked for is found.
type planRow struct {
	Takes string     `json:"takes"`
	Found []planCell `json:"found"`
}

type planCell struct {
	Deg   string `json:"deg"`
	Finds bool   `json:"finds"`
}

// plan says with which takes a change would be found; the query names the measure, the
// change in degrees, the day, and an athlete by the number if there is one.
func (s *Server) plan(w http.ResponseWriter, r *http.Request) {
	p, err := s.planAsked(r)
	var wide int
	if err == nil {
		wide, err = number(r, "wide", leastWide, mostWide)
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	out := planView{Says: minus(p.Sentence), Every: []string{}, Setups: []planSetup{}, Notes: once(p.Notes), Cautions: once(p.Cautions)}
	if out.Chart, err = p.Draw(float64(wide)); err != nil {
		out.Notes = append(out.Notes, "it cannot be drawn: "+factOf(err))
	}
	for _, t := range p.Tables() {
		out.Every = t.Every
		_, single := uncertainty.Format(0, t.SingleDeg)
		setup := planSetup{Setup: fmt.Sprintf("%s (one take ± %s°)", t.Setup, single), Says: t.Says}
		for _, row := range t.Rows {
			one := planRow{Takes: desk.Count(row.Takes, "take") + " a day"}
			for _, c := range row.Ways {
				one.Found = append(one.Found, planCell{fmt.Sprintf("%.0f°", math.Ceil(c.FoundDeg)), c.Finds})
			}
			setup.Rows = append(setup.Rows, one)
		}
		out.Setups = append(out.Setups, setup)
	}
	answer(w, http.StatusOK, out)
}

// planSheet writes the page of a plan.
func (s *Server) planSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	p, err := s.planAsked(r)
	if err != nil {
		return "", err
	}
	return desk.SheetName("plan-"+p.Measure, p.Athlete, p.By.Format("2006-01-02"), string(ask.options.For)), sheets.WritePlan(b, record.PlanPage(p), ask.options)
}

func (s *Server) planAsked(r *http.Request) (*record.Plan, error) {
	q := r.URL.Query()
	deg, err := strconv.ParseFloat(q.Get("change"), 64)
	if err != nil || math.IsNaN(deg) {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q is no change in degrees", folder.Shown(q.Get("change"))), "write a number such as 5")
	}
	who := ""
	if n := q.Get("athlete"); n != "" {
		id, err := strconv.ParseInt(n, 10, 64)
		if err != nil {
			return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%q is no number of the journal", folder.Shown(n)), "choose from the list")
		}
		if who, err = s.record.AthleteName(r.Context(), id); err != nil {
			return nil, err
		}
	}
	if !desk.IsMeasure(q.Get("measure")) {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("there is no measure %q", folder.Shown(q.Get("measure"))), "choose from the list")
	}
	return s.record.PlanFor(r.Context(), q.Get("measure"), who, deg, q.Get("by"))
}

// protocolCard is a card as the page shows it.
type protocolCard struct {
	Title     string         `json:"title"`
	Condition string         `json:"condition"`
	Lines     []protocolLine `json:"lines"`
	Cautions  []string       `json:"cautions"`
	Note      string         `json:"note"` // on lines without a source
}

type protocolLine struct {
	Head   string `json:"head"`
	Text   string `json:"text"`
	Source string `json:"source"` // "" is common practice
}

// protocolAsked returns the card that the query names.
func protocolAsked(r *http.Request) (*desk.Protocol, error) {
	q := r.URL.Query()
	return desk.FindProtocol(q.Get("name"), q.Get("variant"), q.Get("condition"))
}

// protocol sends the card of a measure in a condition and a position.
func (s *Server) protocol(w http.ResponseWriter, r *http.Request) {
	p, err := protocolAsked(r)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	out := protocolCard{Title: p.Title, Condition: p.Condition, Lines: []protocolLine{}, Cautions: p.Cautions, Note: desk.PracticeNote}
	for _, l := range p.Lines {
		line := protocolLine{l.Head, l.Text, l.Source}
		if l.Source == desk.Practice {
			line.Source = ""
		}
		out.Lines = append(out.Lines, line)
	}
	answer(w, http.StatusOK, out)
}

// protocolSheet writes the page of a card.
func (s *Server) protocolSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	p, err := protocolAsked(r)
	if err != nil {
		return "", onPage(err)
	}
	return desk.SheetName("protocol-"+p.Title, p.Condition, "", string(ask.options.For)), sheets.WriteProtocol(b, desk.ProtocolPage(p), ask.options)
}
