package page

import (
	"bytes"
	"net/http"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/large"
	sheets "ecart/cmd/internal/sheet"
)

// sheetFile sends the page that explains the reading of the stored marks.
func (s *Server) sheetFile(w http.ResponseWriter, r *http.Request) {
	framed(w, r)
	ask, err := askSheet(r, sheets.Audiences)
	var data []byte
	name := ""
	if err == nil {
		data, name, err = s.sheet(r, ask)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendSheet(w, ask, name, data)
}

func (s *Server) sheet(r *http.Request, ask *sheetAsk) (data []byte, name string, err error) {
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
	covers, err := ask.cover.Still(q.Request.Marks.Marks, got.Measure)
	if err != nil {
		return nil, "", onPage(err)
	}
	in, err := s.config.Desk.Fill(desk.SheetAsk{Cover: ask.cover, Who: who}, got, large.Of(f), covers, q.Request.Marks.Level)
	if err != nil {
		return nil, "", onPage(err)
	}
	var b bytes.Buffer
	if err := sheets.Write(&b, *in, ask.options); err != nil {
		return nil, "", onPage(err)
	}
	return b.Bytes(), desk.SheetName("reading-"+got.Measure, who, sheetDay(r, s.dayOfTake(r)), string(ask.options.For)), nil
}

// dayOfTake is the day on which the take in the address was made, "" where it does not say.
func (s *Server) dayOfTake(r *http.Request) string {
	t, done, err := s.pool.borrow(r.Context(), r.PathValue("id"))
	if err != nil {
		return ""
	}
	defer done()
	return desk.DayOf(t.Info())
}

// keptSheetFile sends the page that explains a reading of the journal, whose take is open on
// the page: the query names it.
func (s *Server) keptSheetFile(w http.ResponseWriter, r *http.Request) {
	framed(w, r)
	ask, err := askSheet(r, sheets.Audiences)
	var data []byte
	name := ""
	if err == nil {
		data, name, err = s.keptSheet(r, ask)
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	s.sendSheet(w, ask, name, data)
}

func (s *Server) keptSheet(r *http.Request, ask *sheetAsk) (data []byte, name string, err error) {
	n, err := numberIn(r)
	if err != nil {
		return nil, "", err
	}
	id := r.URL.Query().Get("take")
	a, err := s.store.about(id)
	if err != nil {
		return nil, "", err
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return nil, "", err
	}
	defer done()
	in, c, err := s.config.Desk.ExplainKept(r.Context(), desk.SheetAsk{Cover: ask.cover}, n, s.store.takePath(id))
	if err != nil {
		return nil, "", named(onPage(err), s.store.takePath(id), a.Name)
	}
	var b bytes.Buffer
	if err := sheets.Write(&b, *in, ask.options); err != nil {
		return nil, "", onPage(err)
	}
	return b.Bytes(), desk.SheetName("reading-"+c.Measure, in.Who, in.Day, string(ask.options.For)), nil
}
