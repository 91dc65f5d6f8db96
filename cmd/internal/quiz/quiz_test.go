package quiz

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// questionWith is a question with bands of these probabilities.
func questionWith(t require.TestingT, number int, meets float64, bands ...float64) Question {
	v := &reading.Verdict{MeetsProbability: meets}
	for i, p := range bands {
		v.Bands = append(v.Bands, reading.BandProbability{Label: []string{"small", "medium", "large", "none"}[i], Deduction: []string{"0.10", "0.30", "0.50", "no value"}[i], Probability: p})
	}
	q, err := NewQuestion(number, &reading.Reading{Verdict: v})
	require.NoError(t, err)
	return q
}

func keyOf(qs ...Question) *Key { return &Key{Schema: KeySchema, Questions: qs} }

func belief(q Question, letter string) []float64 {
	b, _ := q.belief(letter)
	return b
}

// expectedScore is the expected score by the definition: each band in turn is the true one.
func expectedScore(q Question, f []float64) float64 {
	var sum float64
	for k, c := range q.Choices {
		var cum, s float64
		for m := 0; m < len(f)-1; m++ {
			cum += f[m]
			hit := 0.0
			if k <= m {
				hit = 1
			}
			s += (cum - hit) * (cum - hit)
		}
		sum += c.Probability * s / float64(len(f)-1)
	}
	return sum
}

const rounding = 1e-12 // sums of a few products of numbers up to 1

// Three bands, worked by hand from the definition: sure of the first.
func TestScoreByHand(t *testing.T) {
	q := questionWith(t, 1, 1, 0, 0)
	for letter, want := range map[string]float64{"a": 0, "b": 0.5, "c": 1} {
		s, err := keyOf(q).Mark([]Answer{{Number: 1, Belief: belief(q, letter)}})
		require.NoError(t, err)
		assert.InDelta(t, want, s.Mean, rounding, letter)
	}
}

func chances(t *rapid.T, n int, name string) []float64 {
	w := rapid.SliceOfN(rapid.Float64Range(0.001, 1), n, n).Draw(t, name)
	var sum float64
	for _, v := range w {
		sum += v
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// The score agrees with its definition, and no answer scores better than the reading's probabilities.
func TestProper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "bands")
		p, f := chances(t, n, "reading"), chances(t, n, "answer")
		q := questionWith(t, 1, p[0], p[1:]...)
		one := q.mark(Answer{Number: 1, Belief: f})
		honest := q.mark(Answer{Number: 1, Belief: p})
		assert.InDelta(t, expectedScore(q, f), one.Score, rounding)
		assert.InDelta(t, one.Least, honest.Score, rounding)
		assert.LessOrEqual(t, honest.Score, one.Score+rounding, "nothing does better than the probabilities themselves")
		assert.InDelta(t, 0, honest.Stricter, rounding)
		assert.True(t, one.Score >= 0 && one.Score <= 1)
	})
}

// The expected score agrees with the mean over true bands drawn at random.
func TestSimulated(t *testing.T) {
	q := questionWith(t, 1, 0.05, 0.55, 0.3, 0.1)
	f := []float64{0, 0.7, 0.3, 0}
	rng := rand.New(rand.NewPCG(1, 2))
	const draws = 200_000
	var sum, squares float64
	for range draws {
		u, k := rng.Float64(), 0
		for k < 3 && u > q.Choices[k].Probability {
			u -= q.Choices[k].Probability
			k++
		}
		sure := q
		sure.Choices = append([]Choice(nil), q.Choices...)
		for i := range sure.Choices {
			sure.Choices[i].Probability = 0
		}
		sure.Choices[k].Probability = 1
		s := expectedScore(sure, f)
		sum += s
		squares += s * s
	}
	mean := sum / draws
	se := math.Sqrt((squares/draws - mean*mean) / draws)
	assert.InDelta(t, mean, q.mark(Answer{Number: 1, Belief: f}).Score, 4*se)
}

