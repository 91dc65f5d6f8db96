package sheet

import (
	"fmt"
	"html/template"
	"image/color"
	"io"
	"math"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/reading"
)

// ScoreInput is a trainee's score, with the key of its questions.
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
		s.leanSentence(*r.Bias),
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
	return s.writePage(w, "score", t.scoreTitle, sub, []string{in.Who}, p)
}

// leanSentence says in words whether the answers are stricter or milder than the key.
func (s *setting) leanSentence(b quiz.Bias) string {
	t := s.quiz()
	pattern := map[quiz.Lean]string{quiz.Stricter: t.stricter, quiz.Milder: t.milder, quiz.Neither: t.neither}[b.Lean()]
	if pattern == "" {
		return t.tooFew
	}
	v := b.StricterBands
	if b.Lean() != quiz.Neither {
		v = math.Abs(v)
	}
	return fmt.Sprintf(pattern, s.number(v, scorePlaces), s.number(*b.StandardError, scorePlaces))
}

func (s *setting) bias(band string, b quiz.Bias) biasRow {
	v := s.number(b.StricterBands, scorePlaces)
	if b.StricterBands > 0 {
		v = "+" + v
	}
	if b.StandardError != nil {
		v += " ± " + s.number(*b.StandardError, scorePlaces)
	}
	return biasRow{band, s.number(float64(b.Count), 0), v, lookup(s.quiz().lean, string(b.Lean()))}
}

// leaning is one row of the drawing of how strict or mild answers are.
type leaning struct {
	Name string
	Bias quiz.Bias
}

// leaningChart draws the mean difference of answers from the key, in bands: milder to the
// left of the line, stricter to the right, each as a dot with a bar of one standard error to
// either side.
func (s *setting) leaningChart(all []leaning) template.HTML {
	const wide, left, right, high, top = 80.0, 22.0, 77.0, 6.2, 6.5
	reach := 1.0
	for _, l := range all {
		far := math.Abs(l.Bias.StricterBands)
		if se := l.Bias.StandardError; se != nil {
			far += *se
		}
		reach = max(reach, math.Ceil(far+0.05))
	}
	k := draw.Scale{From: -reach, To: reach, A: left, B: right}
	bottom := top + high*float64(len(all))
	d := &draw.Sheet{W: wide, H: bottom + 5, T: 2.7, L: draw.NewLetters()}
	label := func(x, y, align float64, c color.NRGBA, text string) {
		d.Text(draw.Label{Text: text, X: x, Y: y, Align: align, Size: d.T, Face: draw.Sans, Colour: c})
	}
	line := func(x1, y1, x2, y2, width float64, c color.NRGBA) {
		d.Line(draw.Pen{Colour: c, Width: width}, draw.Point{X: x1, Y: y1}, draw.Point{X: x2, Y: y2})
	}
	t := s.quiz()
	label(left, 3.4, 0, draw.Faint, "← "+t.lean[string(quiz.Milder)])
	label(right, 3.4, 1, draw.Faint, t.lean[string(quiz.Stricter)]+" →")
	for v := -reach; v <= reach; v++ {
		colour, width := draw.Rule, 0.15
		if v == 0 {
			colour, width = draw.Ink, 0.3
		}
		line(k.At(v), top-1.5, k.At(v), bottom, width, colour)
		label(k.At(v), bottom+3.6, 0.5, draw.Faint, s.number(v, 0))
	}
	var alt []string
	for i, l := range all {
		y := top + high*(float64(i)+0.5)
		label(0, y+0.9, 0, draw.Ink, d.L.Cut(draw.Sans, d.T, l.Name, left-1.5))
		v := l.Bias.StricterBands
		if se := l.Bias.StandardError; se != nil {
			line(k.At(v-*se), y, k.At(v+*se), y, 0.7, draw.Measured)
			for _, end := range []float64{v - *se, v + *se} {
				line(k.At(end), y-1, k.At(end), y+1, 0.3, draw.Measured)
			}
		}
		d.Disc(draw.Measured, draw.Point{X: k.At(v), Y: y}, 1.1)
		alt = append(alt, l.Name+" "+s.bias(l.Name, l.Bias).Bias)
	}
	return template.HTML(d.SVG(strings.Join(alt, "; "), "", 0))
}
