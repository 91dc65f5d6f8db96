package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"regexp"
	"slices"
	"strconv"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	sheets "ecart/cmd/internal/sheet"
)

// mostQuestions is how many questions a quiz on the page may have: more than an hour of practice.
const mostQuestions = 100

// quizOrder asks for a quiz of takes, each at its moment.
type quizOrder struct {
	Takes    []string `json:"takes"`
	ShowFace bool     `json:"show_face"` // heads are not covered
}

// makeQuiz makes a quiz and stores its key.
func (s *Server) makeQuiz(w http.ResponseWriter, r *http.Request) {
	var o quizOrder
	err := s.receive(w, r, 1<<14, &o)
	var q *desk.Quiz
	if err == nil {
		q, err = s.newQuiz(r, o)
	}
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	s.hub.tell("", event{Kind: "shelf"})
	answer(w, http.StatusCreated, map[string]string{"id": q.Key.Quiz})
}

func (s *Server) newQuiz(r *http.Request, o quizOrder) (*desk.Quiz, error) {
	if len(o.Takes) == 0 || len(o.Takes) > mostQuestions {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%d takes were ticked", len(o.Takes)), fmt.Sprintf("tick from 1 to %d", mostQuestions))
	}
	var posed []desk.Posed
	for _, id := range o.Takes {
		a, err := s.store.About(id)
		if err != nil {
			return nil, err
		}
		work, err := s.works.load(id)
		if err != nil {
			return nil, err
		}
		got, _, err := s.readAt(r.Context(), id, work.Frame)
		if err != nil {
			_, words := say(err)
			return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q cannot be asked: %s", a.Name, words.Error), "open it and place its marks, or leave it out")
		}
		posed = append(posed, desk.Posed{Reading: got, Take: s.store.TakePath(id), From: strconv.Quote(a.Name)})
	}
	q, err := s.config.Desk.QuizOf(r.Context(), desk.QuizAsk{SheetAsk: desk.SheetAsk{Ask: desk.Ask{Seed: 1}}, ShowFace: o.ShowFace}, posed)
	if err != nil {
		return nil, err
	}
	if !o.ShowFace { // an uncoverable head is reported now, not to whoever takes the quiz
		cover := desk.Cover{Faceless: true}
		for _, p := range posed {
			if _, err := cover.OfReading(p.Reading); err != nil {
				return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s: %v", p.From, err), "place the shoulder and the hip too, or leave all heads uncovered")
			}
		}
	}
	key, err := q.KeyFile()
	if err != nil {
		return nil, err
	}
	return q, s.store.WriteWhole(s.quizPath(q.Key.Quiz, o.ShowFace), key)
}

// quizPath returns the file of a quiz; open: its heads are not covered.
func (s *Server) quizPath(id string, open bool) string {
	if open {
		return s.store.Path(folder.QuizzesDir, id+".open.json")
	}
	return s.store.Path(folder.QuizzesDir, id+".json")
}

var (
	isQuiz   = regexp.MustCompile(`^[0-9a-f]{8}$`).MatchString
	errQuiz  = refuse(http.StatusNotFound, "there is no such quiz here", "make it again from ticked takes")
	mostQuiz = int64(32 << 20) // bytes of a key: a reading with its density has about 100 kB
)

// quizOf returns the quiz in the address.
func (s *Server) quizOf(r *http.Request) (q *desk.Quiz, covered bool, err error) {
	id := r.PathValue("q")
	if !isQuiz(id) {
		return nil, false, errQuiz
	}
	for _, open := range []bool{false, true} {
		data, err := folder.ReadSmall(s.quizPath(id, open), mostQuiz)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, false, err
		}
		q, err := s.config.Desk.QuizOfKey("the quiz "+id, data, desk.QuizAsk{ShowFace: open}, s.store.PathOf)
		return q, !open, err
	}
	return nil, false, errQuiz
}

// quizzes lists them, the newest first.
func (s *Server) quizzes(w http.ResponseWriter, r *http.Request) {
	type row struct {
		ID   string    `json:"id"`
		Made time.Time `json:"made"`
	}
	out := []row{}
	for _, name := range s.store.Own(folder.QuizzesDir) {
		if i, err := os.Lstat(s.store.Path(folder.QuizzesDir, name)); err == nil {
			out = append(out, row{name[:8], i.ModTime()})
		}
	}
	slices.SortFunc(out, func(a, b row) int { return b.Made.Compare(a.Made) })
	answer(w, http.StatusOK, map[string]any{"quizzes": out})
}

