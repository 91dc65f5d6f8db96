package page

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/lens"
	"ecart/cmd/internal/page/folder"
)

// lenses has the lenses of phones, and the pictures of a board that the next one is made from.
// These lie in the folder for incoming files, which is emptied when the page starts.
type lenses struct {
	s    *Server
	jobs *jobs

	mu       sync.Mutex
	pictures []boardPicture
}

type boardPicture struct{ path, name string }

func newLenses(s *Server) *lenses {
	return &lenses{s: s, jobs: newJobs(s, "looking", "lens",
		said{"a lens is being made already", "wait for it, or stop it"},
		said{"stopped before the lens was made", "the pictures are still here"})}
}

// lensAbout describes a lens, beside its file.
type lensAbout struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	Made  time.Time `json:"made"`
	Board string    `json:"board"`
	lens.Words
}

const (
	mostPictures = 400      // of a board
	mostLens     = 1 << 20  // bytes of a lens file, and of what is known of it
	mostBoard    = 64 << 20 // bytes of a picture of a board, or of a clip of it ten times that
)

var (
	isLens  = regexp.MustCompile(`^[0-9a-f]{16}$`).MatchString
	errLens = refuse(http.StatusNotFound, "there is no such lens here any more", "choose another, or none")
)

// boardPicture receives one picture of a board.
func (s *Server) boardPicture(w http.ResponseWriter, r *http.Request) {
	name := folder.Shown(r.URL.Query().Get("name"))
	tooLarge := refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("%q is too large for a picture of a board", name), "drop stills, or a shorter clip")
	path := s.store.Path(folder.IncomingDir, folder.Secret())
	err := func() error {
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		_, err = io.Copy(f, &patient{http.MaxBytesReader(w, r.Body, 10*mostBoard), http.NewResponseController(w), s.silence})
		return errors.Join(err, f.Close())
	}()
	l := s.lenses
	l.mu.Lock()
	defer l.mu.Unlock()
	if err == nil && len(l.pictures) >= mostPictures {
		err = refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%d pictures of a board are here already", len(l.pictures)), "make the lens of them")
	}
	if err != nil {
		os.Remove(path)
		s.fail(w, r, s.brokenOff(err, name, tooLarge))
		return
	}
	l.pictures = append(l.pictures, boardPicture{path, name})
	answer(w, http.StatusCreated, map[string]int{"pictures": len(l.pictures)})
}

