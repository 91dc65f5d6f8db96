package quiz

import (
	"math"
	"strconv"
	"strings"
)

// Answer is a trainee's answer to one question: a probability for each choice.
type Answer struct {
	Number int
	Line   int // of the answer list, from 1
	Belief []float64
}

// ParseAnswers reads a filled-in answer list: the rows of a table with the columns
// "question" and "band", headings first. A band is a choice's letter, or several letters
// with the probability of each in percent: "b 70 c 30". A row without a band is an
// unanswered question. An optional column "quiz" has to contain the key's Quiz.
func (k *Key) ParseAnswers(name string, rows [][]string) ([]Answer, error) {
	const form = `fill in the list that was written with the questions: a letter in the column "band", or "b 70 c 30" where two are likely`
	questionColumn, bandColumn, quizColumn := -1, -1, -1
	if len(rows) > 0 {
		for i, head := range rows[0] {
			switch strings.ToLower(strings.TrimSpace(head)) {
			case "question":
				questionColumn = i
			case "band":
				bandColumn = i
			case "quiz":
				quizColumn = i
			}
		}
	}
	switch {
	case questionColumn < 0:
		return nil, inputError(form, "%q has no column \"question\"", name)
	case bandColumn < 0:
		return nil, inputError(form, "%q has no column \"band\"", name)
	}
	var out []Answer
	lineOf := map[int]int{} // by question
	for i, row := range rows[1:] {
		line := i + 2
		cell := func(at int) string {
			if at < 0 || at >= len(row) {
				return ""
			}
			return strings.TrimSpace(row[at])
		}
		if cell(questionColumn) == "" && cell(bandColumn) == "" {
			continue
		}
		if quiz := cell(quizColumn); quiz != "" && k.Quiz != "" && quiz != k.Quiz {
			return nil, inputError("give the key that was written with it", "%q has answers to the quiz %q on line %d, and the key is that of %q", name, quiz, line, k.Quiz)
		}
		n, err := strconv.Atoi(cell(questionColumn))
		if err != nil || n < 1 || n > len(k.Questions) {
			return nil, inputError(form, "%q names the question %q on line %d: there are 1 to %d", name, cell(questionColumn), line, len(k.Questions))
		}
		if before := lineOf[n]; before > 0 {
			return nil, inputError("leave one of the two lines", "%q answers question %d twice, on lines %d and %d", name, n, before, line)
		}
		lineOf[n] = line
		if cell(bandColumn) == "" {
			continue
		}
		belief, ok := k.Questions[n-1].belief(cell(bandColumn))
		if !ok {
			q := k.Questions[n-1]
			return nil, inputError(form, "%q answers question %d with %q on line %d: its bands are a to %s", name, n, cell(bandColumn), line, q.Choices[len(q.Choices)-1].Letter)
		}
		out = append(out, Answer{Number: n, Line: line, Belief: belief})
	}
	return out, nil
}

// belief parses "b", or "b 70 c 30" with percentages that add up to 100.
func (q *Question) belief(text string) ([]float64, bool) {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" :=,;%/\t", r) })
	out := make([]float64, len(q.Choices))
	at := func(letter string) int {
		for i, c := range q.Choices {
			if c.Letter == letter {
				return i
			}
		}
		return -1
	}
	if len(words) == 1 {
		i := at(words[0])
		if i < 0 {
			return nil, false
		}
		out[i] = 1
		return out, true
	}
	var sum float64
	for i := 0; i < len(words); i += 2 {
		if i+1 == len(words) {
			return nil, false
		}
		c := at(words[i])
		p, err := strconv.ParseFloat(words[i+1], 64)
		if c < 0 || err != nil || !(p >= 0 && p <= 100) || out[c] > 0 {
			return nil, false
		}
		out[c] = p / 100
		sum += p
	}
	const rounding = 0.51 // percent, of one choice: thirds are written as 33 33 33 or 33 33 34
	if !(math.Abs(sum-100) <= 2*rounding) {
		return nil, false
	}
	for i := range out {
		out[i] *= 100 / sum
	}
	return out, true
}

// Words writes a belief in the form that ParseAnswers reads, in whole percent: "b", or
// "b 70 c 30".
func Words(belief []float64) string {
	var out []string
	for i, p := range belief {
		letter := string(rune('a' + i))
		switch {
		case p == 1:
			return letter
		case p > 0:
			out = append(out, letter, strconv.FormatFloat(math.Round(100*p), 'f', -1, 64))
		}
	}
	return strings.Join(out, " ")
}
