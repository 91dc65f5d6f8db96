package page

import (
	"bytes"
	"fmt"
	"net/http"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
)

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

// groupSaid is the change of all athletes as the page shows it.
type groupSaid struct {
	Kind     string    `json:"kind"`
	Says     []string  `json:"says"` // as 'ecart change --all' does
	Chart    string    `json:"chart"`
	Ways     []waySaid `json:"ways"`
	Notes    []string  `json:"notes"`
	Cautions []string  `json:"cautions"`
}

// waySaid is who went one way.
type waySaid struct {
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
	out := groupSaid{Kind: g.KindWords(), Says: []string{minus(g.Sentence)}, Ways: []waySaid{}, Notes: once(g.Notes), Cautions: once(g.Cautions)}
	if g.Month != nil {
		out.Says = append(out.Says, minus(g.Month.Words()))
	}
	for _, w := range record.GroupPage(g).Ways {
		out.Ways = append(out.Ways, waySaid(w))
	}
	if out.Chart, err = g.Draw(float64(wide)); err != nil {
		out.Says = append(out.Says, "it cannot be drawn: "+factOf(err))
	}
	answer(w, http.StatusOK, out)
}

// groupAsked works out the group that the query asks for.
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
