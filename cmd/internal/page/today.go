package page

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/record"
	"ecart/geometry"
)

// todayView is the session of this day as the page shows it. All words of it are made here.
type todayView struct {
	Day       string       `json:"day"` // "Sunday 29 November 2026"
	Counts    string       `json:"counts"`
	MostBytes int64        `json:"most_bytes"` // of a take
	All       ForAll       `json:"all"`
	NoPose    bool         `json:"no_pose"`  // no marks can be proposed: the pose network is missing
	AllSays   string       `json:"all_says"` // what is set for all takes, in a line
	Names     []rosterName `json:"names"`    // the roster
	Rows      []todayRow   `json:"rows"`
	Axes      []axis       `json:"axes"` // of the rulers
	List      string       `json:"list"` // its name, "" for none
	ListNotes []string     `json:"list_notes"`
	Came      []string     `json:"came"`   // what the session came to, a sentence each
	Open      []undecided  `json:"open"`   // what is undecided, and why
	Help      []string     `json:"help"`   // what would decide it
	Before    []onShelf    `json:"before"` // takes of other days
}

// rosterName is an athlete of the roster.
type rosterName struct {
	Name string `json:"name"`
	Kept bool   `json:"kept"` // a reading of today's takes is kept
}

// undecided is an athlete whose picture does not decide, and why.
type undecided struct {
	Who string `json:"who"`
	Why string `json:"why"`
}

// The states of a row.
const (
	stateKept     = "kept"     // a reading of it is in the journal
	stateRead     = "read"     // its marks give a reading
	stateBeing    = "being"    // it is being read
	stateMarked   = "marked"   // its marks give no reading
	stateNew      = "new"      // nothing is marked
	stateProposed = "proposed" // its marks are proposals that nobody confirmed
	stateAbsent   = "absent"   // the list names a take that was not dropped
)

// todayRow is one take of today.
type todayRow struct {
	ID      string   `json:"id"`   // "" of a take that was not dropped
	Name    string   `json:"name"` // of the file
	State   string   `json:"state"`
	Athlete string   `json:"athlete"`
	Moment  string   `json:"moment"`
	Band    string   `json:"band"`
	Chances string   `json:"chances"`
	Value   string   `json:"value"`
	Plus    string   `json:"plus"`
	Axis    int      `json:"axis"` // which of the axes its ruler has, -1 for none
	Ruler   string   `json:"ruler"`
	Says    string   `json:"says"`    // how far it is
	Missing []string `json:"missing"` // what is missing for a reading to be kept
	Differs string   `json:"differs"` // what is read, if it is not what is set for all
	Without string   `json:"without"` // passes of the clip without a reading, and why

	measure, skill string
	read           *reading.Reading
}

// today lists the takes that were dropped on this day, as they came.
func (s *Server) today() ([]folder.About, error) {
	list, _, err := s.takes()
	return list, err
}

// takes lists the takes that were dropped on this day, as they came, and those of other days, the last opened first.
func (s *Server) takes() (today, before []folder.About, err error) {
	list, err := s.store.List()
	now := s.config.Now()
	for _, a := range list {
		if a.WhenCame().In(now.Location()).Format(time.DateOnly) == now.Format(time.DateOnly) {
			today = append(today, a)
		} else {
			before = append(before, a)
		}
	}
	slices.SortStableFunc(today, func(a, b folder.About) int {
		return cmp.Or(a.WhenCame().Compare(b.WhenCame()), cmp.Compare(a.Number(), b.Number()))
	})
	return today, before, err
}

// showToday sends the session of this day.
func (s *Server) showToday(w http.ResponseWriter, r *http.Request) {
	t, err := s.makeToday(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, t)
}