func TestBias(t *testing.T) {
	k := keyOf(questionWith(t, 1, 0, 1, 0, 0), questionWith(t, 2, 0, 1, 0, 0), questionWith(t, 3, 0, 0, 1, 0), questionWith(t, 4, 1, 0, 0, 0))
	var as []Answer
	for n, letter := range map[int]string{1: "c", 2: "b", 3: "b"} { // stricter by one, right, milder by one
		as = append(as, Answer{Number: n, Belief: belief(k.Questions[n-1], letter)})
	}
	s, err := k.Mark(as)
	require.NoError(t, err)
	assert.Equal(t, []int{4}, s.Unanswered)
	assert.InDelta(t, 0, s.Bias.StricterBands, rounding)
	assert.InDelta(t, 1/math.Sqrt(3), *s.Bias.StandardError, rounding) // sd 1 of 1, 0, -1
	require.Len(t, s.ByBand, 2)
	assert.Equal(t, "0.10", s.ByBand[0].Deduction)
	assert.InDelta(t, 0.5, s.ByBand[0].StricterBands, rounding)
	assert.InDelta(t, 0.5, *s.ByBand[0].StandardError, rounding) // sd sqrt(1/2) of 1, 0, over sqrt 2
	assert.InDelta(t, -1, s.ByBand[1].StricterBands, rounding)
	assert.Nil(t, s.ByBand[1].StandardError)
	_, err = k.Mark(nil)
	assert.ErrorContains(t, err, "no question")
}

func TestParseAnswers(t *testing.T) {
	k := keyOf(questionWith(t, 1, 0.2, 0.5, 0.3), questionWith(t, 2, 0.2, 0.5, 0.3), questionWith(t, 3, 0.2, 0.5, 0.3))
	as, err := k.ParseAnswers("a.csv", [][]string{{"Question ", "frame", "BAND"}, {"2", "x", " B "}, {}, {"1", "", "b 70, c 30 %"}, {"3", ""}})
	require.NoError(t, err)
	require.Len(t, as, 2)
	assert.Equal(t, Answer{2, 2, []float64{0, 1, 0}}, as[0])
	assert.InDeltaSlice(t, []float64{0, 0.7, 0.3}, as[1].Belief, rounding)
	thirds, ok := k.Questions[0].belief("a 33 b 33 c 33")
	require.True(t, ok)
	assert.InDelta(t, 1.0/3, thirds[1], rounding)
	for text, rows := range map[string][][]string{
		`no column "question"`: {{"band"}},
		`no column "band"`:     {{"question"}},
		`the question "9"`:     {{"question", "band"}, {"9", "a"}},
		`the question "x"`:     {{"question", "band"}, {"x", "a"}},
		`with "d" on line 2`:   {{"question", "band"}, {"1", "d"}},
		`with "b 70"`:          {{"question", "band"}, {"1", "b 70"}},
		`with "b 70 b 30"`:     {{"question", "band"}, {"1", "b 70 b 30"}},
		`with "b NaN c 30"`:    {{"question", "band"}, {"1", "b NaN c 30"}},
		`question 1 twice`:     {{"question", "band"}, {"1", "a"}, {"1", "b"}},
	} {
		_, err := k.ParseAnswers("a.csv", rows)
		require.ErrorContains(t, err, text)
		var f *fault.Error
		require.ErrorAs(t, err, &f)
		assert.NotEmpty(t, f.Hint())
	}
	_, err = k.ParseAnswers("a.csv", nil)
	assert.Error(t, err)
}

func TestKey(t *testing.T) {
	_, err := NewQuestion(3, &reading.Reading{})
	assert.ErrorContains(t, err, "question 3")
	k := keyOf(questionWith(t, 1, 0.2, 0.5, 0.3))
	data, err := json.Marshal(k)
	require.NoError(t, err)
	back, err := ParseKey("k.json", data)
	require.NoError(t, err)
	assert.Equal(t, k.Questions[0].Choices, back.Questions[0].Choices)
	for _, bad := range []string{`{`, `{"schema": "x"}`, `{"schema": "ecart/quiz-key/1"}`,
		`{"schema": "ecart/quiz-key/1", "questions": [{"number": 1, "choices": [{"letter": "a", "probability": 0.4}, {"letter": "b", "probability": 0.5}]}]}`,
		`{"schema": "ecart/quiz-key/1", "questions": [{"number": 1, "choices": [{"letter": "a", "probability": 1.4}, {"letter": "b", "probability": -0.4}]}]}`} {
		_, err := ParseKey("k.json", []byte(bad))
		assert.ErrorContains(t, err, "k.json", bad)
	}
}

