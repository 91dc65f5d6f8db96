package page

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"syscall"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
)

// upload receives a take: it goes to disk as it comes, is named by its SHA-256, and
// is refused if it is no take.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) {
	name := folder.Shown(r.URL.Query().Get("name"))
	most := s.config.MostBytes
	tooLarge := refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("%q is too large: a take may have up to %s", name, size(most)),
		"cut the part with the movement out of it on the phone, and drop that")
	if r.ContentLength > most {
		w.Header().Set("Connection", "close") // the rest is not read
		s.fail(w, r, tooLarge)
		return
	}
	defer s.looks.pause()() // the first pictures of an upload come before the small ones
	body := &patient{http.MaxBytesReader(w, r.Body, most), http.NewResponseController(w), s.silence}
	a, same, err := s.takeIn(r.Context(), body, name)
	s.taken(w, r, a, same, s.brokenOff(err, name, tooLarge))
}

// brokenOff words the errors of a file that came too slowly or was too large.
func (s *Server) brokenOff(err error, name string, tooLarge error) error {
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return tooLarge
	case errors.Is(err, os.ErrDeadlineExceeded):
		return refuse(http.StatusRequestTimeout, fmt.Sprintf("nothing more came of %q for %.0f s", name, s.silence.Seconds()), "drop it again")
	}
	return err
}

// demo takes the built-in take as if it had been dropped.
func (s *Server) demo(w http.ResponseWriter, r *http.Request) {
	name, clip := s.config.Demo()
	a, same, err := s.takeIn(r.Context(), bytes.NewReader(clip), name)
	s.taken(w, r, a, same, err)
}

// taken answers after a take was received, or refused.
func (s *Server) taken(w http.ResponseWriter, r *http.Request, a folder.About, same string, err error) {
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if err := s.match(r.Context()); err != nil { // the list says what is wrong with it
		s.log("the list of today: %v", err)
	}
	s.looks.later(a.ID)
	s.hub.tell("", event{Kind: "shelf"})
	answer(w, http.StatusCreated, map[string]string{"id": a.ID, "same": same})
}

// silence is how long an upload may pause: a phone's disk that wakes up, or a browser
// that swaps, takes seconds.
const silence = time.Minute

// patient reads a body as long as something comes.
type patient struct {
	from io.Reader
	line *http.ResponseController
	most time.Duration // from one byte to the next
}

func (p *patient) Read(b []byte) (int, error) {
	if err := p.line.SetReadDeadline(time.Now().Add(p.most)); err != nil {
		return 0, err
	}
	n, err := p.from.Read(b)
	if err == io.EOF { // the work on the body has no deadline
		p.line.SetReadDeadline(time.Time{})
	}
	return n, err
}

// takeIn streams body into the data folder, checks that it is a take, and adds it. same
// is another name under which the same bytes came before, "" for none.
func (s *Server) takeIn(ctx context.Context, body io.Reader, name string) (a folder.About, same string, err error) {
	temp := s.store.Path(folder.IncomingDir, folder.Secret())
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return a, same, err
	}
	defer func() {
		f.Close()
		if err != nil {
			os.Remove(temp)
		}
		if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
			err = refuse(http.StatusInsufficientStorage, fmt.Sprintf("the disk is full: %q was not taken in", name),
				"make room on the disk that holds the data folder, then drop it again")
		}
	}()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(f, sum), body)
	if err != nil {
		return a, same, err
	}
	if n == 0 {
		return a, same, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q is empty", name), "copy it from the camera again")
	}
	if err := f.Sync(); err != nil {
		return a, same, err
	}
	now := s.config.Now()
	a = folder.About{ID: hex.EncodeToString(sum.Sum(nil)), Name: name, Size: n, Opened: now, Came: now}
	if before, err := s.store.About(a.ID); err == nil {
		a.Says = before.Says
		if before.Name != name {
			same = before.Name
		}
	}
	if !s.store.There(folder.TakesDir, a.ID) {
		info, err := s.pool.check(ctx, temp, name)
		if err != nil {
			return a, same, err
		}
		a.Says = &folder.Says{Day: desk.DayOf(info)}
	}
	return a, same, s.store.Admit(a, temp)
}

// size words a number of bytes.
func size(n int64) string {
	switch {
	case n >= 1<<30 && n%(1<<30) == 0:
		return fmt.Sprintf("%d GB", n>>30)
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GB", float64(n)/(1<<30))
	}
	return fmt.Sprintf("%.3g MB", float64(n)/(1<<20))
}