func (s *Server) makeToday(ctx context.Context) (*todayView, error) {
	list, before, err := s.takes()
	if err != nil {
		return nil, err
	}
	n, err := s.notebook.read()
	if err != nil {
		return nil, err
	}
	now := s.config.Now()
	t := &todayView{Day: now.Weekday().String() + " " + desk.DateWords(now), MostBytes: s.config.MostBytes, All: n.All, AllSays: s.forAllWords(&n.All),
		NoPose: desk.CanPropose() != nil, Names: []rosterName{}, Rows: []todayRow{}, ListNotes: []string{}, Came: []string{}, Open: []undecided{}, Help: []string{}}
	kept, err := s.record.KeptWhole(ctx, folder.SumsOf(list))
	if err != nil { // the list of athletes reports it
		kept = nil
	}
	of := map[string][]*record.KeptOne{}
	done := map[string]bool{}
	for i := range kept {
		k := &kept[i]
		for _, a := range list {
			if a.Sum() == k.Reading.Take.SHA256 && a.Has(k.Reading.Take.Frame) {
				of[a.ID] = append(of[a.ID], k)
			}
		}
		done[record.NameKey(k.Athlete)] = true
	}
	nKept, figure := 0, s.rowReads.figures(ctx)
	for _, a := range list {
		if len(of[a.ID]) > 0 {
			nKept++
		}
		t.Rows = append(t.Rows, s.rowOf(a, n, of[a.ID], figure))
	}
	given, err := s.listOf(n)
	if err != nil {
		return nil, err
	}
	t.Rows = append(t.Rows, given.absent(list)...)
	t.rulers()
	if given != nil {
		t.List, t.ListNotes = given.Name, append(t.ListNotes, given.Notes...)
	}
	t.Counts = desk.Count(len(list), "take")
	if len(list) > 0 {
		t.Counts += fmt.Sprintf(", %d kept", nKept)
	}
	if names, err := s.names(ctx, n, list, ""); err == nil {
		slices.SortFunc(names, func(a, b string) int { return strings.Compare(record.NameKey(a), record.NameKey(b)) })
		for _, name := range names {
			t.Names = append(t.Names, rosterName{name, done[record.NameKey(name)]})
		}
	}
	t.sumUp(kept)
	t.Before = s.onShelf(ctx, before)
	return t, nil
}

// forAllWords returns what is set for all takes in a line.
func (s *Server) forAllWords(a *ForAll) string {
	var words []string
	add := func(w string) {
		if w != "" {
			words = append(words, w)
		}
	}
	add(s.whatWords(a.Skill, a.Measure))
	add(map[string]string{"by-eye": "camera set square by eye", "squared": "camera squared, measured along the floor"}[a.Camera])
	if a.DistanceM > 0 {
		add(fmt.Sprintf("%g m away", a.DistanceM))
	}
	if a.Lens != "" {
		for _, l := range s.lenses.list() {
			if l.ID == a.Lens {
				add("lens " + l.Name)
			}
		}
	}
	add(a.Setup)
	add(map[string]string{"cold": "cold", "warm": "warm", "after": "at the end of a session"}[a.State])
	add(map[string]string{"in-skill": "in the skill", "active": "by own strength, held", "passive": "by a helper or gravity", "swung": "swung, not held"}[a.Condition])
	add(movement.VariantWords(a.Measure, a.Variant))
	add(map[reading.HowFound]string{"seen": "landmarks seen in the picture", "felt": "landmarks felt", "sticker": "landmarks felt, with stickers"}[a.Found])
	if a.Rater != "" {
		add("marked by " + a.Rater)
	}
	if a.Day != "" {
		add("made on " + dayWords(a.Day))
	}
	return strings.Join(words, " · ")
}

// whatWords returns a skill or a measure in words, "" for neither.
func (s *Server) whatWords(skill, measure string) string {
	if skill == "" {
		if measure == "" {
			return ""
		}
		return titleOf(measure)
	}
	if lib, err := s.config.Desk.Library(); err == nil {
		for _, k := range skillChoices(lib) {
			if k.Ref == skill {
				return k.Title + ", " + k.Book
			}
		}
	}
	return skill
}

