package sheet_test

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/geometry/uncertainty"
)

// quizOf is a quiz of the pose, read against these skills in turn.
func quizOf(t testing.TB, skills []rulebook.Skill, upright func(i int) bool) (*quiz.Key, func(int) (sheet.Input, error)) {
	t.Helper()
	var questions []quiz.Question
	var inputs []sheet.Input
	for i := range skills {
		in := covered(t, readPose(t, skills[i].Measure, &skills[i], upright(i)))
		q, err := quiz.NewQuestion(i+1, in.Reading)
		require.NoError(t, err)
		questions, inputs = append(questions, q), append(inputs, in)
	}
	k, err := quiz.NewKey(questions)
	require.NoError(t, err)
	return k, func(i int) (sheet.Input, error) { return inputs[i], nil }
}

func quizPageOf(t testing.TB, k *quiz.Key, frame func(int) (sheet.Input, error), opt sheet.Options) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, sheet.WriteQuiz(&b, k, frame, opt))
	return b.String()
}

// leavesFit checks that no page of a quiz holds more than it has room for.
func (w *window) leavesFit(what string) {
	w.t.Helper()
	w.fits(what)
	assert.Empty(w.t, js[[]string](w, `(() => {
		const bad = [];
		for (const e of document.querySelectorAll(".chart > svg")) {
			const a = e.getBoundingClientRect(), b = e.parentElement.getBoundingClientRect();
			if (a.bottom > b.bottom + 1 || a.top < b.top - 1) bad.push("a drawing reaches out of its place");
		}
		for (const leaf of document.querySelectorAll(".leaf")) {
			if (leaf.scrollHeight > leaf.clientHeight + 1) bad.push("a leaf holds " + leaf.clientHeight + " and there is " + leaf.scrollHeight + ": " + leaf.textContent.trim().slice(0, 80));
			const parts = [...leaf.children].map((e) => e.getBoundingClientRect()), end = leaf.getBoundingClientRect().bottom;
			parts.forEach((r, i) => { if (i && r.top < parts[i - 1].bottom - 1 || r.bottom > end + 1) bad.push("part " + i + " of a leaf has no room"); });
		}
		return bad;
	})()`), what)
}

// The questions of every built-in skill fit on both papers: two on the first page and three on each other
// page.
func TestEveryQuestionFits(t *testing.T) {
	// a question asks for the band of an angle, which a rule about shoulder widths has not
	skills := slices.DeleteFunc(measuredSkills(), func(k rulebook.Skill) bool { return k.Ratio != "" })
	k, frame := quizOf(t, skills, func(i int) bool { return i%4 == 3 })
	axe := browsertest.Axe(t)
	for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
		w := open(t, func(out io.Writer) error {
			return sheet.WriteQuiz(out, k, frame, sheet.Options{Paper: p, Locale: english})
		})
		w.leavesFit(string(p))
		pages, size := w.pdf("quiz-" + string(p))
		assert.Equal(t, 1+(len(skills)-2+2)/3, pages)
		assert.Equal(t, paperPoints[p], size)
		w.accessible(axe, "quiz")
		w.alone()
	}
}

