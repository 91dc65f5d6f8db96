package page

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"

	"golang.org/x/text/language"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/large"
	sheets "ecart/cmd/internal/sheet"
)

// readers are whom a sheet can be for.
var readers = sheets.Audiences

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
	if !slices.Contains(readers, reader) {
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
	in, err := s.config.Desk.SheetInput(got, large.Of(f), q.Request.Marks.Level)
	if err != nil {
		return nil, "", err
	}
	in.Who = who
	cover := desk.Cover{Faceless: sheets.Audience(reader) == sheets.Parent}
	if in.Covers, err = cover.Still(q.Request.Marks.Marks, got.Measure); err != nil {
		return nil, "", refuse(http.StatusUnprocessableEntity, "a parent's sheet has the head covered, and the marks do not tell where it is",
			"place the shoulder and the hip too, or make it with 'ecart sheet' and a cover of your own")
	}
	var b bytes.Buffer
	if err := sheets.Write(&b, *in, sheets.Options{For: sheets.Audience(reader), Locale: language.English}); err != nil {
		return nil, "", onPage(err)
	}
	return b.Bytes(), "sheet-" + reader + ".html", nil
}
