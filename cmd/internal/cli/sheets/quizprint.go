package sheets

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/reading"
)

// All that sheet quiz and sheet score say on the terminal stands in this file.

const (
	quizWordsKey     = "keep the key to yourself: it has the readings"
	quizWordsScore   = "score %.2f: 0 is best, 1 is worst"
	quizWordsLeast   = "the pictures themselves leave %.2f, since they do not always decide; the answers' own part is %.2f"
	quizWordsHits    = "%d of %s the likeliest band"
	quizWordsLean    = "the answers are %s than the readings: by %.2f bands on average, standard error %.2f"
	quizWordsNeither = "the answers lean to neither side by more than chance: %+.2f bands on average, standard error %.2f"
	quizWordsTooFew  = "too few answers to say whether they lean to one side"
	quizWordsSigns   = "+ is stricter than the readings, - milder, in bands, with the standard error; a side is named from five answers on, where less than 5 in 100 is left to chance (Student's t)"
	quizWordsCaution = "a reading is measured off one frame and is no jury's verdict; a score holds for these frames"
)

func printQuiz(w io.Writer, m writtenQuiz) error {
	var p terminal.Printer
	p.Wrap("écart  ", fmt.Sprintf("quiz %s, %s", m.Quiz, desk.Count(m.Questions, "question")))
	p.Wrap("frames:  ", m.File)
	p.Wrap("answers: ", m.Answers+", to be filled in")
	p.Wrap("key:     ", m.Key)
	p.Wrap("         ", quizWordsKey)
	return p.Print(w)
}

func printScore(w io.Writer, k *quiz.Key, s *quiz.Score, who string) error {
	var p terminal.Printer
	head := "practice for judges"
	if k.Quiz != "" {
		head += ", quiz " + k.Quiz
	}
	if who != "" {
		head += ", " + who
	}
	p.Wrap("écart  ", head)
	p.Line("")
	p.Wrap("  ", fmt.Sprintf(quizWordsScore, s.Mean))
	p.Wrap("  ", fmt.Sprintf(quizWordsLeast, s.Least, s.Excess))
	names := "answers name"
	if len(s.Questions) == 1 {
		names = "answer names"
	}
	p.Wrap("  ", fmt.Sprintf(quizWordsHits, s.Hits(), fmt.Sprintf("%d %s", len(s.Questions), names)))
	p.Wrap("  ", leanWords(*s.Bias))
	if len(s.Unanswered) > 0 {
		p.Wrap("not answered: ", strings.Trim(strings.ReplaceAll(fmt.Sprint(s.Unanswered), " ", ", "), "[]"))
	}
	p.Line("")
	printAnswers(&p, k, s)
	p.Line("")
	p.Line("by the likeliest band")
	for _, b := range s.ByBand {
		printBias(&p, b.Deduction, b.Bias)
	}
	printBias(&p, "all", *s.Bias)
	p.Wrap("  ", quizWordsSigns)
	p.Line("")
	p.Wrap("rule:    ", quiz.Rule)
	p.Wrap("caution: ", quizWordsCaution)
	return p.Print(w)
}

func leanWords(b quiz.Bias) string {
	switch l := b.Lean(); l {
	case quiz.TooFew:
		return quizWordsTooFew
	case quiz.Neither:
		return fmt.Sprintf(quizWordsNeither, b.StricterBands, *b.StandardError)
	default:
		return fmt.Sprintf(quizWordsLean, l, math.Abs(b.StricterBands), *b.StandardError)
	}
}

// answers is a row for each question that was answered.
func printAnswers(p *terminal.Printer, k *quiz.Key, s *quiz.Score) {
	const mostWide = 20
	wide := len("answer")
	for _, q := range s.Questions {
		wide = max(wide, min(mostWide, len(quiz.Words(q.Belief))))
	}
	p.Line("%3s  %-*s  %-10s %5s  %5s", "no.", wide, "answer", "likeliest", "score", "own")
	for _, q := range s.Questions {
		best := k.Questions[q.Number-1].Choices[q.Likeliest[0]-'a']
		likeliest := best.Letter + " " + reading.Percent(best.Probability)
		likeliest += strings.Repeat(" ", max(0, 10-utf8.RuneCountInString(likeliest)))
		p.Line("%3d  %-*s  %s %5.2f  %5.2f", q.Number, wide, quiz.Words(q.Belief), likeliest, q.Score, q.Excess)
	}
}

func printBias(p *terminal.Printer, band string, b quiz.Bias) {
	const wide = 14
	if n := []rune(band); len(n) > wide {
		band = string(n[:wide-1]) + "…"
	}
	off := fmt.Sprintf("%+.2f", b.StricterBands)
	if b.StandardError != nil {
		off += fmt.Sprintf(" ± %.2f", *b.StandardError)
	}
	lean := string(b.Lean())
	if b.Lean() == quiz.Neither {
		lean = "no side"
	}
	p.Line("  %s %2d  %s %s", terminal.Padded(band, wide), b.Count, terminal.Padded(off, 13), lean)
}
