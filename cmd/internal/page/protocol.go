package page

import (
	"bytes"
	"net/http"

	"ecart/cmd/internal/desk"
	sheets "ecart/cmd/internal/sheet"
)

// protocolCard is a card as the page shows it.
type protocolCard struct {
	Title     string         `json:"title"`
	Condition string         `json:"condition"`
	Lines     []protocolLine `json:"lines"`
	Cautions  []string       `json:"cautions"`
	Note      string         `json:"note"` // what is to be known of lines without a source
}

type protocolLine struct {
	Head   string `json:"head"`
	Text   string `json:"text"`
	Source string `json:"source"` // "" is common practice
}

// protocolAsked returns the card that the query names.
func protocolAsked(r *http.Request) (*desk.Protocol, error) {
	q := r.URL.Query()
	return desk.FindProtocol(q.Get("name"), q.Get("variant"), q.Get("condition"))
}

// protocol sends the card of a measure in a condition and a position.
func (s *Server) protocol(w http.ResponseWriter, r *http.Request) {
	p, err := protocolAsked(r)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	out := protocolCard{Title: p.Title, Condition: p.Condition, Lines: []protocolLine{}, Cautions: p.Cautions, Note: desk.PracticeNote}
	for _, l := range p.Lines {
		line := protocolLine{l.Head, unflagged(l.Text), l.Source}
		if l.Source == desk.Practice {
			line.Source = ""
		}
		out.Lines = append(out.Lines, line)
	}
	answer(w, http.StatusOK, out)
}

// protocolSheet writes the page of a card.
func (s *Server) protocolSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	p, err := protocolAsked(r)
	if err != nil {
		return "", onPage(err)
	}
	return desk.SheetName("protocol-"+p.Title, p.Condition, "", string(ask.options.For)), sheets.WriteProtocol(b, desk.ProtocolPage(p), ask.options)
}
