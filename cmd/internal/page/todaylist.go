package page

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
)

// sessionList is a session's list as 'ecart squad' takes it. Its rows go to the takes of the names in
// it, whether the list or the takes are dropped first.
type sessionList struct {
	Name  string   `json:"name"`
	Day   string   `json:"day"` // on which it was dropped; it is forgotten after that day
	Text  string   `json:"text"`
	Notes []string `json:"notes"` // on the list as a whole
	Done  []int    `json:"done"`  // lines that were put into their takes
}

// The largest list, and the largest marks file beside it, in bytes.
const (
	mostList      = 1 << 20
	mostMarksFile = 1 << 20
)

// rows returns the rows of the list; a nil list has none.
func (l *sessionList) rows() []desk.ListRow {
	if l == nil {
		return nil
	}
	rows, _, err := desk.ListRows(l.Name, []byte(l.Text))
	if err != nil { // it was read before it was stored
		return nil
	}
	return rows
}

// lastPart returns the name of a file without its folders, in the form of Windows or Unix.
func lastPart(name string) string { return folder.Shown(path.Base(strings.ReplaceAll(name, `\`, "/"))) }

// rowTakes finds the takes of a list's rows by the names in them. Case does not matter: cameras and spreadsheets change it. If a
// clip is in parts, each row that names it gets the next part.
type rowTakes struct {
	takes []folder.About
	rows  map[string]int // how many rows have named a clip in parts
}

// next returns the take of the next row; false if it was not dropped.
func (n *rowTakes) next(row *desk.ListRow) (folder.About, bool) {
	name := strings.ToLower(lastPart(row.Ask.Take))
	var all []folder.About
	for _, a := range n.takes {
		if strings.ToLower(a.Name) == name {
			all = append(all, a)
		}
	}
	if len(all) == 0 {
		return folder.About{}, false
	}
	if all[0].Part == nil {
		return all[0], true
	}
	slices.SortFunc(all, func(a, b folder.About) int { return a.Part.N - b.Part.N })
	if n.rows == nil {
		n.rows = map[string]int{}
	}
	k := n.rows[name]
	n.rows[name]++
	if k >= len(all) {
		return folder.About{}, false
	}
	return all[k], true
}

// absent returns the rows of the list that have no take, or that are wrong.
func (l *sessionList) absent(takes []folder.About) []todayRow {
	var out []todayRow
	by := rowTakes{takes: takes}
	for _, row := range l.rows() {
		_, here := by.next(&row)
		absent := todayRow{State: stateAbsent, Name: lineWords(row.Line), Athlete: row.Filing.Athlete, Axis: -1, Missing: []string{}}
		if row.Err != nil {
			_, words := say(onPage(row.Err))
			absent.Says = words.Error
			absent.Missing = append(absent.Missing, words.Hint)
		} else if !here {
			absent.Name, absent.Says = lastPart(row.Ask.Take), "was not dropped"
			absent.Missing = append(absent.Missing, "the take: drop it here")
		} else {
			continue
		}
		out = append(out, absent)
	}
	return out
}

// takeList stores a list that was dropped.
func (s *Server) takeList(w http.ResponseWriter, r *http.Request) {
	name := folder.Shown(r.URL.Query().Get("name"))
	data, err := s.smallBody(w, r, name, mostList)
	var heads []string
	if err == nil {
		_, heads, err = desk.ListRows(name, data)
		err = onPage(err)
	}
	if err == nil {
		err = s.notebook.change(func(n *notes) error {
			n.List = &sessionList{Name: name, Day: s.config.Now().Format(time.DateOnly), Text: string(data), Notes: append([]string{}, heads...), Done: []int{}}
			return nil
		})
	}
	s.answerList(w, r, err)
}

// takeMarks stores a marks file or a lens file that was dropped, for the rows of a list that name it.
func (s *Server) takeMarks(w http.ResponseWriter, r *http.Request) {
	name := folder.Shown(r.URL.Query().Get("name"))
	data, err := s.smallBody(w, r, name, mostMarksFile)
	lens := ""
	if err == nil {
		if lens, err = s.lenses.dropped(name, data); err == nil && lens == "" {
			_, err = reading.ParseMarks(name, data)
			err = onPage(err)
		}
	}
	if err == nil {
		err = s.notebook.change(func(n *notes) error {
			if lens != "" {
				n.Lenses[strings.ToLower(name)] = lens
			} else {
				n.Marks[strings.ToLower(name)] = string(data)
			}
			return nil
		})
	}
	s.answerList(w, r, err)
}

// smallBody returns the body of a request, which may have at most most bytes.
func (s *Server) smallBody(w http.ResponseWriter, r *http.Request, name string, most int64) ([]byte, error) {
	data, err := io.ReadAll(&patient{http.MaxBytesReader(w, r.Body, most), http.NewResponseController(w), s.silence})
	if err != nil {
		return nil, refuse(http.StatusRequestEntityTooLarge, fmt.Sprintf("%q is no list and no marks file: it is larger than %s, or broke off", name, size(most)), "drop the right file")
	}
	return data, nil
}

// answerList answers after a list or a marks file was dropped, and puts rows into takes.
func (s *Server) answerList(w http.ResponseWriter, r *http.Request, err error) {
	if err == nil {
		err = s.match(r.Context())
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.hub.tell("", event{Kind: "today"})
	w.WriteHeader(http.StatusNoContent)
}

// listOf returns the list of today, nil for none. It forgets one of another day.
func (s *Server) listOf(n *notes) (*sessionList, error) {
	if n.List == nil || n.List.Day == s.config.Now().Format(time.DateOnly) {
		return n.List, nil
	}
	return nil, s.forgetList()
}

// forgetList removes the list with its marks and lens files; what was put into takes stays.
func (s *Server) forgetList() error {
	return s.notebook.change(func(n *notes) error {
		n.List, n.Marks, n.Lenses = nil, map[string]string{}, map[string]string{}
		return nil
	})
}

// dropList removes the list.
func (s *Server) dropList(w http.ResponseWriter, r *http.Request) {
	if err := s.forgetList(); err != nil {
		s.fail(w, r, err)
		return
	}
	s.hub.tell("", event{Kind: "today"})
	w.WriteHeader(http.StatusNoContent)
}

// match puts the rows of the list into the work on their takes, if the takes are here.
func (s *Server) match(ctx context.Context) error {
	n, err := s.notebook.read()
	if err != nil {
		return err
	}
	list, err := s.listOf(n)
	if err != nil || list == nil {
		return err
	}
	takes, err := s.today()
	if err != nil {
		return err
	}
	by := rowTakes{takes: takes}
	for _, row := range list.rows() {
		take, ok := by.next(&row)
		if row.Err != nil || !ok || slices.Contains(list.Done, row.Line) {
			continue
		}
		if err := s.put(ctx, take, &row, n); err != nil {
			return err
		}
	}
	return nil
}

// put puts a row into its take. It counts as done when the files that it names are there.
func (s *Server) put(ctx context.Context, take folder.About, row *desk.ListRow, n *notes) error {
	files := row.Seeds
	if row.Ask.Marks != "" { // a row has one of them
		files = []string{row.Ask.Marks}
	}
	var marks []*reading.Marks
	for _, file := range files {
		if text, there := n.Marks[strings.ToLower(lastPart(file))]; there {
			m, err := reading.ParseMarks(file, []byte(text))
			if err != nil {
				return onPage(err)
			}
			marks = append(marks, m)
		}
	}
	done := len(marks) == len(files)
	if !done {
		marks = nil
	}
	work, err := s.works.load(take.ID)
	if err != nil {
		return err
	}
	mine := *work
	if work.Version == 0 {
		n.All.apply(&mine)
	}
	missing := s.fillLens(&mine, row, n)
	left, err := s.fillWork(&mine, row, marks)
	if missing != "" {
		left, done = append(left, missing), false
	}
	if err != nil { // the list's notes have it
		left, done = append(left, errorWords(err)), true
	}
	if _, _, err := s.works.save(take.ID, &mine); err != nil {
		return err
	}
	s.hub.tell(take.ID, event{Kind: "work", Version: mine.Version + 1})
	if done && err == nil && row.Colours != "" {
		if err := s.followColours(take.ID, &mine, row); err != nil {
			left = append(left, errorWords(err))
		}
	}
	return s.notebook.change(func(n *notes) error {
		if n.List == nil {
			return nil
		}
		if done {
			n.List.Done = append(n.List.Done, row.Line)
		}
		of := lineWords(row.Line) + ": " // earlier notes on the row hold no longer
		n.List.Notes = slices.DeleteFunc(n.List.Notes, func(note string) bool { return strings.HasPrefix(note, of) })
		for _, what := range left {
			n.List.Notes = append(n.List.Notes, of+what)
		}
		n.begin(take.ID)
		o, f := n.Takes[take.ID], &row.Filing
		o.Line = row.Line
		for _, x := range []struct {
			to   *string
			from string
		}{{&o.Athlete, f.Athlete}, {&o.Day, f.Day}, {&o.Note, f.Note}, {&o.Session, f.Session}, {&o.State, f.State}, {&o.Condition, f.Condition}, {&o.Variant, f.Variant}, {&o.Setup, f.Setup}} {
			if x.from != "" {
				*x.to = x.from
			}
		}
		return nil
	})
}

func errorWords(err error) string {
	_, words := say(onPage(err))
	return words.Error
}
