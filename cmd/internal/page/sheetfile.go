package page

import (
	"bytes"
	"net/http"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/page/folder"
	sheets "ecart/cmd/internal/sheet"
)

// takeSheet writes the page that explains the reading of the stored marks.
func (s *Server) takeSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	got, q, err := s.stored(r)
	if err != nil {
		return "", err
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return "", err
	}
	defer done()
	f, err := s.decoded(r.Context(), r.PathValue("id"), got.Take.Frame)
	if err != nil {
		return "", err
	}
	who := ""
	if said := r.URL.Query().Get("who"); said != "" {
		who = folder.Shown(said)
	}
	covers, err := ask.cover.Still(q.Request.Marks.Marks, got.Measure)
	if err != nil {
		return "", err
	}
	in, err := s.config.Desk.Fill(desk.SheetAsk{Cover: ask.cover, Who: who}, got, large.Of(f), covers, q.Request.Marks.Level)
	if err != nil {
		return "", err
	}
	if err := sheets.Write(b, *in, ask.options); err != nil {
		return "", err
	}
	return desk.SheetName("reading-"+got.Measure, who, sheetDay(r, s.dayOfTake(r)), string(ask.options.For)), nil
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

// keptSheet writes the page that explains a reading of the journal, whose take is open on the page: the query
// names it.
func (s *Server) keptSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	n, err := numberIn(r)
	if err != nil {
		return "", err
	}
	id := r.URL.Query().Get("take")
	a, err := s.store.About(id)
	if err != nil {
		return "", err
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return "", err
	}
	defer done()
	in, c, err := s.config.Desk.ExplainKept(r.Context(), desk.SheetAsk{Cover: ask.cover}, n, s.store.TakePath(id))
	if err != nil {
		return "", named(onPage(err), s.store.TakePath(id), a.Name)
	}
	if err := sheets.Write(b, *in, ask.options); err != nil {
		return "", err
	}
	return desk.SheetName("reading-"+c.Measure, in.Who, in.Day, string(ask.options.For)), nil
}
