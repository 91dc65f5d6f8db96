package quiz

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/strict"
)

// KeySchema names the version of the key's JSON form.
const KeySchema = "ecart/quiz-key/1"

// Key is what the trainer keeps: the readings behind the questions.
type Key struct {
	Schema    string     `json:"schema"`
	Quiz      string     `json:"quiz"`      // identifies the quiz, on its pages and in its answers; may be empty
	Questions []Question `json:"questions"` // numbered from 1
}

// Question is one frame.
type Question struct {
	Number  int              `json:"number"`
	Choices []Choice         `json:"choices"` // from no deduction to the largest, at least two
	Reading *reading.Reading `json:"reading"`
}

// Choice is one band that an answer may name.
type Choice struct {
	Letter      string  `json:"letter"` // a, b, c ...
	Label       string  `json:"label"`
	Deduction   string  `json:"deduction,omitempty"`
	Probability float64 `json:"probability"` // that the angle lies in it, 0 to 1
}

// NewQuestion makes the question of a reading. It returns a *fault.Error if the reading has
// no skill with deduction bands.
func NewQuestion(number int, r *reading.Reading) (Question, error) {
	if r.Verdict == nil || len(r.Verdict.Bands) == 0 {
		return Question{}, inputError("read it with a skill that has deduction bands: "+fault.Option("skill")+" NAME; "+fault.Operation("list the skills")+" lists them",
			"question %d has no bands: its reading names no skill, or the skill has none", number)
	}
	q := Question{Number: number, Reading: r, Choices: []Choice{{Letter: "a", Label: r.Outcomes()[0].Words, Probability: r.Outcomes()[0].Probability}}}
	for i, b := range r.Verdict.Bands {
		q.Choices = append(q.Choices, Choice{Letter: string(rune('b' + i)), Label: b.Label, Deduction: b.Deduction, Probability: b.Probability})
	}
	return q, nil
}

// NewKey makes the key of questions numbered from 1. Quiz is a hash: the same questions give
// the same Quiz, and it reveals nothing about them.
func NewKey(questions []Question) (*Key, error) {
	k := &Key{Schema: KeySchema, Questions: questions}
	data, err := json.Marshal(k)
	if err != nil {
		return nil, err
	}
	k.Quiz = fmt.Sprintf("%.4x", sha256.Sum256(data))
	return k, k.check("the quiz")
}

// ParseKey reads a key; name is used in errors, which are of type *fault.Error.
func ParseKey(name string, data []byte) (*Key, error) {
	root, err := strict.ParseJSON(data)
	if err != nil {
		return nil, inputError(keyHint, "%q is no key: %v", name, err)
	}
	if s := root.Get("schema"); s == nil || s.Text != KeySchema {
		schema := ""
		if s != nil {
			schema = strict.Clip(s.Text)
		}
		return nil, inputError(keyHint, "%q is no key: its schema is %q, not %q", name, schema, KeySchema)
	}
	var k Key
	if err := root.Into(&k, strict.Options{Partial: true}); err != nil {
		return nil, inputError(keyHint, "%q is no key: %v", name, err)
	}
	if err := k.check(fmt.Sprintf("%q", name)); err != nil {
		return nil, err
	}
	return &k, nil
}

const keyHint = "give the key file that was written with the questions"

func (k *Key) check(name string) error {
	for i, q := range k.Questions {
		if q.Reading == nil {
			return inputError(keyHint, "%s is no key: question %d has no reading", name, i+1)
		}
		var sum float64
		for j, c := range q.Choices {
			if c.Letter != string(rune('a'+j)) || !(c.Probability >= 0 && c.Probability <= 1) {
				return inputError(keyHint, "%s is no key: question %d has the choice %q with the probability %g", name, i+1, c.Letter, c.Probability)
			}
			sum += c.Probability
		}
		if q.Number != i+1 || len(q.Choices) < 2 || !(sum > 0.999 && sum < 1.001) {
			return inputError(keyHint, "%s is no key: question %d is numbered %d, and its %d choices have the probability %.4g together", name, i+1, q.Number, len(q.Choices), sum)
		}
	}
	if len(k.Questions) == 0 {
		return inputError(keyHint, "%s is a key without questions", name)
	}
	return nil
}

// inputError is an error in the input: what to do, and what is wrong.
func inputError(hint, format string, args ...any) *fault.Error {
	return fault.New(fmt.Sprintf(format, args...), hint)
}
