package page

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"syscall"
)

// upload takes a file in: it goes to disk as it comes, is named by what is in it,
// and is refused if it is no take.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) {
	name := shown(r.URL.Query().Get("name"))
	most := s.config.MostBytes
	tooLarge := refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("%q is too large: a take may have up to %s", name, size(most)),
		"cut the part with the movement out of it on the phone, and drop that")
	if r.ContentLength > most {
		w.Header().Set("Connection", "close") // the rest is not read
		s.fail(w, r, tooLarge)
		return
	}
	id, n, err := s.takeIn(r.Context(), http.MaxBytesReader(w, r.Body, most), name)
	var over *http.MaxBytesError
	if errors.As(err, &over) {
		err = tooLarge
	}
	s.taken(w, r, about{id, name, n, s.config.Now()}, err)
}

// demo takes the built-in take in, as if it had been dropped.
func (s *Server) demo(w http.ResponseWriter, r *http.Request) {
	name, clip := s.config.Demo()
	id, n, err := s.takeIn(r.Context(), bytes.NewReader(clip), name)
	s.taken(w, r, about{id, name, n, s.config.Now()}, err)
}

// taken answers for a take that came in, or did not.
func (s *Server) taken(w http.ResponseWriter, r *http.Request, a about, err error) {
	if err == nil {
		err = s.store.setAbout(a)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.hub.tell("", event{Kind: "shelf"})
	answer(w, http.StatusCreated, map[string]string{"id": a.ID})
}

// takeIn streams body into the data folder and checks that it is a take.
func (s *Server) takeIn(ctx context.Context, body io.Reader, name string) (id string, n int64, err error) {
	temp := s.store.path(incomingDir, secret())
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", 0, err
	}
	defer func() {
		f.Close()
		if err != nil {
			os.Remove(temp)
		}
	}()
	sum := sha256.New()
	n, err = io.Copy(io.MultiWriter(f, sum), body)
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "", 0, refuse(http.StatusInsufficientStorage, fmt.Sprintf("the disk is full: %q was not taken in", name),
			"make room on the disk that holds the data folder, then drop it again")
	case err != nil:
		return "", 0, err
	case n == 0:
		return "", 0, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q is empty", name), "copy it from the camera again")
	}
	if err := f.Sync(); err != nil {
		return "", 0, err
	}
	id = hex.EncodeToString(sum.Sum(nil))
	if _, err := os.Stat(s.store.takePath(id)); errors.Is(err, fs.ErrNotExist) {
		t, err := s.config.Open(ctx, temp)
		if err != nil {
			return "", 0, named(err, temp, name)
		}
		t.Close()
		if err := os.Rename(temp, s.store.takePath(id)); err != nil {
			return "", 0, err
		}
		return id, n, nil
	}
	os.Remove(temp) // it is here already
	return id, n, nil
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
