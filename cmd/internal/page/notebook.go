package page

import (
	"encoding/json"
	"errors"
	"io/fs"
	"maps"
	"net/http"
	"slices"
	"sync"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
)

// ForAll is what was said for all takes of a session, once, until it is changed; "" and 0 are
// not said.
type ForAll struct {
	Skill     string           `json:"skill"` // BOOK/NAME, "" where only a measure was chosen
	Measure   string           `json:"measure"`
	Camera    string           `json:"camera"`
	Found     reading.HowFound `json:"found"`
	Rater     string           `json:"rater"`
	DistanceM float64          `json:"distance_m"`
	FocalMm   float64          `json:"focal_mm"`
	Lens      string           `json:"lens"` // its id on the page

	State     string `json:"state"`     // cold, warm or after
	Condition string `json:"condition"` // passive, active, in-skill or swung
	Variant   string `json:"variant"`   // the position, "" the usual one
	Setup     string `json:"setup"`
	Day       string `json:"day"` // 2006-01-02; "": the one that each take says
}

// OfTake is what was said of one take, for what will be kept of it.
type OfTake struct {
	Athlete   string `json:"athlete"` // until a reading is kept: then the journal has it
	Day       string `json:"day"`     // "": that of ForAll, or of the take
	Note      string `json:"note"`
	Session   string `json:"session,omitempty"` // from a list
	State     string `json:"state"`
	Condition string `json:"condition"`
	Variant   string `json:"variant"`
	Setup     string `json:"setup"`
	Begun     bool   `json:"begun"`          // State, Condition, Variant and Setup are its own; until then those of ForAll hold
	Line      int    `json:"line,omitempty"` // of the list
}

// notes is what the notebook has on its page.
type notes struct {
	All   ForAll             `json:"all"`
	Takes map[string]*OfTake `json:"takes"` // by the takes' ids
	List  *sessionList       `json:"list"`  // that was dropped, nil for none
	Marks map[string]string  `json:"marks"` // marks files that were dropped for it, by name

	Lenses map[string]string `json:"lenses,omitempty"` // the page's ids of lens files that were dropped for it, by name
}

// of is what was said of a take, a copy, with what was said for all.
func (n *notes) of(id string) OfTake {
	var o OfTake
	if t := n.Takes[id]; t != nil {
		o = *t
	}
	if !o.Begun {
		o.State, o.Condition, o.Variant, o.Setup = n.All.State, n.All.Condition, n.All.Variant, n.All.Setup
	}
	return o
}

// on is what was said of a take, to be changed.
func (n *notes) on(id string) *OfTake {
	if n.Takes[id] == nil {
		n.Takes[id] = &OfTake{}
	}
	return n.Takes[id]
}

// begin makes what was said for all the take's own.
func (n *notes) begin(id string) {
	o := n.of(id)
	o.Begun = true
	n.Takes[id] = &o
}

// apply puts what is said for all into the work on a take.
func (a *ForAll) apply(k *Work) {
	k.Skill, k.Measure, k.Camera, k.Found, k.Rater, k.DistanceM, k.FocalMm, k.Lens = a.Skill, a.Measure, a.Camera, a.Found, a.Rater, a.DistanceM, a.FocalMm, a.Lens
}

// carry takes over what changed from one state of the work on a take to the next, and says
// whether anything did.
func (a *ForAll) carry(before, after *Work) bool {
	was := *a
	if before.Skill != after.Skill || before.Measure != after.Measure {
		a.Skill, a.Measure = after.Skill, after.Measure
	}
	follow(&a.Camera, before.Camera, after.Camera)
	follow(&a.Found, before.Found, after.Found)
	follow(&a.Rater, before.Rater, after.Rater)
	follow(&a.DistanceM, before.DistanceM, after.DistanceM)
	follow(&a.FocalMm, before.FocalMm, after.FocalMm)
	follow(&a.Lens, before.Lens, after.Lens)
	return *a != was
}

// follow makes v what it became, where it changed.
func follow[T comparable](v *T, before, after T) {
	if before != after {
		*v = after
	}
}

