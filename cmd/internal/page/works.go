package page

import (
	"encoding/json"
	"errors"
	"io/fs"
	"net/http"
	"sync"

	"ecart/cmd/internal/page/folder"
)

// works keeps the Work of each take on disk.
type works struct {
	store *folder.Folder
	mu    sync.Mutex
	at    map[string]*Work // as stored; never changed in place
}

func newWorks(s *folder.Folder) *works { return &works{store: s, at: map[string]*Work{}} }

// load returns the Work on a take, an empty one if nothing was done yet.
func (k *works) load(id string) (*Work, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.loadLocked(id)
}

func (k *works) loadLocked(id string) (*Work, error) {
	if !folder.IsID(id) {
		return nil, folder.ErrNoTake
	}
	if w := k.at[id]; w != nil {
		return w, nil
	}
	data, err := folder.ReadSmall(k.store.Path(folder.MarksDir, id+".json"), 2*mostWork)
	w := &Work{Frames: map[int]*Placed{}}
	if errors.Is(err, fs.ErrNotExist) {
		return w, nil
	}
	if err == nil {
		err = json.Unmarshal(data, w)
	}
	if err == nil {
		err = w.check()
	}
	if err != nil {
		return nil, refuse(http.StatusInternalServerError, "the marks of this take cannot be read: their file is damaged",
			"marks/"+id+".json in the data folder holds what is left of them; move it away to begin anew")
	}
	k.at[id] = w
	return w, nil
}

// save stores w if its version is that of what is stored, as the next version.
// Else it stores nothing and returns what is stored: another window was faster.
func (k *works) save(id string, w *Work) (now *Work, saved bool, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	// A take whose file is gone keeps its marks all the same; one that was taken off the
	// machine has none any more.
	if _, missing := k.store.About(id); missing == folder.ErrNoTake {
		return nil, false, missing
	}
	old, err := k.loadLocked(id)
	if err != nil {
		return nil, false, err
	}
	if w.Version != old.Version {
		return old, false, nil
	}
	next := *w
	next.Version++
	data, err := json.Marshal(next)
	if err != nil {
		return nil, false, err
	}
	if err := k.store.WriteWhole(k.store.Path(folder.MarksDir, id+".json"), data); err != nil {
		return nil, false, err
	}
	k.at[id] = &next
	return &next, true, nil
}

// change stores what fn makes of the work on a take, if there is any and fn says that it changed
// it, and tells the windows that have the take open.
func (k *works) change(id string, fn func(*Work) bool, h *hub) error {
	for {
		old, err := k.load(id)
		if err != nil || old.Version == 0 {
			return err
		}
		mine := *old
		if !fn(&mine) {
			return nil
		}
		now, saved, err := k.save(id, &mine)
		if err != nil {
			return err
		}
		if saved {
			h.tell(id, event{Kind: "work", Version: now.Version})
			return nil
		}
	}
}

func (k *works) forget(id string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.at, id)
}

// work sends what was done on a take.
func (s *Server) work(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	_, err := s.store.About(id)
	var work *Work
	if err == nil {
		work, err = s.works.load(id)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, work)
}

// saveWork stores what was done. If another window has stored something since, it
// answers 409 with that work.
func (s *Server) saveWork(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	var in Work
	err := s.receive(w, r, mostWork, &in)
	if err == nil {
		err = in.check()
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	before, err := s.works.load(id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	now, saved, err := s.works.save(id, &in)
	if err == nil && saved {
		err = s.carry(before, &in)
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case !saved:
		answer(w, http.StatusConflict, now)
	default:
		s.proposals.want(id, true)
		s.hub.tell(id, event{Kind: "work", Version: now.Version, From: r.URL.Query().Get("window")})
		answer(w, http.StatusOK, map[string]int{"version": now.Version})
	}
}

// carry puts what changed in the work on one take into what is set for all takes.
func (s *Server) carry(before, after *Work) error {
	n, err := s.notebook.read()
	if err != nil {
		return err
	}
	if all := n.All; !all.carry(before, after) {
		return nil
	}
	err = s.notebook.change(func(n *notes) error {
		n.All.carry(before, after)
		return nil
	})
	s.hub.tell("", event{Kind: "today"})
	return err
}
