package page

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"os"
	"syscall"

	"ecart/cmd/internal/bidi"
	faults "ecart/cmd/internal/fault"
	"ecart/cmd/internal/page/folder"
)

// fault is a request that is refused: what is wrong, what to do, and the status.
type fault struct {
	status   int
	what, do string
}

func (f *fault) Error() string { return f.what }

// Hint says what to do next.
func (f *fault) Hint() string { return f.do }

// unfaced is a reading that the way the chest faces would decide.
type unfaced struct {
	fault
	faces []string // the ways it may face
}

func refuse(status int, what, do string) error { return &fault{status, what, do} }

// statusOf are the statuses for what is wrong with a take or the data folder.
var statusOf = map[folder.Kind]int{folder.NoTake: http.StatusNotFound, folder.TakeGone: http.StatusGone, folder.Leaving: http.StatusConflict,
	folder.Unreadable: http.StatusInternalServerError, folder.Unusable: http.StatusInternalServerError}

// unconfirmed is an angle, degrees, that is read once somebody says that it is right.
type unconfirmed struct {
	error
	deg float64
}

func (u *unconfirmed) Unwrap() error { return u.error }

// hinted is an error that says what to do next.
type hinted interface {
	error
	Hint() string
}

// said is an error as the page shows it. Nothing of an error that was not worded
// for people leaves the server.
type said struct {
	Error string `json:"error"`
	Hint  string `json:"hint"`
}

// say sorts an error: its status, and its words.
func say(err error) (int, said) {
	var own *fault
	var face *unfaced
	var there *folder.Error
	var known hinted
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &own):
		return own.status, said{own.what, own.do}
	case errors.As(err, &face):
		return face.status, said{face.what, face.do}
	case errors.As(err, &there):
		return statusOf[there.Kind], said{there.Error(), there.Hint()}
	case errors.Is(err, context.Canceled):
		return http.StatusServiceUnavailable, said{"stopped before it was done", "ask again"}
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return http.StatusInsufficientStorage, said{"the disk is full, and nothing was written", "make room on the disk that holds the data folder, then do it again"}
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge, said{"that is more than is taken here", "send less"}
	case errors.As(err, &known):
		what, do := faults.Words(err, door)
		return http.StatusUnprocessableEntity, said{what, do}
	case errors.Is(err, fs.ErrPermission):
		return http.StatusInternalServerError, said{"the data folder cannot be written", "check its permissions"}
	}
	return http.StatusInternalServerError, said{"this should not have happened, and is no fault of yours", "look at what 'ecart page' printed, and report it"}
}

// fail answers with an error.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	status, words := say(err)
	if r.Context().Err() != nil && status != http.StatusRequestTimeout {
		return // nobody is waiting; net/http ends the context of a body that is late as well
	}
	if status == http.StatusInternalServerError {
		s.log("%s %s: %v", r.Method, r.URL.Path, err)
	}
	if face := new(unfaced); errors.As(err, &face) {
		answer(w, status, map[string]any{"error": words.Error, "hint": words.Hint, "faces": face.faces})
		return
	}
	if ask := new(unconfirmed); errors.As(err, &ask) {
		answer(w, status, map[string]any{"error": words.Error, "hint": words.Hint, "confirm_deg": ask.deg})
		return
	}
	answer(w, status, words)
}

// answer sends v as JSON for the page to show, without what turns text around.
func answer(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.Encode(v)
	io.WriteString(w, bidi.Plain(b.String()))
}

// receive reads a small JSON body into v.
func (s *Server) receive(w http.ResponseWriter, r *http.Request, most int64, v any) error {
	d := json.NewDecoder(&patient{http.MaxBytesReader(w, r.Body, most), http.NewResponseController(w), s.silence})
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return err
		}
		if errors.Is(err, os.ErrDeadlineExceeded) {
			return refuse(http.StatusRequestTimeout, "the request broke off", "do it again")
		}
		return refuse(http.StatusBadRequest, "the request is not understood", "load the page again")
	}
	if d.More() {
		return refuse(http.StatusBadRequest, "the request goes on after its end", "load the page again")
	}
	return nil
}
