package page

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
)

// setForAll stores what is set for all takes of today. Takes of which nothing is kept yet
// take a change over, except what was set differently for one of them.
func (s *Server) setForAll(w http.ResponseWriter, r *http.Request) {
	var all ForAll
	err := s.receive(w, r, 1<<14, &all)
	if err == nil {
		all.Rater, all.Setup = strings.TrimSpace(all.Rater), strings.TrimSpace(all.Setup)
		err = all.check(s.config.Desk)
	}
	if err == nil {
		err = s.changeForAll(r.Context(), all)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.hub.tell("", event{Kind: "today", From: r.URL.Query().Get("window")})
	w.WriteHeader(http.StatusNoContent)
}

func (s *Server) changeForAll(ctx context.Context, all ForAll) error {
	list, err := s.today()
	if err != nil {
		return err
	}
	kept, err := s.keptOf(ctx, list)
	if err != nil {
		return inJournal(err)
	}
	var before ForAll
	if err := s.notebook.change(func(n *notes) error {
		before = n.All
		n.All = all
		for _, a := range list {
			if o := n.Takes[a.ID]; o != nil && o.Begun && len(kept[a.ID]) == 0 {
				spreadOne(&o.State, before.State, all.State)
				spreadOne(&o.Condition, before.Condition, all.Condition)
				spreadOne(&o.Variant, before.Variant, all.Variant)
				spreadOne(&o.Setup, before.Setup, all.Setup)
			}
		}
		return nil
	}); err != nil {
		return err
	}
	for _, a := range list {
		if len(kept[a.ID]) > 0 {
			continue
		}
		if err := s.works.change(a.ID, func(k *Work) bool { return all.spread(&before, k) }, s.hub); err != nil {
			return err
		}
	}
	return nil
}

// begin gives a take that is opened for the first time what is set for all.
func (s *Server) begin(id string) error {
	n, err := s.notebook.read()
	if err != nil {
		return err
	}
	if o := n.Takes[id]; o == nil || !o.Begun {
		if err := s.notebook.change(func(n *notes) error { n.begin(id); return nil }); err != nil {
			return err
		}
	}
	if n.All.Skill == "" && n.All.Measure == "" {
		return nil
	}
	k, err := s.works.load(id)
	if err != nil || k.Version > 0 {
		return nil // asking for the work reports its error
	}
	mine := Work{Frames: map[int]*Placed{}}
	n.All.apply(&mine)
	_, _, err = s.works.save(id, &mine)
	return err
}

// ofTakeOrder is a change of the notes on one take; nil leaves a field as it is.
type ofTakeOrder struct {
	Athlete   *string `json:"athlete"`
	Day       *string `json:"day"`
	Note      *string `json:"note"`
	State     *string `json:"state"`
	Condition *string `json:"condition"`
	Variant   *string `json:"variant"`
	Setup     *string `json:"setup"`
}

// setOfTake changes the notes on one take. State, condition, position and set-up are also set for
// the takes that are opened after it. The answer has the name as the roster spells it, and
// another name that it may have been meant for.
func (s *Server) setOfTake(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	var o ofTakeOrder
	err := s.receive(w, r, 1<<14, &o)
	if err == nil {
		_, err = s.store.About(id)
	}
	var names []string
	if err == nil {
		names, err = s.otherNames(r.Context(), id)
	}
	var said OfTake
	if err == nil {
		err = s.notebook.change(func(n *notes) error {
			mine := n.toChange(id)
			if o.Athlete != nil {
				name := inRoster(*o.Athlete, names)
				o.Athlete = &name
			}
			for _, f := range []struct{ to, all, from *string }{{&mine.Athlete, nil, o.Athlete}, {&mine.Day, nil, o.Day}, {&mine.Note, nil, o.Note},
				{&mine.State, &n.All.State, o.State}, {&mine.Condition, &n.All.Condition, o.Condition}, {&mine.Variant, &n.All.Variant, o.Variant}, {&mine.Setup, &n.All.Setup, o.Setup}} {
				if f.from == nil || *f.from == *f.to {
					continue
				}
				*f.to = strings.TrimSpace(*f.from)
				if f.all != nil {
					*f.all = *f.to
				}
			}
			said = *mine
			f := desk.Filing{Athlete: mine.Athlete, Day: mine.Day, State: mine.State, Condition: mine.Condition, Variant: mine.Variant, Setup: mine.Setup, Note: mine.Note}
			if f.Athlete == "" {
				f.Athlete = "any" // CheckFiling needs a name; nothing is filed here
			}
			return onPage(s.config.Desk.CheckFiling(f, false))
		})
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.hub.tell("", event{Kind: "today", From: r.URL.Query().Get("window")})
	alike := ""
	if said.Athlete != "" {
		alike = record.SimilarName(said.Athlete, names)
	}
	answer(w, http.StatusOK, map[string]string{"athlete": said.Athlete, "alike": alike})
}

// otherNames returns the names in the journal and of today's takes but one.
func (s *Server) otherNames(ctx context.Context, but string) ([]string, error) {
	n, err := s.notebook.read()
	if err != nil {
		return nil, err
	}
	list, err := s.today()
	if err != nil {
		return nil, err
	}
	return s.names(ctx, n, list, but)
}

// names returns the athletes of the journal and of the takes in list, except the take but.
func (s *Server) names(ctx context.Context, n *notes, list []folder.About, but string) ([]string, error) {
	names, err := s.record.Names(ctx)
	if err != nil {
		return nil, inJournal(err)
	}
	for _, a := range list {
		if o := n.Takes[a.ID]; o != nil && o.Athlete != "" && a.ID != but {
			names = append(names, o.Athlete)
		}
	}
	return eachOnce(names), nil
}

// eachOnce returns names without repeats, each in its first spelling.
func eachOnce(names []string) []string {
	out, seen := []string{}, map[string]bool{}
	for _, name := range names {
		if k := record.NameKey(name); !seen[k] {
			seen[k] = true
			out = append(out, name)
		}
	}
	return out
}

// inRoster returns a name as names has it, if it is there in any spelling.
func inRoster(name string, names []string) string {
	name = strings.Join(strings.Fields(name), " ")
	for _, n := range names {
		if record.NameKey(n) == record.NameKey(name) {
			return n
		}
	}
	return name
}

// dayGiven returns the day that somebody gave for a take; "" if the day in its file counts.
func dayGiven(n *notes, id string) string {
	if o := n.Takes[id]; o != nil && o.Day != "" {
		return o.Day
	}
	return n.All.Day
}

// lineWords names a line of the list.
func lineWords(n int) string { return fmt.Sprintf("line %d of the list", n) }
