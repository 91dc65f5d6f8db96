package page

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"sync"
	"time"

	"ecart/cmd/internal/reading"
)

// Recorder draws what was followed into a clip that plays on a phone.
type Recorder interface {
	// Record writes the clip at path, as a whole or not at all. The request says
	// what is measured, and has level and corners; covered hides the head in every
	// frame. It tells how many frames are done.
	Record(ctx context.Context, path string, t Take, q reading.Request, track *reading.Track, covered bool, progress func(done, of int)) error
}

// drawn are the annotated clips. One is made for one take at a time, and stays
// until the next is made of it or the page is started anew.
type drawn struct {
	s     *Server
	mu    sync.Mutex
	going map[string]context.CancelFunc
}

func (d *drawn) path(id string) string { return d.s.store.path(clipsDir, id+".mp4") }

// begin draws in the background. Windows are told how far it is, and how it ended.
func (d *drawn) begin(id string, q reading.Request, track *reading.Track, covered bool) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.going[id] != nil {
		return refuse(http.StatusConflict, "this clip is being drawn already", "wait for it, or stop it")
	}
	ctx, stop := context.WithCancel(d.s.ctx)
	d.going[id] = stop
	d.s.background(func(context.Context) {
		defer stop()
		err := d.draw(ctx, id, q, track, covered)
		d.mu.Lock()
		delete(d.going, id)
		d.mu.Unlock()
		e := event{Kind: "drawn"}
		switch {
		case ctx.Err() != nil:
			e.Said = &said{"stopped before the clip was drawn", "nothing was saved"}
		case err != nil:
			status, words := say(err)
			if status == http.StatusInternalServerError {
				d.s.log("drawing %s: %v", id, err)
			}
			e.Said = &words
		}
		d.s.hub.tell(id, e)
	})
	return nil
}

func (d *drawn) draw(ctx context.Context, id string, q reading.Request, track *reading.Track, covered bool) error {
	t, done, err := d.s.pool.borrow(ctx, id)
	if err != nil {
		return err
	}
	defer done()
	defer d.s.looks.pause()()
	temp := d.s.store.path(incomingDir, secret()+".mp4")
	defer os.Remove(temp)
	var told time.Time
	err = d.s.config.Recorder.Record(ctx, temp, t, q, track, covered, func(n, of int) {
		if time.Since(told) > 100*time.Millisecond {
			told = time.Now()
			d.s.hub.tell(id, event{Kind: "drawing", Done: n, Of: of})
		}
	})
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return onPage(err)
	}
	return os.Rename(temp, d.path(id))
}

// stop ends the work on a take.
func (d *drawn) stop(id string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if stop := d.going[id]; stop != nil {
		stop()
	}
}

// draw begins to draw what was followed, for the measure and the setup of the work.
func (s *Server) draw(w http.ResponseWriter, r *http.Request) {
	q, _, err := s.asked(w, r)
	var track *reading.Track
	if err == nil {
		track, err = s.follows.track(q.Take.SHA256)
	}
	switch {
	case err != nil:
	case track == nil:
		err = refuse(http.StatusUnprocessableEntity, "nothing was followed through this clip", "follow the stickers first")
	case s.config.Recorder == nil:
		err = refuse(http.StatusNotImplemented, "clips are not drawn here", "save the picture of a frame")
	default:
		err = s.drawn.begin(q.Take.SHA256, q, copied(track), r.URL.Query().Has("covered"))
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusAccepted, map[string]int{"frames": len(track.Frames)})
}

// undraw stops drawing.
func (s *Server) undraw(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, err := s.store.about(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.drawn.stop(id)
	w.WriteHeader(http.StatusNoContent)
}

// clipFile sends the clip that was drawn last. A covered one is not named after
// its take.
func (s *Server) clipFile(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	name, err := s.name(id)
	var f *os.File
	if err == nil {
		f, err = os.Open(s.drawn.path(id))
		if errors.Is(err, fs.ErrNotExist) {
			err = refuse(http.StatusNotFound, "no clip was drawn", "draw it first")
		}
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	name = stem(name) + ".annotated.mp4"
	if r.URL.Query().Has("covered") {
		name = fmt.Sprintf("clip-%s.mp4", id[:8])
	}
	attach(w, "video/mp4", name)
	http.ServeContent(w, r, "", info.ModTime(), f)
}
