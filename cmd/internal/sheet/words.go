package sheet

import (
	"strings"

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
	made          string // the colophon
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

func speak(tag language.Tag, w *words) *words {
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

// look returns the word for key, or one derived from key if there is none.
func look(table map[string]string, key string) string {
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
