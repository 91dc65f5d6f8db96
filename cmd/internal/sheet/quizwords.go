package sheet

// quizWords are the words of the practice for judges: its frames and its score.
type quizWords struct {
	title, sub   string // sub: "quiz %s"
	many         string // "%s frames"
	name, date   string
	how          []string
	alt          string // of a frame, %d its number
	Letter, Tick string // heads of the bands
	Sure         string
	page         string // "page %[1]d of %[2]d"
	covered      string

	scoreTitle               string
	best                     string // beside the large number
	hits                     string
	least                    string
	stricter, milder         string
	neither, tooFew          string
	unanswered               string
	byQuestion, byBand, Rule string // headings
	Number, Answer           string // heads of tables
	Likeliest, Score, Own    string
	Band, Count, Bias        string
	whole                    string
	signs                    string // what plus and minus mean
	lean                     map[string]string
	rule                     []string
	cares                    []string
}

// quizSpoken holds the words of the practice by language.
var quizSpoken = map[string]*quizWords{"en": quizEnglish}

func (s *setting) quiz() *quizWords {
	if w, ok := quizSpoken[s.lang]; ok {
		return w
	}
	return quizEnglish
}