// spread puts a change of what is said for all into the work on a take: what is said otherwise
// there stays. It says whether anything changed.
func (a *ForAll) spread(before *ForAll, k *Work) bool {
	changed := false
	if k.Skill == before.Skill && k.Measure == before.Measure && (a.Skill != before.Skill || a.Measure != before.Measure) {
		k.Skill, k.Measure, changed = a.Skill, a.Measure, true
	}
	changed = spreadOne(&k.Camera, before.Camera, a.Camera) || changed
	changed = spreadOne(&k.Found, before.Found, a.Found) || changed
	changed = spreadOne(&k.Rater, before.Rater, a.Rater) || changed
	changed = spreadOne(&k.DistanceM, before.DistanceM, a.DistanceM) || changed
	changed = spreadOne(&k.FocalMm, before.FocalMm, a.FocalMm) || changed
	return spreadOne(&k.Lens, before.Lens, a.Lens) || changed
}

func spreadOne[T comparable](v *T, before, after T) bool {
	if *v != before || before == after {
		return false
	}
	*v = after
	return true
}

// check refuses what no page of ours sends.
func (a *ForAll) check(d *desk.Desk) error {
	k := Work{Frames: map[int]*Placed{}}
	a.apply(&k)
	if err := k.check(); err != nil {
		return err
	}
	if len([]rune(a.Setup)) > mostName {
		return refuse(http.StatusUnprocessableEntity, "the name of the set-up is too long", "a name has up to 80 letters")
	}
	// nobody is filed here: the name is a placeholder
	return onPage(d.CheckFiling(desk.Filing{Athlete: "any", State: a.State, Condition: a.Condition, Variant: a.Variant, Setup: a.Setup, Rater: a.Rater, Day: a.Day}, false))
}

// notebook keeps the notes on disk.
type notebook struct {
	store *folder.Folder
	mu    sync.Mutex
	at    *notes // as stored, nil until it is read; never changed in place
}

func newNotebook(s *folder.Folder) *notebook { return &notebook{store: s} }

// tidy takes out what was said of takes that were taken off the machine, also of those whose
// removal was cut off.
func (b *notebook) tidy() error {
	n, err := b.read()
	if err != nil {
		return nil // it is said where it is asked for
	}
	for id := range n.Takes {
		if _, err := b.store.About(id); err == folder.ErrNoTake {
			return b.change(func(*notes) error { return nil })
		}
	}
	return nil
}

// read is what was said. It is not to be changed.
func (b *notebook) read() (*notes, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.load()
}

func (b *notebook) load() (*notes, error) {
	if b.at != nil {
		return b.at, nil
	}
	n := &notes{}
	data, err := folder.ReadSmall(b.store.Path(folder.NotesFile), folder.MostNotes)
	if err == nil {
		err = json.Unmarshal(data, n)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, refuse(http.StatusInternalServerError, "what was said of today's takes cannot be read: its file is damaged",
			folder.NotesFile+" in the data folder holds what is left of it; move it away to begin anew")
	}
	if n.Takes == nil {
		n.Takes = map[string]*OfTake{}
	}
	if n.Marks == nil {
		n.Marks = map[string]string{}
	}
	if n.Lenses == nil {
		n.Lenses = map[string]string{}
	}
	b.at = n
	return n, nil
}

// change stores what fn makes of the notes, unless it returns an error.
func (b *notebook) change(fn func(n *notes) error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	old, err := b.load()
	if err != nil {
		return err
	}
	next := *old
	next.Takes = map[string]*OfTake{}
	for id, o := range old.Takes {
		if _, err := b.store.About(id); err == folder.ErrNoTake { // taken off the machine
			continue
		}
		mine := *o
		next.Takes[id] = &mine
	}
	next.Marks = maps.Clone(old.Marks)
	if old.List != nil {
		l := *old.List
		l.Done = slices.Clone(l.Done)
		next.List = &l
	}
	if err := fn(&next); err != nil {
		return err
	}
	data, err := json.Marshal(next)
	if err != nil {
		return err
	}
	if len(data) > folder.MostNotes {
		return refuse(http.StatusRequestEntityTooLarge, "that is more than is taken here", "send less")
	}
	if err := b.store.WriteWhole(b.store.Path(folder.NotesFile), data); err != nil {
		return err
	}
	b.at = &next
	return nil
}
