package quiz

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// ScoreSchema names the version of the score's JSON form.
const ScoreSchema = "ecart/quiz-score/1"

// Rule names the scoring rule wherever a score is shown.
const Rule = "ranked probability score (Epstein 1969), expected under the readings' probabilities: 0 is best, 1 is worst"

// Score compares a trainee's answers with the readings.
type Score struct {
	Schema     string       `json:"schema"`
	Rule       string       `json:"rule"`
	Questions  []Scored     `json:"questions"`
	Unanswered []int        `json:"unanswered"`
	Mean       float64      `json:"mean"`   // of the answers' scores
	Least      float64      `json:"least"`  // mean score of the readings' own probabilities: the best possible
	Excess     float64      `json:"excess"` // Mean - Least: the part due to the trainee
	Bias       *Bias        `json:"bias"`   // over all questions
	ByBand     []BiasOfBand `json:"by_band"`
}

// Scored is one answer.
type Scored struct {
	Number int       `json:"number"`
	Belief []float64 `json:"belief"`
	Score  float64   `json:"score"`
	Least  float64   `json:"least"`
	Excess float64   `json:"excess"`
	// Stricter is the mean band of the answer minus that of the reading, in bands: positive
	// is a larger deduction, negative a smaller one.
	Stricter  float64 `json:"stricter_bands"`
	Likeliest string  `json:"likeliest"` // the letter of the reading's most probable band
}

// Bias is the mean of Scored.Stricter over a set of answers, in bands.
type Bias struct {
	Count         int      `json:"count"`
	StricterBands float64  `json:"stricter_bands"`
	StandardError *float64 `json:"standard_error"` // null for a single answer
}

// BiasOfBand is the bias over the questions whose most probable band has this deduction.
type BiasOfBand struct {
	Deduction string `json:"deduction"`
	Bias
}

// Mark scores the answers. It is an error (a fault) if there are none.
func (k *Key) Mark(answers []Answer) (*Score, error) {
	if len(answers) == 0 {
		return nil, inputError("fill in at least one band", "no question is answered")
	}
	s := &Score{Schema: ScoreSchema, Rule: Rule, Unanswered: []int{}}
	byBand := map[string][]float64{}
	var order []string
	rank := map[string]int{}
	var all []float64
	answers = slices.Clone(answers)
	slices.SortFunc(answers, func(a, b Answer) int { return a.Number - b.Number })
	answered := map[int]bool{}
	for _, a := range answers {
		answered[a.Number] = true
		q := &k.Questions[a.Number-1]
		one := q.mark(a)
		s.Questions = append(s.Questions, one)
		s.Mean += one.Score / float64(len(answers))
		s.Least += one.Least / float64(len(answers))
		all = append(all, one.Stricter)
		i := int(one.Likeliest[0] - 'a')
		name := q.Choices[i].Deduction
		if name == "" {
			name = q.Choices[i].Label
		}
		if _, known := rank[name]; !known {
			rank[name] = i
			order = append(order, name)
		}
		byBand[name] = append(byBand[name], one.Stricter)
	}
	s.Excess = s.Mean - s.Least
	for _, q := range k.Questions {
		if !answered[q.Number] {
			s.Unanswered = append(s.Unanswered, q.Number)
		}
	}
	whole := biasOf(all)
	s.Bias = &whole
	slices.SortStableFunc(order, func(a, b string) int { return rank[a] - rank[b] })
	for _, name := range order {
		s.ByBand = append(s.ByBand, BiasOfBand{name, biasOf(byBand[name])})
	}
	return s, nil
}

func (q *Question) mark(a Answer) Scored {
	out := Scored{Number: a.Number, Belief: a.Belief}
	steps := float64(len(q.Choices) - 1)
	var answer, truth float64 // cumulative probabilities, of the answer and of the reading
	best := 0
	for i, c := range q.Choices {
		answer += a.Belief[i]
		truth += c.Probability
		if i < len(q.Choices)-1 {
			out.Least += truth * (1 - truth) / steps
			out.Excess += (answer - truth) * (answer - truth) / steps
		}
		out.Stricter += float64(i) * (a.Belief[i] - c.Probability)
		if c.Probability > q.Choices[best].Probability {
			best = i
		}
	}
	out.Score = out.Least + out.Excess
	out.Likeliest = q.Choices[best].Letter
	return out
}

func biasOf(v []float64) Bias {
	b := Bias{Count: len(v)}
	for _, x := range v {
		b.StricterBands += x / float64(len(v))
	}
	if len(v) > 1 {
		var ss float64
		for _, x := range v {
			ss += (x - b.StricterBands) * (x - b.StricterBands)
		}
		se := math.Sqrt(ss / float64(len(v)-1) / float64(len(v)))
		b.StandardError = &se
	}
	return b
}

// Lean is the direction of a trainee's bias.
type Lean string

// The four results.
const (
	Stricter Lean = "stricter"
	Milder   Lean = "milder"
	Neither  Lean = "neither" // the bias is within chance
	TooFew   Lean = "too few" // not enough answers to decide
)

// fewestAnswers is the number of answers from which a direction is given: with fewer, a scatter
// that happens to be small says little about further answers.
const fewestAnswers = 5

// confidence required to name a direction.
const confidence = 0.95

// Lean decides whether the answers are stricter or milder by more than chance: whether 0
// lies outside the 95 % interval (Student's t) of their mean.
func (b Bias) Lean() Lean {
	if b.Count < fewestAnswers || b.StandardError == nil {
		return TooFew
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(b.Count - 1)}.Quantile((1 + confidence) / 2)
	switch {
	case math.Abs(b.StricterBands) <= t**b.StandardError || b.StricterBands == 0:
		return Neither
	case b.StricterBands > 0:
		return Stricter
	}
	return Milder
}

// Hits counts the answers that give no band a higher probability than the reading's most
// probable one. It is not a proper score, but the count that people ask for.
func (s *Score) Hits() (n int) {
	for _, q := range s.Questions {
		if q.Belief[q.Likeliest[0]-'a'] == slices.Max(q.Belief) {
			n++
		}
	}
	return n
}
