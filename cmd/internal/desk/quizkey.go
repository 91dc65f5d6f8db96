package desk

import (
	"bytes"
	"encoding/json"
	"fmt"

	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
)

// KeyFile is the key of a quiz as a file.
func (q *Quiz) KeyFile() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(q.Key)
	return output.EscapeJSON(b.Bytes()), err
}

// QuizOfKey is the quiz of a key file, whose takes lie where takeOf says by their SHA-256; name is
// used in errors.
func (d *Desk) QuizOfKey(name string, keyFile []byte, a QuizAsk, takeOf func(sha256 string) string) (*Quiz, error) {
	key, err := quiz.ParseKey(name, keyFile)
	if err != nil {
		return nil, err
	}
	q := &Quiz{Key: key, desk: d, ask: a}
	for i := range key.Questions {
		r := key.Questions[i].Reading
		q.posed = append(q.posed, Posed{Reading: r, Take: takeOf(r.Take.SHA256), From: fmt.Sprintf("question %d", i+1)})
	}
	return q, nil
}

// Asks is what question i asks, from 0.
func (q *Quiz) Asks(i int, opt sheet.Options) (sheet.Asks, error) {
	question := &q.Key.Questions[i]
	in, err := q.desk.sheetInput(question.Reading, nil, nil)
	if err != nil {
		return sheet.Asks{}, err
	}
	return sheet.QuestionAsks(question, in.Rule, opt)
}

// Score marks answers, each a band's letter or several with the percentage of each ("b 70 c 30"),
// "" where a question is left out; name is used in errors.
func (q *Quiz) Score(name string, answers []string) (*quiz.Score, error) {
	rows := [][]string{{"question", "band"}}
	for i, a := range answers {
		rows = append(rows, []string{fmt.Sprint(i + 1), a})
	}
	list, err := q.Key.ParseAnswers(name, rows)
	if err != nil {
		return nil, err
	}
	return q.Key.Mark(list)
}

// Score marks a list of answers, which a spreadsheet may have saved, by a key.
func (d *Desk) Score(keyPath, answersPath string) (*quiz.Key, *quiz.Score, error) {
	data, err := ReadSmall("key", keyPath)
	if err != nil {
		return nil, nil, err
	}
	key, err := quiz.ParseKey(keyPath, data)
	if err != nil {
		return nil, nil, err
	}
	if data, err = ReadSmall("answer list", answersPath); err != nil {
		return nil, nil, err
	}
	rows, note, err := session.Table(answersPath, data, "question", "band", "quiz")
	if err != nil {
		return nil, nil, err
	}
	if note != "" {
		d.opt.Note(note)
	}
	answers, err := key.ParseAnswers(answersPath, rows)
	if err != nil {
		return nil, nil, err
	}
	score, err := key.Mark(answers)
	return key, score, err
}