func FuzzAnswers(f *testing.F) {
	f.Add("b 70 c 30")
	f.Fuzz(func(t *testing.T, text string) {
		q := questionWith(t, 1, 0.2, 0.5, 0.3)
		b, ok := q.belief(text)
		if !ok {
			return
		}
		var sum float64
		for _, v := range b {
			require.True(t, v >= 0 && v <= 1)
			sum += v
		}
		require.InDelta(t, 1, sum, rounding)
	})
}

// A key that ParseKey accepts has what the score and its page need.
func FuzzParseKey(f *testing.F) {
	q := questionWith(f, 1, 0.2, 0.5, 0.3)
	k, err := NewKey([]Question{q})
	if err != nil {
		f.Fatal(err)
	}
	data, err := json.Marshal(k)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"schema": "ecart/quiz-key/1", "quiz": "", "questions": [{"number": 1, "choices": [{"letter": "a", "label": "", "probability": 1}, {"letter": "b", "label": "", "probability": 0}], "reading": null}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, err := ParseKey("f.json", data)
		if err != nil {
			var h *fault.Error
			require.ErrorAs(t, err, &h)
			require.NotEmpty(t, h.Hint())
			return
		}
		for _, q := range k.Questions {
			require.NotNil(t, q.Reading)
			require.GreaterOrEqual(t, len(q.Choices), 2)
		}
	})
}

// Every answer that is accepted is a belief about an existing question.
func FuzzParseAnswers(f *testing.F) {
	f.Add("question", "band", "1", "b 70 c 30")
	f.Add("band", "question", "a", "1")
	f.Fuzz(func(t *testing.T, a, b, c, d string) {
		k := &Key{Schema: KeySchema, Quiz: "x", Questions: []Question{questionWith(t, 1, 0.2, 0.5, 0.3)}}
		answers, err := k.ParseAnswers("f.csv", [][]string{{a, b}, {c, d}, {}})
		if err != nil {
			var h *fault.Error
			require.ErrorAs(t, err, &h)
			return
		}
		for _, one := range answers {
			require.Equal(t, 1, one.Number)
			require.Len(t, one.Belief, 3)
		}
	})
}

// Student's t for 0.975 is 2.776 at 4 degrees of freedom and 2.262 at 9 (any table of
// it, such as JCGM 100:2008 table G.2, which has 2.78 and 2.26).
func TestLean(t *testing.T) {
	lean := func(n int, mean, se float64) Lean { return Bias{n, mean, &se}.Lean() }
	assert.Equal(t, Stricter, lean(5, 2.78, 1))
	assert.Equal(t, Neither, lean(5, 2.77, 1))
	assert.Equal(t, Milder, lean(10, -2.27, 1))
	assert.Equal(t, Neither, lean(10, -2.26, 1))
	assert.Equal(t, Neither, lean(6, 0, 0))
	assert.Equal(t, TooFew, lean(4, 9, 0.1))
	assert.Equal(t, TooFew, Bias{Count: 1, StricterBands: 1}.Lean())
}

func TestHits(t *testing.T) {
	k := keyOf(questionWith(t, 1, 0, 1, 0, 0), questionWith(t, 2, 0, 1, 0, 0), questionWith(t, 3, 0.2, 0.3, 0.5))
	s, err := k.Mark([]Answer{{Number: 1, Belief: belief(k.Questions[0], "b")}, {Number: 2, Belief: belief(k.Questions[1], "c")}, {Number: 3, Belief: belief(k.Questions[2], "b 40 c 60")}})
	require.NoError(t, err)
	assert.Equal(t, 2, s.Hits())
	s, err = k.Mark([]Answer{{Number: 1, Belief: belief(k.Questions[0], "b 50 c 50")}, {Number: 2, Belief: belief(k.Questions[1], "a 60 b 40")}})
	require.NoError(t, err)
	assert.Equal(t, 1, s.Hits(), "halves go to both")
}

