package page

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// onRoster is an athlete as the roster shows one.
type onRoster struct {
	Number int64  `json:"number"` // in the journal; addresses have this instead of the name
	Name   string `json:"name"`
	Counts string `json:"counts"` // "8 readings on 5 days"
	Last   string `json:"last"`   // "hip split 164° ± 6 on 2 March 2026", "" where none can be read
}

// roster sends the athletes of the journal, by name.
func (s *Server) roster(w http.ResponseWriter, r *http.Request) {
	list, measures, damaged, err := s.record.Roster(r.Context())
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	out := []onRoster{}
	for _, a := range list {
		o := onRoster{Number: a.ID, Name: a.Name, Counts: desk.Count(a.Readings, "reading") + " on " + desk.Count(a.Days, "day")}
		if l := a.Last; l != nil {
			o.Last = fmt.Sprintf("%s %s on %s", titleOf(l.Measure), shortly(l.AngleDeg, l.ExpandedUncertaintyDeg), dayWords(l.Day))
		}
		out = append(out, o)
	}
	answer(w, http.StatusOK, map[string]any{"athletes": out, "damaged": factOf(damaged), "groups": titled(measures), "plans": titled(record.PlanMeasures()),
		"movements": titledMovements(), "list": s.listName()})
}

// inJournal words an error of the journal for the page.
func inJournal(err error) error {
	if errors.Is(err, record.NoAthlete) {
		return refuse(http.StatusNotFound, record.NoAthlete.Error(), record.NoAthlete.Hint())
	}
	return onPage(err)
}

// factOf returns what is wrong, without the hint; "" for no error.
func factOf(err error) string {
	if err == nil {
		return ""
	}
	return minus(err.Error())
}

// titleOf returns a measure in words.
func titleOf(measure string) string {
	if m, ok := geometry.Lookup(measure); ok {
		return m.Title
	}
	return measure
}

// shortly returns an angle with its expanded uncertainty, degrees: "164° ± 6".
func shortly(deg, u float64) string {
	value, plus := uncertainty.Format(deg, u)
	return minus(value) + "° ± " + plus
}

// dayWords words a day of the journal, 2006-01-02, as people write it.
func dayWords(day string) string {
	d, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return desk.DateWords(d)
}

// numberIn returns the number of an athlete or a reading in the address.
func numberIn(r *http.Request) (int64, error) {
	n, err := strconv.ParseInt(r.PathValue("n"), 10, 64)
	if err != nil || n < 1 {
		return 0, refuse(http.StatusBadRequest, fmt.Sprintf("%q is no number of the journal", folder.Shown(r.PathValue("n"))), "choose from the list")
	}
	return n, nil
}

// earlierOrder asks for an athlete's readings before this one. The name comes in the body, so
// that no address has it.
type earlierOrder struct {
	Athlete string `json:"athlete"`
	Measure string `json:"measure"`
	Variant string `json:"variant"`
	Day     string `json:"day"`  // of the take, "" not known
	Take    string `json:"take"` // that is open, whose own readings do not count
}

// mostEarlier is how many readings before this one are named: what fits on two lines of a phone.
const mostEarlier = 3

// earlier says in one line what an athlete's last readings of a measure were.
func (s *Server) earlier(w http.ResponseWriter, r *http.Request) {
	var o earlierOrder
	if err := s.receive(w, r, 1<<12, &o); err != nil {
		s.fail(w, r, err)
		return
	}
	says := ""
	if a, err := s.store.About(o.Take); err == nil {
		o.Take = a.Sum()
	}
	if o.Athlete = strings.TrimSpace(o.Athlete); o.Athlete != "" && o.Measure != "" {
		rows, err := s.record.Earlier(r.Context(), o.Athlete, o.Measure, o.Variant, o.Day, o.Take, mostEarlier)
		if err != nil {
			s.fail(w, r, inJournal(err))
			return
		}
		var words []string
		for _, row := range rows {
			word := shortly(row.AngleDeg, row.ExpandedUncertaintyDeg)
			if row.Side != "" {
				word += ", " + row.Side + ","
			}
			words = append(words, word+" on "+s.nearDay(row.Day))
		}
		if len(words) > 0 {
			says = "before: " + strings.Join(words, ", ")
		}
	}
	answer(w, http.StatusOK, map[string]string{"says": says})
}

// nearDay words a day, without the year if it is the present one.
func (s *Server) nearDay(day string) string {
	return strings.TrimSuffix(dayWords(day), s.config.Now().Format(" 2006"))
}

// moveOrder names the athlete under whom a reading is to be filed.
type moveOrder struct {
	Athlete string `json:"athlete"`
}

// moveReading files one reading under another athlete, as 'ecart journal move' does.
func (s *Server) moveReading(w http.ResponseWriter, r *http.Request) {
	var o moveOrder
	n, err := numberIn(r)
	if err == nil {
		err = s.receive(w, r, 1<<12, &o)
	}
	if err == nil {
		if o.Athlete = strings.TrimSpace(o.Athlete); o.Athlete == "" {
			err = refuse(http.StatusUnprocessableEntity, "no athlete was named", "write a name; a pseudonym will do")
		} else if len([]rune(o.Athlete)) > mostName {
			err = refuse(http.StatusUnprocessableEntity, "a name is too long", fmt.Sprintf("a name has up to %d letters", mostName))
		}
	}
	if err == nil {
		_, err = s.record.MoveReading(r.Context(), n, o.Athlete)
		s.hub.tell("", event{Kind: "journal"})
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	answer(w, http.StatusOK, map[string]string{"says": fmt.Sprintf("reading %d is filed under %s", n, o.Athlete)})
}

// eraseReading removes one reading from the journal for good, as 'ecart journal erase' does.
func (s *Server) eraseReading(w http.ResponseWriter, r *http.Request) {
	n, err := numberIn(r)
	copies := 0
	if err == nil {
		copies, err = s.record.EraseReading(r.Context(), n)
		s.hub.tell("", event{Kind: "journal"})
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	says := fmt.Sprintf("reading %d is erased", n)
	if copies > 0 {
		says += ", and out of the copies beside the journal"
	}
	answer(w, http.StatusOK, map[string]string{"says": says})
}
