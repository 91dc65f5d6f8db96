package sheet

import (
	"fmt"
	"strings"
	"time"

	"golang.org/x/text/language"
)

// words holds all text of a sheet in one language. Verbs are those of package fmt; [n] allows a
// language another word order.
type words struct {
	lang string // for the page

	judge  judgeWords
	plain  map[Audience]plainWords
	beside pairWords

	measure  map[string]string // by name, as a heading
	landmark map[string]string // on the picture, by the English of it; missing ones stay
	source   map[string]string // of a budget
	known    map[string]string // provenance
	state    map[string]string

	frame, second string // "frame %d", "%s s"
	take          string // the take by the first digits of its hash
	and           string
	colophon      string // the colophon
	covered       string // what the paper on the picture is
	alt           string // of the picture, %[1]s measure, %[2]s angle
}

// judgeWords are the words of the judge's sheet.
type judgeWords struct {
	title                                            string
	Reading, Against, Angle, Rule, Uncertain, Better string // headings

	straight, asked string
	needed, moment  string

	Legend [3]string

	noSkill, noSkillDo, noRule string
	over, to, from, meet       string // bands in degrees short
	meetOff, BandOff           string
	Band, Deduction, Chance    string // heads of the table
	Widths                     string // in place of Band where shoulder widths are judged
	document, edition, section string
	seen, source, bandOrigin   string
	notIncluded, fewer, rests  string
	missed                     string // what a frame missed: which moment was caught, from, to
}

// plainWords are the words of the athlete's and the parent's sheet.
type plainWords struct {
	title                  string
	angle                  map[string]string // by measure, %s the angle in degrees
	below                  map[string]string // the same for an angle below 0, %s its size
	anyAngle               string
	short, meets           string
	undecided              string
	more, kept, notMore    string // skills that allow up to an angle
	none, away             string // skills that ask for 0
	enough                 string // of a free part
	noSkill                string
	widths                 string // of a rule about legs apart, %s shoulder widths
	bent                   string // of a knee that is bent
	sure                   string
	off                    string // beside the large number
	key                    [3]string
	CannotTitle, CareTitle string
	cannot                 []string
	care                   []string
	overSplit              string
}

// pairWords are the words of the page with two takes side by side.
type pairWords struct {
	title, first, second    string
	Differ                  string // heading
	real, realNot           string
	wider, narrower         string
	shared, sharedNothing   string
	scale, noScale          string
	level, asHeld, cautions string
}

// languages holds the words by language.
var languages = map[language.Base]*words{}

func register(tag language.Tag, w *words) *words {
	base, _ := tag.Base()
	languages[base] = w
	return w
}

// wordsFor returns the words for a locale, English if there are none.
func wordsFor(tag language.Tag) *words {
	base, _ := tag.Base()
	if w, ok := languages[base]; ok {
		return w
	}
	return english
}

// lookup returns the word for key, or one derived from key if there is none.
func lookup(table map[string]string, key string) string {
	if s, ok := table[key]; ok {
		return s
	}
	return strings.ReplaceAll(key, "-", " ")
}

// addressed returns the words for an athlete and, with the changes of parent, for a parent.
func addressed[W any](athlete W, parent func(w *W)) map[Audience]W {
	w := athlete
	parent(&w)
	return map[Audience]W{Athlete: athlete, Parent: w}
}

// kindWords are the words of the pages of months, of a screen and of a squad.
type kindWords struct {
	monthOf [12]string
	date    string // %[1]d day, %[2]s month, %[3]d year
	shows   map[Audience]map[string]string

	months monthsWords
	screen screenWords
	squad  squadWords
	group  groupWords

	contrast contrastWords
	protocol protocolWords

	screens screensWords
	takes   takesWords
	plan    planWords

	plain map[Audience]plainKindWords
}

// monthsWords are the words of the coach's page of months.
type monthsWords struct {
	title, span             string
	Change, Days, Sides     string // headings
	Sessions                string
	Kind, First, Last       string // heads of the table
	Changed, Smallest, Rate string
	Day, Angle, Takes       string
	aMonth                  string // "%s a month"
	leftOut, moreDays       string
	step, moreSteps         string
	real, notReal           string
	noSides                 string
	notKnown                string
}

// screenWords are the words of the coach's page of a screen.
type screenWords struct {
	title             string
	Gaps, Looks       string // headings
	Gap, Means        string // heads of the table
	Lost, There       string
	LooksNote         string
	fromTo            string
	side, takes, take string
}

// screensWords are the words of the page of a squad's screens.
type screensWords struct {
	title, asked, largest string
	Who, Tell             string // heads of the table
	Key                   string // how to read the table
	Without               string // heading
}

// takesWords are the words of a list of takes to make.
type takesWords struct {
	title, count, one string
	Order, Not        string // what the order is, and what does not stand here
}

// planWords are the words of a plan of takes.
type planWords struct {
	title, asked string // asked: %[1]s degrees, %[2]s the day
	key          string // %s of 10 cases
	Takes, Not   string // the head of the first column; what a plan takes for granted
}

// contrastWords are the words of the coach's page of a contrast.
type contrastWords struct {
	title                   string
	Separates, Next, Cannot string // headings
}

// protocolWords are the words of a protocol card.
type protocolWords struct {
	title      string
	Cares, Own string            // headings
	Blanks     []string          // what is written in by hand
	condition  map[string]string // in words
}

// squadWords are the words of the coach's page of a session.
type squadWords struct {
	title, Where            string
	short, meets, undecided string
	gap                     map[string]string
	rule                    string // %[1]s what is asked, %[2]s by which rule, %[3]s how it is known
	page                    string
}

// groupWords are the words of the page of a group.
type groupWords struct {
	title string
	Ways  string // heading
	Key   string // how to read the drawing
}

// plainKindWords are the words of the same pages for an athlete or a parent.
type plainKindWords struct {
	monthsTitle, screenTitle, squadTitle string
	days, oneDay                         string
	up, down, unseen, unknown            string
	reached, asks, allows                string
	off                                  string // beside the large number: %[1]s, on %[2]s
	last                                 string // if there is no large number: %[1]s, give or take %[2]s, on %[3]s
	screen, screenAsks                   string
	unsure, inside, sided, askedMost     string
	missing, nothing                     string
	lost                                 map[string]string // by gap
	lostUnknown                          string
	condition                            map[string]string
	picture                              string // "picture %d"
	askedLine                            string
	key                                  map[string]string // how to read the drawing, by page
	side                                 string
	cannotMonths, cannotScreen           []string
	cannotSquad                          []string
}

var kindLanguages = map[string]*kindWords{"en": kindEnglish}

func (s *setting) kind() *kindWords {
	if w, ok := kindLanguages[s.lang]; ok {
		return w
	}
	return kindEnglish
}

// dateOf returns a day in words.
func (s *setting) dateOf(d time.Time) string {
	k := s.kind()
	return fmt.Sprintf(k.date, d.Day(), k.monthOf[d.Month()-1], d.Year())
}

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
var quizLanguages = map[string]*quizWords{"en": quizEnglish}

func (s *setting) quiz() *quizWords {
	if w, ok := quizLanguages[s.lang]; ok {
		return w
	}
	return quizEnglish
}
