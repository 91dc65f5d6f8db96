package page

import "net/http"

// handler has every route there is.
func (s *Server) handler() http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", s.index)
	m.HandleFunc("GET /static/{name}", s.static)
	m.HandleFunc("GET /fonts/{name}", s.font)
	m.HandleFunc("GET /choices", s.choices)
	m.HandleFunc("GET /events", s.events)

	m.HandleFunc("GET /takes", s.shelf)
	m.HandleFunc("POST /takes", s.upload)
	m.HandleFunc("POST /demo", s.demo)
	m.HandleFunc("GET /takes/{id}", s.take)
	m.HandleFunc("DELETE /takes/{id}", s.discard)
	m.HandleFunc("GET /takes/{id}/thumb", s.thumb)
	m.HandleFunc("GET /takes/{id}/frames/{n}", s.frame)
	m.HandleFunc("GET /takes/{id}/frames/{n}/part", s.part)
	m.HandleFunc("GET /takes/{id}/frames/{n}/look", s.look)

	m.HandleFunc("GET /takes/{id}/work", s.work)
	m.HandleFunc("PUT /takes/{id}/work", s.saveWork)
	m.HandleFunc("POST /takes/{id}/quick", s.quick)
	m.HandleFunc("POST /takes/{id}/reading", s.reading)
	m.HandleFunc("POST /takes/{id}/keep", s.keep)
	m.HandleFunc("POST /takes/{id}/follow", s.follow)
	m.HandleFunc("DELETE /takes/{id}/follow", s.unfollow)
	m.HandleFunc("POST /takes/{id}/curve", s.curve)
	m.HandleFunc("POST /takes/{id}/clip", s.draw)
	m.HandleFunc("DELETE /takes/{id}/clip", s.undraw)
	m.HandleFunc("GET /takes/{id}/clip.mp4", s.clipFile)

	m.HandleFunc("GET /takes/{id}/frames/{n}/marks.json", s.marksFile)
	m.HandleFunc("GET /takes/{id}/frames/{n}/reading.json", s.readingFile)
	m.HandleFunc("GET /takes/{id}/frames/{n}/figure.png", s.figureFile)
	m.HandleFunc("GET /takes/{id}/frames/{n}/sheet.html", s.sheetFile)
	m.HandleFunc("GET /athletes", s.roster)
	m.HandleFunc("GET /athletes/{n}", s.athlete)
	m.HandleFunc("GET /athletes/{n}/months.html", s.monthsFile)
	m.HandleFunc("GET /athletes/{n}/gaps.html", s.gapsFile)
	m.HandleFunc("POST /athletes/earlier", s.earlier)
	m.HandleFunc("POST /readings/{n}/athlete", s.moveReading)
	m.HandleFunc("DELETE /readings/{n}", s.eraseReading)
	m.HandleFunc("GET /readings/{n}/sheet.html", s.keptSheetFile)
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		answer(w, http.StatusNotFound, said{"there is nothing at this address", "go back to the page"})
	})
	return s.guard(m)
}