// quiz sends what a quiz asks, without the answers.
func (s *Server) quiz(w http.ResponseWriter, r *http.Request) {
	q, covered, err := s.quizOf(r)
	var asks []sheets.Asks
	if err == nil {
		for i := range q.Key.Questions {
			one, wrong := q.Asks(i, sheets.Options{})
			err = errors.Join(err, wrong)
			asks = append(asks, one)
		}
	}
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	answer(w, http.StatusOK, map[string]any{"id": q.Key.Quiz, "covered": covered, "questions": asks})
}

// quizWide is how wide the frame of a question is made, px.
const quizWide = 1200

// quizFrame sends the frame of a question, the head covered unless the quiz says not to.
func (s *Server) quizFrame(w http.ResponseWriter, r *http.Request) {
	q, _, err := s.quizOf(r)
	var p *coded
	if err == nil {
		p, err = s.askedFrame(r, q)
	}
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	send(w, r, p)
}

func (s *Server) askedFrame(r *http.Request, q *desk.Quiz) (*coded, error) {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil || n < 1 || n > len(q.Key.Questions) {
		return nil, refuse(http.StatusNotFound, fmt.Sprintf("there is no question %q", folder.Shown(r.PathValue("n"))), fmt.Sprintf("they count from 1 to %d", len(q.Key.Questions)))
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return nil, err
	}
	defer done()
	in, err := s.quizInput(r, q, n-1)
	if err != nil {
		return nil, err
	}
	img, err := sheets.QuizFrame(&in, quizWide)
	if err != nil {
		return nil, err
	}
	data, err := asJPEG(img, quality)
	return &coded{kind: "image/jpeg", data: data}, err
}

// quizInput returns the frame of question i; an error gives the take's name on the page.
func (s *Server) quizInput(r *http.Request, q *desk.Quiz, i int) (sheets.Input, error) {
	take := &q.Key.Questions[i].Reading.Take
	id := s.store.Holding(take.SHA256, take.Frame)
	a, err := s.store.About(id)
	if err != nil {
		return sheets.Input{}, refuse(http.StatusNotFound, fmt.Sprintf("the take of question %d is not on this machine any more", i+1), "drop it again, or make the quiz without it")
	}
	in, err := q.Frame(r.Context(), i)
	return in, named(onPage(err), s.store.TakePath(id), a.Name)
}

// quizSheet writes the frames of a quiz as a page to print, for judges who write.
func (s *Server) quizSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	q, _, err := s.quizOf(r)
	if err != nil {
		return "", err
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return "", err
	}
	defer done()
	err = sheets.WriteQuiz(b, q.Key, func(i int) (sheets.Input, error) { return s.quizInput(r, q, i) }, ask.options)
	return desk.SheetName("quiz", q.Key.Quiz, "", ""), err
}

// answers returns the answers in the query, in the order of the questions.
func answers(r *http.Request, q *desk.Quiz) ([]string, error) {
	list := r.URL.Query()["answer"]
	if len(list) > len(q.Key.Questions) {
		return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%d answers were given to %d questions", len(list), len(q.Key.Questions)), "load the page again")
	}
	return list, nil
}

// scored scores the answers in the query.
func (s *Server) scored(r *http.Request) (*desk.Quiz, *sheets.ScoreInput, error) {
	q, _, err := s.quizOf(r)
	if err != nil {
		return nil, nil, err
	}
	list, err := answers(r, q)
	if err != nil {
		return nil, nil, err
	}
	score, err := q.Score("what was answered", list)
	if known := hinted(nil); errors.As(err, &known) {
		return nil, nil, refuse(http.StatusUnprocessableEntity, known.Error(), "choose a band, or write percentages that make 100")
	}
	who := ""
	if said := r.URL.Query().Get("who"); said != "" {
		who = folder.Shown(said)
	}
	return q, &sheets.ScoreInput{Who: who, Key: q.Key, Score: score}, err
}

// scoreFile sends the score of the answers as JSON, as 'ecart sheet score --json' prints it.
func (s *Server) scoreFile(w http.ResponseWriter, r *http.Request) {
	_, in, err := s.scored(r)
	var b bytes.Buffer
	if err == nil {
		e := json.NewEncoder(&b)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		err = e.Encode(in.Score)
	}
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.Write(b.Bytes())
}

// scoreSheet writes the score of the answers as a page.
func (s *Server) scoreSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	q, in, err := s.scored(r)
	if err != nil {
		return "", err
	}
	return desk.SheetName("score", in.Who, q.Key.Quiz, ""), sheets.WriteScore(b, *in, ask.options)
}

// dropQuiz removes a quiz; its takes stay.
func (s *Server) dropQuiz(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("q")
	if !isQuiz(id) {
		s.fail(w, r, errQuiz)
		return
	}
	for _, open := range []bool{false, true} {
		if err := os.Remove(s.quizPath(id, open)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			s.fail(w, r, err)
			return
		}
	}
	w.WriteHeader(http.StatusNoContent)
}
