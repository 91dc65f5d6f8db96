package page

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"

	"ecart/cmd/internal/large"
)

// readers are whom a sheet can be for.
var readers = []string{"judge", "athlete", "parent"}

// sheetFile sends the page that explains the reading of the stored marks. It is not
// named after the take, whose name may be a child's.
func (s *Server) sheetFile(w http.ResponseWriter, r *http.Request) {
	data, name, err := s.sheet(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "text/html; charset=utf-8", name, data)
}

func (s *Server) sheet(r *http.Request) (data []byte, name string, err error) {
	reader := r.URL.Query().Get("for")
	switch {
	case s.config.Sheet == nil:
		return nil, "", refuse(http.StatusNotFound, "no sheets are made here", "make it with 'ecart sheet'")
	case !slices.Contains(readers, reader):
		return nil, "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no sheet for %q", reader), "ask for one for a judge, an athlete or a parent")
	}
	got, q, err := s.stored(r)
	if err != nil {
		return nil, "", err
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return nil, "", err
	}
	defer done()
	f, err := s.decoded(r.Context(), r.PathValue("id"), got.Take.Frame)
	if err != nil {
		return nil, "", err
	}
	who := ""
	if said := r.URL.Query().Get("who"); said != "" {
		who = shown(said)
	}
	var b bytes.Buffer
	if err := s.config.Sheet(&b, large.Of(f), got, q.Marks, who, reader); err != nil {
		return nil, "", onPage(err)
	}
	return b.Bytes(), "sheet-" + reader + ".html", nil
}
