package page

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"

	"golang.org/x/text/language"
)

// sheetAsk is what the query of a request says of a sheet.
type sheetAsk struct {
	options sheets.Options
	cover   desk.Cover
	show    bool // in a frame of the page, instead of saving it
}

// mostCovers is the largest number of covers in a request: more than the heads in a picture of a hall.
const mostCovers = 20

// askSheet reads for, paper, covered, cover (circles x,y,r in pixels of the take, each by itself)
// and show. A parent's sheet always has the head covered.
func askSheet(r *http.Request, readers []string) (*sheetAsk, error) {
	q := r.URL.Query()
	reader, paper := q.Get("for"), q.Get("paper")
	if !slices.Contains(readers, reader) {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("there is no such sheet for %q", folder.Shown(reader)), "choose a reader from the list")
	}
	if paper != "" && !slices.Contains(sheets.Papers, paper) {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("the paper %q is not known", folder.Shown(paper)), "choose A4 or Letter")
	}
	if len(q["cover"]) > mostCovers {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%d covers are more than a picture takes", len(q["cover"])), "draw a few large ones")
	}
	return &sheetAsk{
		options: sheets.Options{For: sheets.Audience(reader), Paper: sheets.Paper(paper), Locale: language.English},
		cover:   desk.Cover{Faceless: q.Has("covered") || reader == string(sheets.Parent), At: q["cover"]},
		show:    q.Has("show"),
	}, nil
}

// framePolicy lets a sheet that is shown in a frame of the page use what stands in it, and
// nothing else; it may be printed.
const framePolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; " +
	"frame-ancestors 'self'; sandbox allow-same-origin allow-modals"

// framed lets a frame of the page show the answer to r if the query asks for that.
func framed(w http.ResponseWriter, r *http.Request) {
	if r.URL.Query().Has("show") {
		w.Header().Set("Content-Security-Policy", framePolicy)
	}
}

// sheetFor returns the handler of a sheet, which is shown or saved. readers are those whom it can be for.
// write writes the sheet and returns its file name.
func (s *Server) sheetFor(readers []string, write func(*http.Request, *sheetAsk, *bytes.Buffer) (name string, err error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		framed(w, r)
		ask, err := askSheet(r, readers)
		var b bytes.Buffer
		name := ""
		if err == nil {
			name, err = write(r, ask, &b)
		}
		switch {
		case err != nil:
			s.fail(w, r, onPage(err))
		case ask.show:
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Header().Set("Cache-Control", "no-store")
			w.Write(b.Bytes())
		default:
			download(w, "text/html; charset=utf-8", name, b.Bytes())
		}
	}
}

// sheetDay returns the day in the query, else ofTake, the day of the take; "" if neither is known.
func sheetDay(r *http.Request, ofTake string) string {
	day := r.URL.Query().Get("day")
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return ofTake
	}
	return day
}

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

// dayOfTake returns the day on which the take in the address was recorded, "" if its file does not say.
func (s *Server) dayOfTake(r *http.Request) string {
	t, done, err := s.pool.borrow(r.Context(), r.PathValue("id"))
	if err != nil {
		return ""
	}
	defer done()
	return desk.DayOf(t.Info())
}

// keptSheet writes the page that explains a reading of the journal. The query names its take, which is on the page.
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

// sessionSheet writes the session's sheet for a coach, from the kept readings of today's takes.
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
