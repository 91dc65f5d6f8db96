package page

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
)

// titledMovement is a movement of a screen with its title.
type titledMovement struct {
	Movement string `json:"movement"`
	Title    string `json:"title"`
}

func titledMovements() (out []titledMovement) {
	for _, m := range record.Screens().Movements {
		out = append(out, titledMovement{m.Name, m.Title})
	}
	return out
}

// listName is the name of today's list, "" for none.
func (s *Server) listName() string {
	n, err := s.notebook.read()
	if err != nil { // the list of today reports it
		return ""
	}
	if list, err := s.listOf(n); err == nil && list != nil {
		return strings.TrimSuffix(list.Name, ".csv")
	}
	return ""
}

// squadAsked returns the athletes that the query asks for: those of today's list (of=list), else all in the journal.
func (s *Server) squadAsked(r *http.Request) (record.Squad, error) {
	if r.URL.Query().Get("of") != "list" {
		return record.Squad{}, nil
	}
	n, err := s.notebook.read()
	if err != nil {
		return record.Squad{}, err
	}
	list, err := s.listOf(n)
	if err != nil {
		return record.Squad{}, err
	}
	if list == nil {
		return record.Squad{}, refuse(http.StatusNotFound, "there is no list today", "drop one at the place today, or choose all athletes")
	}
	return record.SquadIn(list.Name, []byte(list.Text))
}

// screensView has the screens of a squad as the page shows them.
type screensView struct {
	Counts   string                `json:"counts"`
	Heads    []string              `json:"heads"` // of the columns after the name
	Groups   []sheets.ScreensGroup `json:"groups"`
	Without  []string              `json:"without"` // who has no screen, and why
	Takes    string                `json:"takes"`   // "12 takes would complete or decide screens", "" for none
	ToTake   []toTakeView          `json:"to_take"`
	Notes    []string              `json:"notes"`
	Cautions []string              `json:"cautions"`
}

// toTakeView has the takes to make in one condition: who, and how many of each side.
type toTakeView struct {
	Condition string      `json:"condition"`
	Rows      [][2]string `json:"rows"` // "Wren", "left □□, right □"
}

// screens sends the screens of a squad in one movement, and the takes to make.
func (s *Server) screens(w http.ResponseWriter, r *http.Request) {
	got, err := s.screensAsked(r, true)
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	out := screensView{Counts: got.List + ", " + desk.Count(got.Athletes, "athlete") + ", " + desk.Count(len(got.Screens), "screen"),
		Groups: []sheets.ScreensGroup{}, ToTake: []toTakeView{}, Notes: once(append(got.NotByTakesWords(), got.Notes...)), Cautions: once(got.Cautions)}
	in := record.ScreensPage(got)
	out.Without = once(in.Without)
	heads, groups, err := sheets.ScreensTable(in)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if groups != nil {
		out.Heads, out.Groups = heads, groups
	}
	if n := got.Takes(); n > 0 {
		out.Takes = desk.Count(n, "take") + " would complete or decide screens, in the order of the hall"
	}
	for _, c := range got.ToTake {
		of := toTakeView{Condition: c.Condition}
		for _, a := range c.Athletes {
			var sides []string
			for _, side := range a.Sides {
				sides = append(sides, desk.Spaced(side.Side, strings.Repeat("□", side.Takes)))
			}
			of.Rows = append(of.Rows, [2]string{a.Athlete, strings.Join(sides, ", ")})
		}
		out.ToTake = append(out.ToTake, of)
	}
	answer(w, http.StatusOK, out)
}

