package page

import (
	"bytes"
	"net/http"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
)

// sessionSheet writes the session's sheet for a coach, from the readings that were kept of
// today's takes.
func (s *Server) sessionSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	list, err := s.today()
	if err != nil {
		return "", err
	}
	kept, err := s.record.KeptWhole(r.Context(), folder.SumsOf(list))
	if err != nil {
		return "", inJournal(err)
	}
	in, err := record.KeptPage(record.KeptSession(kept))
	if err != nil {
		return "", err
	}
	return desk.SheetName("session", "", s.config.Now().Format(time.DateOnly), string(ask.options.For)), sheets.WriteSquad(b, in, ask.options)
}
