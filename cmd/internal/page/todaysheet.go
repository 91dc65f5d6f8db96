package page

import (
	"bytes"
	"net/http"
	"time"

	"ecart/cmd/internal/desk"
	sheets "ecart/cmd/internal/sheet"
)

// sessionFile sends the session's sheet for a coach, from the readings that were kept of
// today's takes.
func (s *Server) sessionFile(w http.ResponseWriter, r *http.Request) {
	framed(w, r)
	ask, err := askSheet(r, []string{string(sheets.Coach)})
	var b bytes.Buffer
	if err == nil {
		err = s.writeSession(r, ask, &b)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.sendSheet(w, ask, desk.SheetName("session", "", s.config.Now().Format(time.DateOnly), string(ask.options.For)), b.Bytes())
}

func (s *Server) writeSession(r *http.Request, ask *sheetAsk, b *bytes.Buffer) error {
	list, err := s.today()
	if err != nil {
		return err
	}
	kept, err := s.config.Desk.KeptWhole(r.Context(), idsOf(list))
	if err != nil {
		return inJournal(err)
	}
	in, err := desk.KeptPage(desk.KeptSession(kept))
	if err == nil {
		err = sheets.WriteSquad(b, in, ask.options)
	}
	return onPage(err)
}