// dropPictures removes the pictures of a board.
func (s *Server) dropPictures(w http.ResponseWriter, r *http.Request) {
	s.lenses.jobs.end("")
	l := s.lenses
	l.mu.Lock()
	defer l.mu.Unlock()
	var err error
	for _, p := range l.pictures {
		err = errors.Join(err, os.Remove(p.path))
	}
	l.pictures = nil
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// lensOrder is a request to make a lens.
type lensOrder struct {
	Name   string `json:"name"`   // of the phone
	Board  string `json:"board"`  // inner corners, 9x6
	Square string `json:"square"` // the side of a square with its unit, "" if not known
}

// makeLens begins to make a lens from the pictures.
func (s *Server) makeLens(w http.ResponseWriter, r *http.Request) {
	var o lensOrder
	err := s.receive(w, r, 1<<12, &o)
	if err == nil {
		o.Name = strings.TrimSpace(o.Name)
		switch _, wrong := lens.Board(o.Board, o.Square); {
		case o.Name == "" || len([]rune(o.Name)) > mostName:
			err = refuse(http.StatusUnprocessableEntity, "the phone has no name", "write one, such as “Wren's phone, wide”: takes are read with it by that name")
		case wrong != nil:
			err = onPage(wrong)
		}
	}
	if err == nil {
		err = s.lenses.begin(o)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusAccepted, map[string]bool{"going": true})
}

func (l *lenses) begin(o lensOrder) error {
	l.mu.Lock()
	pictures := slices.Clone(l.pictures)
	l.mu.Unlock()
	if len(pictures) == 0 {
		return refuse(http.StatusUnprocessableEntity, "no pictures of a board are here", "drop ten or so, or one clip")
	}
	return l.jobs.begin("", func(ctx context.Context, tell func(event)) error {
		select { // following and drawing keep all processors busy too
		case l.s.working <- struct{}{}:
			defer func() { <-l.s.working }()
		case <-ctx.Done():
			return ctx.Err()
		}
		return l.make(ctx, o, pictures, tell)
	})
}

func (l *lenses) make(ctx context.Context, o lensOrder, pictures []boardPicture, tell func(event)) error {
	names, paths := map[string]string{}, []string{}
	for _, p := range pictures {
		names[p.path] = p.name
		paths = append(paths, p.path)
	}
	call := func(path string) string { return names[path] }
	if len(paths) == 1 {
		call = func(path string) string { // moments of a clip have names of their own
			if n, ok := names[path]; ok {
				return n
			}
			return path
		}
	}
	file, says, err := lens.OfBoard(ctx, paths, o.Board, o.Square, call, func(line string) { tell(event{Words: line}) })
	if err != nil {
		err = onPage(err)
		for _, p := range pictures {
			err = named(err, p.path, p.name)
		}
		return err
	}
	says.Says = all(says.Says, minus)
	return l.add(lensAbout{lensID(file), o.Name, l.s.config.Now(), o.Board, says}, file)
}

func lensID(file []byte) string {
	sum := sha256.Sum256(file)
	return hex.EncodeToString(sum[:8])
}

// add stores a lens.
func (l *lenses) add(about lensAbout, file []byte) error {
	data, err := json.Marshal(about)
	if err != nil {
		return err
	}
	// the lens first: a description alone would be a lens that cannot be chosen
	if err := l.s.store.WriteWhole(l.s.store.Path(folder.LensesDir, about.ID+".lens.json"), file); err != nil {
		return err
	}
	return l.s.store.WriteWhole(l.s.store.Path(folder.LensesDir, about.ID+".json"), data)
}

// dropped adds the lens of a file that was dropped, under the file's name, and returns its id; "" if
// the file is no lens.
func (l *lenses) dropped(name string, file []byte) (id string, err error) {
	if _, err := desk.ParseLens(name, file); err != nil {
		return "", nil // it may be a marks file
	}
	id = lensID(file)
	if slices.ContainsFunc(l.list(), func(a lensAbout) bool { return a.ID == id }) {
		return id, nil // it keeps the name that it has
	}
	return id, l.add(lensAbout{ID: id, Name: lensName(name), Made: l.s.config.Now(), Words: lens.Words{Says: []string{}, Advice: []string{}}}, file)
}

// lensName returns a lens file's name without its endings.
func lensName(file string) string {
	name := strings.TrimSuffix(file, path.Ext(file))
	if strings.EqualFold(path.Ext(name), ".lens") {
		name = strings.TrimSuffix(name, path.Ext(name))
	}
	return name
}

// list returns every lens that can be chosen, by name.
func (l *lenses) list() []lensAbout {
	out := []lensAbout{}
	for _, name := range l.s.store.Own(folder.LensesDir) {
		id, ok := strings.CutSuffix(name, ".json")
		if !ok || !isLens(id) || !l.s.store.There(folder.LensesDir, id+".lens.json") {
			continue
		}
		var a lensAbout
		data, err := folder.ReadSmall(l.s.store.Path(folder.LensesDir, name), mostLens)
		if err == nil {
			err = json.Unmarshal(data, &a)
		}
		if err != nil { // its file is there: it can be chosen
			a = lensAbout{Name: "lens " + id}
		}
		a.ID, a.Name = id, folder.Shown(a.Name)
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b lensAbout) int {
		if c := strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)); c != 0 {
			return c
		}
		return b.Made.Compare(a.Made)
	})
	return out
}

// file returns a lens file, with the name of its lens.
func (l *lenses) file(id string) (data []byte, name string, err error) {
	if !isLens(id) {
		return nil, "", errLens
	}
	data, err = folder.ReadSmall(l.s.store.Path(folder.LensesDir, id+".lens.json"), mostLens)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, "", errLens
	}
	for _, a := range l.list() {
		if a.ID == id {
			name = a.Name
		}
	}
	return data, name, err
}

// lensList sends the lenses, and how many pictures of a board are here.
func (s *Server) lensList(w http.ResponseWriter, r *http.Request) {
	s.lenses.mu.Lock()
	n := len(s.lenses.pictures)
	s.lenses.mu.Unlock()
	answer(w, http.StatusOK, map[string]any{"lenses": s.lenses.list(), "pictures": n, "going": s.lenses.jobs.underWay()})
}

// lensFile sends a lens as 'ecart lens' writes it.
func (s *Server) lensFile(w http.ResponseWriter, r *http.Request) {
	data, name, err := s.lenses.file(r.PathValue("l"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "application/json", strings.TrimSuffix(desk.SheetName(name, "", "", ""), ".html")+".lens.json", data)
}

// boardFile sends a board to print.
func (s *Server) boardFile(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	data, err := lens.BoardPDF(q.Get("board"), q.Get("square"), q.Get("paper"))
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	download(w, "application/pdf", fmt.Sprintf("board-%s-%s.pdf", q.Get("board"), q.Get("paper")), data)
}

// stopLens stops the making of a lens.
func (s *Server) stopLens(w http.ResponseWriter, r *http.Request) {
	s.lenses.jobs.stop("")
	w.WriteHeader(http.StatusNoContent)
}

// dropLens removes a lens. Kept readings have a copy of theirs.
func (s *Server) dropLens(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("l")
	if !isLens(id) {
		s.fail(w, r, errLens)
		return
	}
	for _, end := range []string{".json", ".lens.json"} {
		if err := os.Remove(s.store.Path(folder.LensesDir, id+end)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			s.fail(w, r, err)
			return
		}
	}
	w.WriteHeader(http.StatusNoContent)
}
