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

// ForAll is what is set for all takes of a session, until it is changed; "" and 0 are not
// set.
type ForAll struct {
	Skill     string           `json:"skill"` // BOOK/NAME, "" if only a measure was chosen
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
	Day       string `json:"day"` // 2006-01-02; "" is the day in each take's file
}

// OfTake is the notes on one take, for the readings of it that will be kept.
type OfTake struct {
	Athlete   string `json:"athlete"` // until a reading is kept; then the journal has it
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

// notes is the content of the notebook.
type notes struct {
	All   ForAll             `json:"all"`
	Takes map[string]*OfTake `json:"takes"` // by the takes' ids
	List  *sessionList       `json:"list"`  // the list that was dropped, nil for none
	Marks map[string]string  `json:"marks"` // marks files that were dropped for it, by name

	Lenses map[string]string `json:"lenses,omitempty"` // the page's ids of lens files that were dropped for it, by name
}

// ofTake returns a copy of the notes on a take, filled in from what is set for all.
func (n *notes) ofTake(id string) OfTake {
	var o OfTake
	if t := n.Takes[id]; t != nil {
		o = *t
	}
	if !o.Begun {
		o.State, o.Condition, o.Variant, o.Setup = n.All.State, n.All.Condition, n.All.Variant, n.All.Setup
	}
	return o
}

// toChange returns the notes on a take, to be changed.
func (n *notes) toChange(id string) *OfTake {
	if n.Takes[id] == nil {
		n.Takes[id] = &OfTake{}
	}
	return n.Takes[id]
}

// begin gives a take what is set for all as its own.
func (n *notes) begin(id string) {
	o := n.ofTake(id)
	o.Begun = true
	n.Takes[id] = &o
}

// apply puts what is set for all into the work on a take.
func (a *ForAll) apply(k *Work) {
	k.Skill, k.Measure, k.Camera, k.Found, k.Rater, k.DistanceM, k.FocalMm, k.Lens = a.Skill, a.Measure, a.Camera, a.Found, a.Rater, a.DistanceM, a.FocalMm, a.Lens
}

// carry takes over what changed between two states of the work on a take, and reports
// whether anything did.
func (a *ForAll) carry(before, after *Work) bool {
	was := *a
	if before.Skill != after.Skill || before.Measure != after.Measure {
		a.Skill, a.Measure = after.Skill, after.Measure
	}
	carryOne(&a.Camera, before.Camera, after.Camera)
	carryOne(&a.Found, before.Found, after.Found)
	carryOne(&a.Rater, before.Rater, after.Rater)
	carryOne(&a.DistanceM, before.DistanceM, after.DistanceM)
	carryOne(&a.FocalMm, before.FocalMm, after.FocalMm)
	carryOne(&a.Lens, before.Lens, after.Lens)
	return *a != was
}

// carryOne sets v to after if after differs from before.
func carryOne[T comparable](v *T, before, after T) {
	if before != after {
		*v = after
	}
}

// spread puts a change from before to a into the work on a take. What the take has differently
// stays. It reports whether anything changed.
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

// spreadOne sets v to after if it is still before, and reports whether it changed.
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
	// CheckFiling needs a name; nothing is filed here
	return onPage(d.CheckFiling(desk.Filing{Athlete: "any", State: a.State, Condition: a.Condition, Variant: a.Variant, Setup: a.Setup, Rater: a.Rater, Day: a.Day}, false))
}

// notebook keeps the notes on disk.
type notebook struct {
	store *folder.Folder
	mu    sync.Mutex
	at    *notes // as stored, nil until it is read; never changed in place
}

func newNotebook(s *folder.Folder) *notebook { return &notebook{store: s} }

// tidy removes the notes on takes that are not on the machine any more, also after a removal
// that was cut off.
func (b *notebook) tidy() error {
	n, err := b.read()
	if err != nil {
		return nil // asking for the notes reports it
	}
	for id := range n.Takes {
		if _, err := b.store.About(id); err == folder.ErrNoTake {
			return b.change(func(*notes) error { return nil })
		}
	}
	return nil
}

// read returns the notes, which must not be changed.
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
