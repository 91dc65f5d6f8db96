package quiz

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
)

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
	k := keyOf(asked(t, 1, 0, 1, 0, 0), asked(t, 2, 0, 1, 0, 0), asked(t, 3, 0.2, 0.3, 0.5))
	s, err := k.Mark([]Answer{{Number: 1, Belief: belief(k.Questions[0], "b")}, {Number: 2, Belief: belief(k.Questions[1], "c")}, {Number: 3, Belief: belief(k.Questions[2], "b 40 c 60")}})
	require.NoError(t, err)
	assert.Equal(t, 2, s.Hits())
	s, err = k.Mark([]Answer{{Number: 1, Belief: belief(k.Questions[0], "b 50 c 50")}, {Number: 2, Belief: belief(k.Questions[1], "a 60 b 40")}})
	require.NoError(t, err)
	assert.Equal(t, 1, s.Hits(), "halves go to both")
}

// A quiz has a name of its own; answers that name another are refused.
func TestKeysHaveNames(t *testing.T) {
	k, err := NewKey([]Question{asked(t, 1, 0, 1, 0, 0), asked(t, 2, 0.5, 0.5, 0, 0)})
	require.NoError(t, err)
	same, err := NewKey([]Question{asked(t, 1, 0, 1, 0, 0), asked(t, 2, 0.5, 0.5, 0, 0)})
	require.NoError(t, err)
	other, err := NewKey([]Question{asked(t, 1, 0.5, 0.5, 0, 0), asked(t, 2, 0, 1, 0, 0)})
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

	_, err = NewKey([]Question{asked(t, 2, 0, 1)})
	assert.ErrorContains(t, err, "numbered 2")
	_, err = NewKey([]Question{asked(t, 1, 0.2, 0.3)})
	assert.ErrorContains(t, err, "0.5 together")
}

// Whatever is in a key and in a list, it is read or refused with what to do, and what
// is read can be scored.
func FuzzScore(f *testing.F) {
	k, err := NewKey([]Question{asked(f, 1, 0.1, 0.6, 0.3), asked(f, 2, 0.5, 0.5)})
	require.NoError(f, err)
	data, err := json.Marshal(k)
	require.NoError(f, err)
	f.Add(data, "1", "b 70 c 30", "2", "a")
	f.Add(data, "1", "b 33 c 33 a 34", "1", "")
	f.Add([]byte(`{"schema":"ecart/quiz-key/1","questions":[{"number":1,"choices":[{"letter":"a","probability":1},{"letter":"b","probability":0}]}]}`), "1", "b 1e309", "2", "NaN 5")
	f.Fuzz(func(t *testing.T, data []byte, q1, b1, q2, b2 string) {
		hinted := func(err error) bool {
			var fault *fault.Error
			require.ErrorAs(t, err, &fault)
			return assert.NotEmpty(t, fault.Hint())
		}
		k, err := ParseKey("key.json", data)
		if err != nil {
			hinted(err)
			return
		}
		answers, err := k.ParseAnswers("answers.csv", [][]string{{"question", "band"}, {q1, b1}, {q2, b2}})
		if err != nil {
			hinted(err)
			return
		}
		s, err := k.Mark(answers)
		if err != nil {
			hinted(err)
			return
		}
		assert.True(t, s.Mean >= s.Least-1e-9 && s.Mean <= 1+1e-3, "%g and %g", s.Mean, s.Least) // probabilities of a key add up to 1 within 0.001
		assert.LessOrEqual(t, s.Hits(), len(s.Questions))
		_, err = json.Marshal(s)
		assert.NoError(t, err)
	})
}
