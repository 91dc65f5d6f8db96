package sheet

import (
	"fmt"
	"image"
	"io"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/rulebook"
)

// The room for a frame of a quiz, in millimetres. A page has three questions; the first
// page has two and the instructions.
const (
	frameWideMM  = 108
	frameHighMM  = 75
	frameHighUS  = 69 // on the shorter paper
	questionsTop = 2
	questions    = 3
)

type quizPage struct {
	W       *quizWords
	How     []string
	Name    string
	Date    string
	Pages   []quizSheet
	Covered string
}

type quizSheet struct {
	Questions []quizQuestion
	First     bool
	Foot      string
}

type quizQuestion struct {
	Asks
	Picture picture
}

// Asks is what a question of a quiz asks about its frame, without the answer.
type Asks struct {
	Number int         `json:"number"`
	Title  string      `json:"title"` // of the skill
	Asked  string      `json:"asked"` // the measure and the angle
	By     string      `json:"by"`    // what the ranges are of
	Rows   []AskedBand `json:"bands"`
	Origin string      `json:"origin"`
}

// AskedBand is a band that an answer may name.
type AskedBand struct {
	Letter    string `json:"letter"`
	Range     string `json:"range"` // degrees
	Deduction string `json:"deduction"`
}

// QuestionAsks returns what a question asks, with the rule book's entry or nil.
func QuestionAsks(q *quiz.Question, rule *rulebook.Skill, opt Options) (Asks, error) {
	s, err := newSetting(opt)
	if err != nil {
		return Asks{}, err
	}
	return s.asks(q, rule), nil
}

// QuizFrame draws the frame of a question as wide as given, px: the athlete, with the covers and
// without marks.
func QuizFrame(in *Input, width int) (image.Image, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	return figure.Bare(in.Picture, figure.Options{Width: width, Covers: in.Covers, Part: athletePart(in)})
}

// WriteQuiz writes the frames of a quiz without the results of the readings: for each
// question of k the angle asked and the bands with their letters. frame returns the frame
// and the rule book's entry of question i. The frames have no marks, but covers if there are
// any. The file contains neither the key nor anything that identifies the take of a frame.
func WriteQuiz(w io.Writer, k *quiz.Key, frame func(i int) (Input, error), opt Options) error {
	s, err := newSetting(opt)
	if err != nil {
		return err
	}
	t := s.quiz()
	p := quizPage{W: t, How: t.how, Name: t.name, Date: t.date}
	for i := range k.Questions {
		in, err := frame(i)
		if err != nil {
			return err
		}
		in.Reading = k.Questions[i].Reading
		if err := in.check(); err != nil {
			return err
		}
		q, err := s.question(&in, &k.Questions[i])
		if err != nil {
			return err
		}
		if len(in.Covers) > 0 {
			p.Covered = t.covered
		}
		last := len(p.Pages) - 1
		if last < 0 || len(p.Pages[last].Questions) == questions || last == 0 && len(p.Pages[0].Questions) == questionsTop {
			p.Pages = append(p.Pages, quizSheet{First: last < 0})
			last++
		}
		p.Pages[last].Questions = append(p.Pages[last].Questions, q)
	}
	name := ""
	if k.Quiz != "" {
		name = fmt.Sprintf(t.sub, k.Quiz)
	}
	for i := range p.Pages {
		p.Pages[i].Foot = fmt.Sprintf(t.page, i+1, len(p.Pages))
		if name != "" {
			p.Pages[i].Foot = name + " · " + p.Pages[i].Foot
		}
	}
	return s.writePage(w, "quiz", t.title, name, []string{fmt.Sprintf(t.many, s.number(float64(len(k.Questions)), 0))}, p)
}

// question returns one frame with its question.
func (s *setting) question(in *Input, q *quiz.Question) (quizQuestion, error) {
	out := quizQuestion{Asks: s.asks(q, in.Rule)}
	high := float64(frameHighMM)
	if s.paper == Letter {
		high = frameHighUS
	}
	width, px := within(athletePart(in), frameWideMM, high)
	img, err := QuizFrame(in, px)
	if err != nil {
		return out, err
	}
	out.Picture = picture{WidthMM: width, Alt: fmt.Sprintf(s.quiz().alt, q.Number)}
	return out, out.Picture.embed(img)
}

func (s *setting) asks(q *quiz.Question, rule *rulebook.Skill) Asks {
	r, t := q.Reading, &s.words.judge
	out := Asks{Number: q.Number, Title: r.Skill.Title, Asked: lookup(s.measure, r.Measure) + ", " + s.askedOf(r), By: t.Band}
	meet := t.meet
	if r.Skill.AtMost {
		out.By, meet = t.BandOff, t.meetOff
	}
	if free := r.Verdict.FreeDeg(); free > 0 {
		meet = fmt.Sprintf(t.to, s.plainDeg(free))
	}
	for i, c := range q.Choices {
		row := AskedBand{Letter: c.Letter, Range: meet, Deduction: "–"}
		if i > 0 {
			b := r.Verdict.Bands[i-1]
			row.Range, row.Deduction = s.rangeOf(b), s.text(bandName(b))
		}
		out.Rows = append(out.Rows, row)
	}
	out.Origin = s.origin(&Input{Reading: r, Rule: rule})
	return out
}

// origin returns the source of the figures of a skill in short.
func (s *setting) origin(in *Input) string {
	ref := in.Reading.Skill
	known := lookup(s.known, ref.Provenance)
	if ref.Provenance == string(rulebook.CommonPractice) {
		return known
	}
	from, edition := ref.Source, ref.Edition
	if in.Rule != nil && in.Rule.Origin.Document != "" {
		from, edition = in.Rule.Origin.Document, in.Rule.Origin.Edition
	}
	if edition != "" {
		from += ", " + edition
	}
	return from + "; " + known
}