// rowOf returns the row of a take, from its last kept reading, else from its marks. figure is what rowReads.figures returns.
func (s *Server) rowOf(a folder.About, n *notes, kept []*record.KeptOne, figure func(rater string) string) todayRow {
	said := n.ofTake(a.ID)
	row := todayRow{ID: a.ID, Name: a.Called(), State: stateNew, Athlete: said.Athlete, Axis: -1, Missing: []string{}, measure: n.All.Measure, skill: n.All.Skill}
	if len(a.Without) > 0 {
		row.Without = "not read: " + strings.Join(a.Without, "; ")
	}
	work, err := s.works.load(a.ID)
	if err != nil {
		_, words := say(err)
		row.Says, row.Missing = "its marks cannot be read", append(row.Missing, words.Error)
		return row
	}
	if work.Version > 0 {
		row.measure, row.skill = work.Measure, work.Skill
	}
	if len(kept) > 0 {
		last := kept[len(kept)-1]
		row.State, row.Says, row.Athlete = stateKept, "kept", last.Athlete
		if len(kept) > 1 {
			row.Says = "kept, " + desk.Count(len(kept), "reading")
		}
		row.show(last.Reading)
		return row
	}
	if work.Version > 0 && (work.Skill != n.All.Skill || work.Measure != n.All.Measure) {
		row.Differs = s.whatWords(work.Skill, work.Measure)
	}
	if row.Athlete == "" {
		row.Missing = append(row.Missing, "who it is")
	}
	if a.Says != nil && a.Says.Day == "" && dayGiven(n, a.ID) == "" {
		row.Missing = append(row.Missing, "the day")
	}
	if row.measure == "" {
		row.Missing = append(row.Missing, "what is read")
		return row
	}
	s.proposals.want(a.ID, false)
	if !work.byHand(work.Frame) && !s.isFollowed(a.ID, work.Frame) {
		if p := work.Frames[work.Frame]; p != nil && p.Seeds {
			row.State, row.Says, row.Missing = stateMarked, "its stickers are marked", append(row.Missing, "follow the stickers")
			return row
		}
		if s.follows.jobs.on(a.ID) {
			row.State, row.Says = stateBeing, "its stickers are being followed"
			return row
		}
		row.Missing = append(row.Missing, "marks: "+needed(row.measure, work.Leg))
		row.proposing(s.proposals.state(a.ID))
		return row
	}
	got := s.rowReads.get(a.ID, work, figure(work.Rater))
	switch {
	case got == nil:
		row.State, row.Says = stateBeing, "being read"
	case got.err != nil:
		_, words := say(got.err)
		row.State, row.Missing = stateMarked, append(row.Missing, words.Error)
	default:
		row.State, row.Says = stateRead, "read, not kept"
		row.show(got.read)
		if got.read.Proposed {
			row.State, row.Says, row.skill = stateProposed, reading.ProposedWords, work.Skill
			row.Missing = append(row.Missing, "a look at the marks")
		}
	}
	return row
}

// proposing shows the state of the proposals in the row of a take without marks.
func (row *todayRow) proposing(p proposal) {
	switch p.state {
	case proposeWaiting, proposeGoing:
		row.State, row.Says = stateBeing, "the picture is being looked at"
	case proposeWho:
		row.Says = p.said.Error + ": open it and click on the athlete"
	case proposeFailed:
		row.Says = p.said.Error
	}
}

// show puts a reading into the row.
func (row *todayRow) show(r *reading.Reading) {
	row.Value, row.Plus = valueAndPlus(r)
	row.Band, row.Chances = minus(dashed(r.Brief())), r.BriefChances()
	row.Moment = fmt.Sprintf("%.3f s", r.Take.TimeS)
	row.read, row.measure, row.skill = r, r.Measure, ""
	if r.Skill != nil {
		row.skill = r.Skill.Rulebook + "/" + r.Skill.Name
	}
}

// needed returns the landmarks that a measure needs, in words.
func needed(measure, leg string) string {
	m, ok := geometry.Lookup(measure)
	if !ok {
		return measure
	}
	words := strings.Join(m.Needs, ", ")
	if leg == "thigh" {
		words = strings.ReplaceAll(words, "ankle", "knee")
	}
	return strings.ReplaceAll(words, "-", " ")
}

// isFollowed reports whether stickers that were followed give the marks of a frame.
func (s *Server) isFollowed(id string, frame int) bool {
	t, err := s.followed(id, frame)
	return err == nil && t != nil
}

// sumUp sums the session up from the kept readings.
func (t *todayView) sumUp(kept []record.KeptOne) {
	if len(kept) == 0 {
		return
	}
	r := record.KeptStandings(kept)
	t.Came = append(t.Came, record.Standings(r)...)
	open, help := record.OpenOf(r)
	for _, u := range open {
		t.Open = append(t.Open, undecided{u.Who, minus(u.Why)})
	}
	t.Help = all(help, minus)
}

// notesOf returns the notes on a take. If they have no name, it is the one under which the last
// reading of the take was kept.
func (s *Server) notesOf(ctx context.Context, id string) (OfTake, error) {
	n, err := s.notebook.read()
	if err != nil {
		return OfTake{}, err
	}
	said := n.ofTake(id)
	said.Day = dayGiven(n, id)
	if said.Athlete == "" {
		if a, err := s.store.About(id); err == nil {
			if kept, err := s.keptOf(ctx, []folder.About{a}); err == nil && len(kept[id]) > 0 {
				said.Athlete = kept[id][len(kept[id])-1].Athlete
			}
		}
	}
	return said, nil
}
