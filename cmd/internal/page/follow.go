package page

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// follows makes and keeps the tracks of the takes, each in a file as reading.Track writes it.
type follows struct {
	s    *Server
	jobs *jobs
	mu   sync.Mutex
	at   map[string]*reading.Track // nil where there is none; never changed in place
}

func newFollows(s *Server) *follows {
	return &follows{s: s, at: map[string]*reading.Track{}, jobs: newJobs(s, "following", "followed",
		said{"this clip is being followed already", "wait for it, or stop it"},
		said{"stopped before it was done", "what was followed before is as it was"})}
}

func (f *follows) path(id string) string { return f.s.store.Path(folder.TracksDir, id+".csv") }

// track returns the track of a take, nil if there is none.
func (f *follows) track(id string) (*reading.Track, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if t, ok := f.at[id]; ok || !folder.IsID(id) {
		return t, nil
	}
	data, err := folder.ReadSmall(f.path(id), mostTrack)
	if errors.Is(err, fs.ErrNotExist) {
		f.at[id] = nil
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	t, err := reading.ParseTrack("what was followed", data)
	if err != nil {
		return nil, err
	}
	f.at[id] = t
	return t, nil
}

// mostTrack is more bytes than the track of the longest clip has: 300 for each of a million
// frames.
const mostTrack = 300 << 20

// begin follows in the background.
func (f *follows) begin(id string, seeds []desk.Seed, facing string) error {
	return f.jobs.begin(id, func(ctx context.Context, tell func(event)) error { return f.follow(ctx, id, seeds, facing, tell) })
}

func (f *follows) follow(ctx context.Context, id string, seeds []desk.Seed, facing string, tell func(event)) error {
	f.s.proposals.giveWay()
	t, done, err := f.s.lend(ctx, id)
	if err != nil {
		return err
	}
	defer done()
	clip, err := clipOf(t)
	if err != nil {
		return err
	}
	track, err := desk.Follow(ctx, clip, seeds, facing, func(n, of, found int) {
		tell(event{Done: n, Of: of, Found: found, Wanted: len(seeds)})
	}, nil)
	if err != nil && !desk.CutOff(err, track) && !desk.LostBeforeEnd(err, track) {
		track = nil
	}
	if err != nil {
		a, _ := f.s.store.About(id)
		err = named(err, f.s.store.TakePath(id), a.Name)
	}
	if track == nil || ctx.Err() != nil {
		return err
	}
	data, failed := track.CSV()
	if failed != nil {
		return failed
	}
	if err := f.s.store.WriteWhole(f.path(id), data); err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.at[id] = track
	if words := desk.LeftOut(seeds, track); err == nil && words != "" {
		return refuse(http.StatusOK, words, "the rest was followed; if there is a sticker, point at it in a frame in which it is sharp and whole")
	}
	return err
}

// forget removes the track of a take.
func (f *follows) forget(id string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.at, id)
	if err := os.Remove(f.path(id)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// follow begins to follow the stickers that are marked on the frame.
func (s *Server) follow(w http.ResponseWriter, r *http.Request) {
	var work Work
	id := r.PathValue("id")
	_, err := s.store.About(id)
	if err == nil {
		err = s.receive(w, r, mostWork, &work)
	}
	if err == nil {
		err = work.check()
	}
	var seeds []*reading.Marks
	if err == nil {
		seeds = work.seedFrames()
	}
	if err == nil && len(seeds[0].Marks) == 0 {
		err = refuse(http.StatusUnprocessableEntity, fmt.Sprintf("no sticker is marked on frame %d", work.Frame), "mark each sticker once, then follow them")
	}
	var from []desk.Seed
	if err == nil {
		from, err = s.seedsFor(r.Context(), id, &work, seeds)
	}
	if err == nil {
		err = s.follows.begin(id, from, work.Facing)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusAccepted, map[string]int{"seeds": len(from)})
}

// seedFrames returns the marks of this frame, and those of other frames that are seeds of stickers.
func (k *Work) seedFrames() []*reading.Marks {
	out := []*reading.Marks{k.marks(k.Frame)}
	for _, n := range slices.Sorted(maps.Keys(k.Frames)) {
		if k.Frames[n].Seeds && n != k.Frame {
			out = append(out, k.marks(n))
		}
	}
	return out
}

// seedsFor returns the seeds for what is read. It refuses seeds that lack a mark which the angle needs: following them would give no
// angle in any frame.
func (s *Server) seedsFor(ctx context.Context, id string, work *Work, seeds []*reading.Marks) ([]desk.Seed, error) {
	if work.Skill == "" && work.Measure == "" {
		return desk.Seeds(seeds...), nil
	}
	q, err := s.request(ctx, id, work, work.Frame)
	if err != nil {
		return nil, err
	}
	for _, m := range seeds[1:] {
		q.Request.Marks.Marks = append(q.Request.Marks.Marks, m.Marks...)
	}
	_, err = reading.Quick(q.Request)
	if missing := new(geometry.MissingError); errors.As(err, &missing) {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("no sticker is marked on the %s, and the %s needs it", strings.ReplaceAll(missing.Landmark, "-", " "), q.Request.Measure.Title),
			"mark it too, then follow them")
	}
	return q.SeedsFor(seeds...), nil
}

// unfollow stops the following of stickers, or removes the track.
func (s *Server) unfollow(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	_, err := s.store.About(id)
	if err == nil && !s.follows.jobs.stop(id) {
		err = s.follows.forget(id)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}
