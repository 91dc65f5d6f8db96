package sheet

import (
	"fmt"
	"time"
)

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

var kindSpoken = map[string]*kindWords{"en": kindEnglish}

func (s *setting) kind() *kindWords {
	if w, ok := kindSpoken[s.lang]; ok {
		return w
	}
	return kindEnglish
}

// dateOf returns a day in words.
func (s *setting) dateOf(d time.Time) string {
	k := s.kind()
	return fmt.Sprintf(k.date, d.Day(), k.monthOf[d.Month()-1], d.Year())
}
