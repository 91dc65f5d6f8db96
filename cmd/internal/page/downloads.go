package page

import (
	"encoding/json"
	"fmt"
	"mime"
	"net/http"
	"path"
	"strings"

	"ecart/cmd/internal/bidi"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
)

// marksFile sends the stored marks of a frame as a marks file.
func (s *Server) marksFile(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	n, err := frameNumber(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	name, err := s.name(id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	work, err := s.works.load(id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	m := work.marks(n)
	if track, err := s.follows.track(id); err == nil && track != nil && !work.byHand(n) {
		if i, ok := track.At(n); ok {
			if at, ok := track.MarksAt(i); ok {
				m.Marks = at.Marks
			}
		}
	}
	if len(m.Marks) == 0 {
		s.fail(w, r, refuse(http.StatusNotFound, fmt.Sprintf("nothing is marked on frame %d", n), "place the marks first"))
		return
	}
	data, err := pretty(m)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "application/json", marksName(name, n), data)
}

// readingFile sends the reading of the stored marks as the command line prints it.
func (s *Server) readingFile(w http.ResponseWriter, r *http.Request) {
	got, q, err := s.stored(r)
	var data []byte
	if err == nil {
		data, err = readingJSON(got)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "application/json", stem(q.Request.Take.Name)+fmt.Sprintf(".%d.reading.json", q.Request.Take.Frame), data)
}

// figureFile sends the annotated picture of the stored marks.
func (s *Server) figureFile(w http.ResponseWriter, r *http.Request) {
	got, q, err := s.stored(r)
	var data []byte
	if err == nil {
		who := folder.Shown(r.URL.Query().Get("who"))
		if r.URL.Query().Get("who") == "" {
			who = ""
		}
		cover := desk.Cover{Faceless: r.URL.Query().Has("covered")}
		data, err = s.figure(r.Context(), r.PathValue("id"), got, who, cover, q.Request.Marks.Marks)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	name := stem(q.Request.Take.Name)
	if r.URL.Query().Has("covered") {
		name = "reading-" + q.Request.Take.SHA256[:8] // with the head covered, the file does not name the take either
	}
	download(w, "image/png", fmt.Sprintf("%s.%d.png", name, q.Request.Take.Frame), data)
}

// name returns the name of a take, even if its file is gone.
func (s *Server) name(id string) (string, error) {
	a, err := s.store.About(id)
	if err != nil && a.Name == "" {
		return "", err
	}
	return a.Name, nil
}

// marksName returns the name of the marks file of a frame.
func marksName(take string, frame int) string {
	return fmt.Sprintf("%s.%d.marks.json", stem(take), frame)
}

func stem(name string) string {
	if s := strings.TrimSuffix(name, path.Ext(name)); s != "" {
		return s
	}
	return name
}

func pretty(v any) ([]byte, error) {
	data, err := json.MarshalIndent(v, "", " ")
	return append(bidi.EscapeJSON(data), '\n'), err
}

// download sends a file to be saved.
func download(w http.ResponseWriter, kind, name string, data []byte) {
	attach(w, kind, name)
	w.Write(data)
}

func attach(w http.ResponseWriter, kind, name string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	h.Set("Cache-Control", "no-store")
}
