package page

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	"github.com/go-fonts/liberation/liberationserifitalic"
	"github.com/go-fonts/liberation/liberationserifregular"
)

//go:embed static
var embedded embed.FS

// asset is a file of the page, with its media type and its ETag.
type asset struct {
	data      []byte
	kind, tag string
}

func newAsset(data []byte, kind string) asset {
	sum := sha256.Sum256(data)
	return asset{data, kind, `"` + hex.EncodeToString(sum[:8]) + `"`}
}

var kinds = map[string]string{".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml"}

// assets are all files of the page, by name.
var assets = func() map[string]asset {
	out := map[string]asset{}
	entries, err := fs.ReadDir(embedded, "static")
	if err != nil {
		panic("page: the embedded files cannot be read: " + err.Error())
	}
	for _, e := range entries {
		data, err := embedded.ReadFile(path.Join("static", e.Name()))
		if err != nil {
			panic("page: the embedded files cannot be read: " + err.Error())
		}
		out[e.Name()] = newAsset(data, kinds[path.Ext(e.Name())])
	}
	return out
}()

var fonts = map[string]asset{
	"sans.ttf":         newAsset(liberationsansregular.TTF, "font/ttf"),
	"sans-bold.ttf":    newAsset(liberationsansbold.TTF, "font/ttf"),
	"serif.ttf":        newAsset(liberationserifregular.TTF, "font/ttf"),
	"serif-italic.ttf": newAsset(liberationserifitalic.TTF, "font/ttf"),
}

func (s *Server) index(w http.ResponseWriter, r *http.Request) { s.asset(w, r, assets["index.html"]) }

func (s *Server) static(w http.ResponseWriter, r *http.Request) {
	s.serveNamed(w, r, assets)
}

func (s *Server) font(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "private, max-age=86400")
	s.serveNamed(w, r, fonts)
}

func (s *Server) serveNamed(w http.ResponseWriter, r *http.Request, from map[string]asset) {
	a, ok := from[r.PathValue("name")]
	if !ok {
		answer(w, http.StatusNotFound, said{"there is nothing at this address", "go back to the page"})
		return
	}
	s.asset(w, r, a)
}

func (s *Server) asset(w http.ResponseWriter, r *http.Request, a asset) {
	h := w.Header()
	h.Set("Content-Type", a.kind)
	h.Set("ETag", a.tag)
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "no-cache") // the browser asks each time, and gets 304 if it has it
	}
	if r.Header.Get("If-None-Match") == a.tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.Write(a.data)
}
