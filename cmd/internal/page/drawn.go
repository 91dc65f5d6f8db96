package page

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"

	"ecart/cmd/internal/desk"
	faults "ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
)

// drawn makes the annotated clips, one at a time for a take. A clip stays until
// the next one of its take, or until the page starts again.
type drawn struct {
	s    *Server
	jobs *jobs
}

func newDrawn(s *Server) *drawn {
	return &drawn{s, newJobs(s, "drawing", "drawn",
		said{"this clip is being drawn already", "wait for it, or stop it"},
		said{"stopped before the clip was drawn", "nothing was saved"})}
}

// path returns the file of a take's clip. The one with the head covered and the one without
// are two files, and neither is ever served for the other.
func (d *drawn) path(id string, covered bool) string {
	if covered {
		return d.s.store.Path(folder.ClipsDir, id+".covered.mp4")
	}
	return d.s.store.Path(folder.ClipsDir, id+".mp4")
}

// begin draws in the background.
func (d *drawn) begin(id string, q reading.Request, track *reading.Track, covered bool) error {
	return d.jobs.begin(id, func(ctx context.Context, tell func(event)) error {
		return d.draw(ctx, id, q, track, covered, tell)
	})
}

func (d *drawn) draw(ctx context.Context, id string, q reading.Request, track *reading.Track, covered bool, tell func(event)) error {
	d.s.proposals.giveWay()
	t, done, err := d.s.lend(ctx, id)
	if err != nil {
		return err
	}
	defer done()
	temp := d.s.store.Path(folder.IncomingDir, folder.Secret()+".mp4")
	defer os.Remove(temp)
	err = writeClip(ctx, temp, t, q, track, covered, func(n, of, _ int) { tell(event{Done: n, Of: of}) })
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return onPage(err)
	}
	return os.Rename(temp, d.path(id, covered))
}

// writeClip writes the annotated clip into a new file at path; covered hides the head in every
// frame.
func writeClip(ctx context.Context, path string, t Take, q reading.Request, track *reading.Track, covered bool, progress func(done, of, found int)) error {
	clip, err := clipOf(t)
	if err != nil {
		return err
	}
	covers := func(int) []figure.Cover { return nil }
	if covered {
		c := desk.Cover{Faceless: true}
		if covers, _, err = c.Moving(track, q.Measure.Name); err != nil {
			return faults.New(err.Error(), "put a sticker on the shoulder too and follow it, or leave the head uncovered and give the clip to nobody")
		}
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return output.CannotWrite(path, err)
	}
	return errors.Join(desk.Annotate(ctx, f, clip.Info().Name, clip, q, track, covers, progress), f.Close())
}

// draw begins to draw what was followed, for the measure and the setup of the work.
func (s *Server) draw(w http.ResponseWriter, r *http.Request) {
	q, err := s.asked(w, r)
	var track *reading.Track
	if err == nil {
		track, err = s.follows.track(q.Request.Take.SHA256)
	}
	switch {
	case err != nil:
	case track == nil:
		err = refuse(http.StatusUnprocessableEntity, "nothing was followed through this clip", "follow the stickers first")
	default:
		err = s.drawn.begin(q.Request.Take.SHA256, q.Request, copied(track), r.URL.Query().Has("covered"))
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
	if _, err := s.store.About(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.drawn.jobs.stop(id)
	w.WriteHeader(http.StatusNoContent)
}

// clipFile sends the clip that was drawn last, with the head covered if the query asks for
// that. A covered one is not named after its take.
func (s *Server) clipFile(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	covered := r.URL.Query().Has("covered")
	name, err := s.name(id)
	var f *os.File
	if err == nil {
		f, err = os.Open(s.drawn.path(id, covered))
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
	if covered {
		name = fmt.Sprintf("clip-%s.mp4", id[:8])
	}
	attach(w, "video/mp4", name)
	http.ServeContent(w, r, "", info.ModTime(), f)
}