// A quiz has a name of its own; answers that name another are refused.
func TestKeysHaveNames(t *testing.T) {
	k, err := NewKey([]Question{questionWith(t, 1, 0, 1, 0, 0), questionWith(t, 2, 0.5, 0.5, 0, 0)})
	require.NoError(t, err)
	same, err := NewKey([]Question{questionWith(t, 1, 0, 1, 0, 0), questionWith(t, 2, 0.5, 0.5, 0, 0)})
	require.NoError(t, err)
	other, err := NewKey([]Question{questionWith(t, 1, 0.5, 0.5, 0, 0), questionWith(t, 2, 0, 1, 0, 0)})
	require.NoError(t, err)
	assert.Len(t, k.Quiz, 8)
	assert.Equal(t, k.Quiz, same.Quiz)
	assert.NotEqual(t, k.Quiz, other.Quiz)
	data, err := json.Marshal(k)
	require.NoError(t, err)
	back, err := ParseKey("key.json", data)
	require.NoError(t, err)
	assert.Equal(t, k.Quiz, back.Quiz)

	rows := [][]string{{"question", "band", "quiz"}, {"1", "b", k.Quiz}, {"2", "", ""}}
	answers, err := k.ParseAnswers("a.csv", rows)
	require.NoError(t, err)
	assert.Len(t, answers, 1)
	_, err = other.ParseAnswers("a.csv", rows)
	assert.ErrorContains(t, err, "has answers to the quiz")
	assert.ErrorContains(t, err, "line 2")

	_, err = NewKey([]Question{questionWith(t, 2, 0, 1)})
	assert.ErrorContains(t, err, "numbered 2")
	_, err = NewKey([]Question{questionWith(t, 1, 0.2, 0.3)})
	assert.ErrorContains(t, err, "0.5 together")
}

// Any key and list is read or gives an error with a hint, and what is read can be scored.
func FuzzScore(f *testing.F) {
	k, err := NewKey([]Question{questionWith(f, 1, 0.1, 0.6, 0.3), questionWith(f, 2, 0.5, 0.5)})
	require.NoError(f, err)
	data, err := json.Marshal(k)
	require.NoError(f, err)
	f.Add(data, "1", "b 70 c 30", "2", "a")
	f.Add(data, "1", "b 33 c 33 a 34", "1", "")
	f.Add([]byte(`{"schema":"ecart/quiz-key/1","questions":[{"number":1,"choices":[{"letter":"a","probability":1},{"letter":"b","probability":0}]}]}`), "1", "b 1e309", "2", "NaN 5")
	f.Fuzz(func(t *testing.T, data []byte, q1, b1, q2, b2 string) {
		requireHint := func(err error) bool {
			var fault *fault.Error
			require.ErrorAs(t, err, &fault)
			return assert.NotEmpty(t, fault.Hint())
		}
		k, err := ParseKey("key.json", data)
		if err != nil {
			requireHint(err)
			return
		}
		answers, err := k.ParseAnswers("answers.csv", [][]string{{"question", "band"}, {q1, b1}, {q2, b2}})
		if err != nil {
			requireHint(err)
			return
		}
		s, err := k.Mark(answers)
		if err != nil {
			requireHint(err)
			return
		}
		assert.True(t, s.Mean >= s.Least-1e-9 && s.Mean <= 1+1e-3, "%g and %g", s.Mean, s.Least) // probabilities of a key add up to 1 within 0.001
		assert.LessOrEqual(t, s.Hits(), len(s.Questions))
		_, err = json.Marshal(s)
		assert.NoError(t, err)
	})
}