// A quiz shows what is asked, and nothing of the readings.
func TestQuizKeepsItsAnswers(t *testing.T) {
	skills := []rulebook.Skill{*skill(t, "fig-women/split-leap"), *skill(t, "fig-aerobic/split-leap")}
	k, frame := quizOf(t, skills, func(int) bool { return false })
	page := quizPageOf(t, k, frame, sheet.Options{})
	text := spaced(dataURI.ReplaceAllString(page, ""))
	for _, q := range k.Questions {
		r := q.Reading
		value, plus := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
		short, _ := uncertainty.Format(r.Verdict.ShortfallDeg, r.ExpandedUncertaintyDeg)
		for _, secret := range []string{value + "°", "± " + plus, short + "°", "by " + short, fmt.Sprintf("%.0f", r.AngleDeg) + "°", r.Take.Name, r.Take.SHA256[:8], "lena", "Wren", "2026-03-21", "robab", "hip, "} {
			assert.NotContains(t, text, secret)
		}
		for _, c := range q.Choices {
			if c.Probability > 0.001 && c.Probability < 0.999 {
				assert.NotContains(t, text, fmt.Sprintf("%.0f %%", 100*c.Probability))
				assert.NotContains(t, text, fmt.Sprintf("%.2f", c.Probability))
			}
		}
		assert.Contains(t, text, r.Skill.Title)
	}
	assert.Contains(t, text, "quiz "+k.Quiz)
	assert.Contains(t, text, "over 0° to 20°")
	assert.Contains(t, text, "Faces are covered.")
	assert.Len(t, regexp.MustCompile(`class="box"`).FindAllString(text, -1), len(k.Questions[0].Choices)+len(k.Questions[1].Choices))

	// the frame has none of the fan: it is the same whatever the angle that was read
	changed := *k.Questions[0].Reading
	changed.AngleDeg, changed.IntervalDeg = changed.AngleDeg-20, [2]float64{changed.IntervalDeg[0] - 20, changed.IntervalDeg[1] - 20}
	other := *k
	other.Questions = append([]quiz.Question{}, k.Questions...)
	other.Questions[0].Reading = &changed
	assert.Equal(t, page, quizPageOf(t, &other, frame, sheet.Options{}))
}

// The score's page has the score's numbers, and no more pages than it needs.
func TestScorePage(t *testing.T) {
	var skills []rulebook.Skill
	for range 12 {
		skills = append(skills, *skill(t, "fig-women/split-leap"), *skill(t, "fig-aerobic/split-leap"))
	}
	k, _ := quizOf(t, skills, func(int) bool { return false })
	rng := rand.New(rand.NewPCG(7, 7))
	rows := [][]string{{"question", "band"}}
	for i := range skills {
		band := []string{"b", "c", "c 60 d 40", "d", ""}[rng.IntN(5)]
		rows = append(rows, []string{fmt.Sprint(i + 1), band})
	}
	answers, err := k.ParseAnswers("a.csv", rows)
	require.NoError(t, err)
	score, err := k.Mark(answers)
	require.NoError(t, err)
	require.NotEmpty(t, score.Unanswered)
	write := func(locale bool, p sheet.Paper) func(io.Writer) error {
		opt := sheet.Options{Paper: p, Locale: english}
		if locale {
			opt.Locale = german
		}
		return func(out io.Writer) error {
			return sheet.WriteScore(out, sheet.ScoreInput{Who: "Linnet <b>", Key: k, Score: score}, opt)
		}
	}
	for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
		w := open(t, write(false, p))
		w.fits("score")
		pages, size := w.pdf("score-" + string(p))
		assert.Equal(t, 1, pages)
		assert.Equal(t, paperPoints[p], size)
		w.accessible(browsertest.Axe(t), "score")
		w.alone()
		text := w.text()
		for _, v := range []float64{score.Mean, score.Least, score.Excess} {
			assert.Contains(t, text, fmt.Sprintf("%.2f", v))
		}
		for _, q := range score.Questions {
			assert.Contains(t, text, fmt.Sprintf("%d\t%s\t%s, ", q.Number, quiz.Words(q.Belief), q.Likeliest))
			assert.Contains(t, text, fmt.Sprintf("\t%.2f\t%.2f", q.Score, q.Excess))
		}
		for _, b := range score.ByBand {
			assert.Contains(t, text, fmt.Sprintf("%s\t%d\t", b.Deduction, b.Count))
			assert.Contains(t, text, strings.Replace(fmt.Sprintf("%+.2f ± %.2f", b.StricterBands, *b.StandardError), "-", "−", 1))
		}
		assert.Contains(t, text, "Not answered: "+strings.Trim(strings.ReplaceAll(fmt.Sprint(score.Unanswered), " ", ", "), "[]")+".")
		assert.Contains(t, text, "Epstein")
		assert.Contains(t, text, "Linnet <b>")
	}
	w := open(t, write(true, sheet.A4))
	assert.Contains(t, w.text(), strings.Replace(fmt.Sprintf("%.2f", score.Mean), ".", ",", 1))
}