// screensAsked returns the screens that the query asks for. It gives the athletes, the movement, and the angle asked, degrees.
func (s *Server) screensAsked(r *http.Request, toTake bool) (*record.SquadScreen, error) {
	q := r.URL.Query()
	if _, ok := movement.Find(q.Get("movement")); !ok {
		return nil, refuse(http.StatusBadRequest, "there is no such movement", "choose from the list")
	}
	squad, err := s.squadAsked(r)
	if err != nil {
		return nil, err
	}
	a := record.ScreenAsk{Movement: q.Get("movement")}
	if text := q.Get("asked"); text != "" {
		deg, err := strconv.ParseFloat(text, 64)
		if err != nil || !(deg >= 0 && deg <= 360) {
			return nil, refuse(http.StatusUnprocessableEntity, "what is asked is no angle from 0 to 360 degrees", "write a number such as 180")
		}
		a.Goal.Deg = &deg
	}
	return s.record.SquadScreenOf(r.Context(), squad, a, toTake)
}

// screensSheet writes the page of a squad's screens.
func (s *Server) screensSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	got, err := s.screensAsked(r, false)
	if err != nil {
		return "", err
	}
	return desk.SheetName("screens-"+got.Movement, "", got.Today, string(ask.options.For)), sheets.WriteScreens(b, record.ScreensPage(got), ask.options)
}

// takesSheet writes the page of the takes to make, to be ticked.
func (s *Server) takesSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	got, err := s.screensAsked(r, true)
	if err != nil {
		return "", err
	}
	return desk.SheetName("takes-"+got.Movement, "", got.Today, string(ask.options.For)), sheets.WriteTakes(b, record.TakesPage(got), ask.options)
}

// titledMeasure is a measure with its title.
type titledMeasure struct {
	Measure string `json:"measure"`
	Title   string `json:"title"`
}

func titled(measures []string) []titledMeasure {
	out := []titledMeasure{}
	for _, m := range measures {
		out = append(out, titledMeasure{m, titleOf(m)})
	}
	return out
}

// groupView is the change of all athletes as the page shows it.
type groupView struct {
	Kind     string    `json:"kind"`
	Says     []string  `json:"says"` // as 'ecart change --all' does
	Chart    string    `json:"chart"`
	Ways     []wayView `json:"ways"`
	Notes    []string  `json:"notes"`
	Cautions []string  `json:"cautions"`
}

// wayView is a direction of change, and who changed in it.
type wayView struct {
	Way   string `json:"way"`
	Means string `json:"means"`
	Who   string `json:"who"`
}

// group sends the change of the athletes in one measure, all or those of today's list; nameless: with letters for names.
func (s *Server) group(w http.ResponseWriter, r *http.Request) {
	wide, err := number(r, "wide", leastWide, mostWide)
	var g *record.Group
	if err == nil {
		g, err = s.groupAsked(r)
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	out := groupView{Kind: g.KindWords(), Says: []string{minus(g.Sentence)}, Ways: []wayView{}, Notes: once(g.Notes), Cautions: once(g.Cautions)}
	if g.Month != nil {
		out.Says = append(out.Says, minus(g.Month.Words()))
	}
	for _, w := range record.GroupPage(g).Ways {
		out.Ways = append(out.Ways, wayView(w))
	}
	if out.Chart, err = g.Draw(float64(wide)); err != nil {
		out.Says = append(out.Says, "it cannot be drawn: "+factOf(err))
	}
	answer(w, http.StatusOK, out)
}

// groupAsked returns the change of the group that the query asks for.
func (s *Server) groupAsked(r *http.Request) (*record.Group, error) {
	q := r.URL.Query()
	measure := q.Get("measure")
	if !desk.IsMeasure(measure) {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("there is no measure %q", folder.Shown(measure)), "choose from the list")
	}
	squad, err := s.squadAsked(r)
	if err != nil {
		return nil, err
	}
	return s.record.GroupOf(r.Context(), squad, measure, q.Has("nameless"))
}

// groupSheet writes the page of the change of a group.
func (s *Server) groupSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	g, err := s.groupAsked(r)
	if err != nil {
		return "", err
	}
	_, last := g.Span()
	return desk.SheetName("group-"+g.Measure, "", last.Format("2006-01-02"), string(ask.options.For)), sheets.WriteGroup(b, record.GroupPage(g), ask.options)
}
