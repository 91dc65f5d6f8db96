package sheet

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/reading"
)

// ScoreInput is a trainee's score, with the key that it was made by.
type ScoreInput struct {
	Who   string // may be empty
	Key   *quiz.Key
	Score *quiz.Score
}

type scorePage struct {
	W          *quizWords
	Value      string
	Beside     string
	Says       []string
	Unanswered string
	ByQuestion string
	Rows       []scoreRow
	ByBand     string
	Bands      []biasRow
	Leaning    template.HTML
	Signs      string
	Rule       []string
	Cares      []string
}

type scoreRow struct {
	Number                        int
	Answer, Likeliest, Score, Own string
}

type biasRow struct{ Band, Count, Bias, Lean string }

// scorePlaces is the number of decimals of scores.
const scorePlaces = 2

// WriteScore writes the score of a trainee's answers. With many questions the table continues
// on further pages.
func WriteScore(w io.Writer, in ScoreInput, opt Options) error {
	s, err := newSetting(opt)
	if err != nil {
		return err
	}
	t, r := s.quiz(), in.Score
	p := scorePage{W: t, Value: s.number(r.Mean, scorePlaces), Beside: t.best, ByQuestion: t.byQuestion, ByBand: t.byBand, Signs: t.signs, Rule: t.rule, Cares: t.cares}
	p.Says = []string{
		s.leans(*r.Bias),
		fmt.Sprintf(t.hits, s.number(float64(r.Hits()), 0), s.number(float64(len(r.Questions)), 0)),
		fmt.Sprintf(t.least, s.number(r.Least, scorePlaces), s.number(r.Excess, scorePlaces)),
	}
	if len(r.Unanswered) > 0 {
		var n []string
		for _, q := range r.Unanswered {
			n = append(n, fmt.Sprint(q))
		}
		p.Unanswered = fmt.Sprintf(t.unanswered, strings.Join(n, ", "))
	}
	for _, q := range r.Questions {
		choices := in.Key.Questions[q.Number-1].Choices
		best := choices[q.Likeliest[0]-'a']
		p.Rows = append(p.Rows, scoreRow{q.Number, quiz.Words(q.Belief), best.Letter + ", " + reading.Percent(best.Probability), s.number(q.Score, scorePlaces), s.number(q.Excess, scorePlaces)})
	}
	var all []leaning
	for _, b := range r.ByBand {
		all = append(all, leaning{s.text(b.Deduction), b.Bias})
	}
	all = append(all, leaning{t.whole, *r.Bias})
	for _, l := range all {
		p.Bands = append(p.Bands, s.bias(l.Name, l.Bias))
	}
	p.Leaning = s.leaningChart(all)
	sub := ""
	if in.Key.Quiz != "" {
		sub = fmt.Sprintf(t.sub, in.Key.Quiz)
	}
	return s.page(w, "score", t.scoreTitle, sub, []string{in.Who}, p)
}

// leans says in words whether the answers are stricter or milder than the key.
func (s *setting) leans(b quiz.Bias) string {
	t := s.quiz()
	say := map[quiz.Lean]string{quiz.Stricter: t.stricter, quiz.Milder: t.milder, quiz.Neither: t.neither}[b.Lean()]
	if say == "" {
		return t.tooFew
	}
	v := b.StricterBands
	if b.Lean() != quiz.Neither {
		v = math.Abs(v)
	}
	return fmt.Sprintf(say, s.number(v, scorePlaces), s.number(*b.StandardError, scorePlaces))
}

func (s *setting) bias(band string, b quiz.Bias) biasRow {
	v := s.number(b.StricterBands, scorePlaces)
	if b.StricterBands > 0 {
		v = "+" + v
	}
	if b.StandardError != nil {
		v += " ± " + s.number(*b.StandardError, scorePlaces)
	}
	return biasRow{band, s.number(float64(b.Count), 0), v, look(s.quiz().lean, string(b.Lean()))}
}
