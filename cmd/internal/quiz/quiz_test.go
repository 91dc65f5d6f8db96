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

// asked is a question with bands of these probabilities.
func asked(t require.TestingT, number int, meets float64, bands ...float64) Question {
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

// brute is the expected score by the definition: each band in turn is the true
// one.
func brute(q Question, f []float64) float64 {
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
	q := asked(t, 1, 1, 0, 0)
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

// TestProper holds the score to its definition, and to what makes a rule proper.
func TestProper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "bands")
		p, f := chances(t, n, "reading"), chances(t, n, "answer")
		q := asked(t, 1, p[0], p[1:]...)
		one := q.mark(Answer{Number: 1, Belief: f})
		honest := q.mark(Answer{Number: 1, Belief: p})
		assert.InDelta(t, brute(q, f), one.Score, rounding)
		assert.InDelta(t, one.Least, honest.Score, rounding)
		assert.LessOrEqual(t, honest.Score, one.Score+rounding, "nothing does better than the probabilities themselves")
		assert.InDelta(t, 0, honest.Stricter, rounding)
		assert.True(t, one.Score >= 0 && one.Score <= 1)
	})
}

// TestSimulated draws the true bands, which shares nothing with the sums.
func TestSimulated(t *testing.T) {
	q := asked(t, 1, 0.05, 0.55, 0.3, 0.1)
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
		s := brute(sure, f)
		sum += s
		squares += s * s
	}
	mean := sum / draws
	se := math.Sqrt((squares/draws - mean*mean) / draws)
	assert.InDelta(t, mean, q.mark(Answer{Number: 1, Belief: f}).Score, 4*se)
}

func TestBias(t *testing.T) {
	k := keyOf(asked(t, 1, 0, 1, 0, 0), asked(t, 2, 0, 1, 0, 0), asked(t, 3, 0, 0, 1, 0), asked(t, 4, 1, 0, 0, 0))
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
	k := keyOf(asked(t, 1, 0.2, 0.5, 0.3), asked(t, 2, 0.2, 0.5, 0.3), asked(t, 3, 0.2, 0.5, 0.3))
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
	k := keyOf(asked(t, 1, 0.2, 0.5, 0.3))
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
		q := asked(t, 1, 0.2, 0.5, 0.3)
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

// A key that is taken has what the score and its page ask of it.
func FuzzParseKey(f *testing.F) {
	q := asked(f, 1, 0.2, 0.5, 0.3)
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

// Whatever a list says, an answer that is taken is a belief about a question there is.
func FuzzParseAnswers(f *testing.F) {
	f.Add("question", "band", "1", "b 70 c 30")
	f.Add("band", "question", "a", "1")
	f.Fuzz(func(t *testing.T, a, b, c, d string) {
		k := &Key{Schema: KeySchema, Quiz: "x", Questions: []Question{asked(t, 1, 0.2, 0.5, 0.3)}}
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
