package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/fault"
)

// sheetKinds are what `ecart sheet` was asked of the pages that are of something else
// than one reading.
type sheetKinds struct {
	months       bool
	gaps         bool
	squad        bool
	movement     string
	day          string
	asked        askedOption
	state        string
	condition    string
	from, to     string
	quiz         bool
	score        string
	key, answers string
	given        *pflag.FlagSet
	own          []string // flags that only these pages have
}

// sheetKind is one of these pages.
type sheetKind struct {
	flag  string   // that asks for it
	flags []string // of the command, beside those that go with every page, that it heeds
	run   func(context.Context, streams, *sheetOptions, *sheetKinds) error
}

// kindsOfSheet lists them.
var kindsOfSheet = []sheetKind{
	{"change", []string{"for", "measure", "skill", "asked", "side", "state", "condition", "from", "to", "confidence", "rules", "journal"}, monthsRun},
	{"screen", []string{"for", "movement", "day", "skill", "asked", "side", "confidence", "seed", "rules", "journal"}, gapsRun},
	{"squad", slices.Concat(readingFlagNames, []string{"for", "who", "day", "state", "condition"}), sessionRun},
	{"quiz", slices.Concat(readingFlagNames, []string{"key", "answers", "in", "show-face"}), quizRun},
	{"score", []string{"key", "who"}, scoreRun},
}

// everyPage are the flags that go with every page.
var everyPage = []string{"out", "force", "paper", "locale", "json"}

// readingFlagNames are those by which takes are read.
var readingFlagNames = func() (out []string) {
	f := pflag.NewFlagSet("", pflag.ContinueOnError)
	addReadingFlags(f, &readOptions{})
	f.VisitAll(func(x *pflag.Flag) { out = append(out, x.Name) })
	return out
}()

const sheetKindsHelp = `
Other pages, each asked for by a flag of its own:

  --change ATHLETE          an athlete's months, from the journal
  --screen ATHLETE          the three gaps of one day, from the journal
  --squad LIST              a session, as 'ecart squad' reads it; for an athlete
                            or a parent, what one athlete showed in it
  --quiz READING|LIST ...   frames without answers, for judges to practise on
  --score ANSWERS           what a filled-in answer list comes to

The first three are for a coach, or in plain words for an athlete or a parent
where --for says so. A quiz has all heads covered unless --show-face says not to;
its key, which has the answers, is a file of its own.`

const sheetKindsExample = `
  ecart sheet --change Wren --measure hip-split --out months.html
  ecart sheet --screen Wren --movement split --for parent --out gaps.html
  ecart sheet --squad monday.csv --camera by-eye --out session.html
  ecart sheet --squad monday.csv --for parent --who Wren --out wren.html
  ecart sheet --quiz monday.csv --camera by-eye --out quiz.html \
      --key key.json --answers answers.csv
  ecart sheet --score answers.csv --key key.json --out score.html`

// withKinds adds the other pages to the command of one reading's sheet.
func withKinds(c *cobra.Command, s streams, o *sheetOptions) *cobra.Command {
	var k sheetKinds
	c.Long = strings.Replace(c.Long, "\n\nA sheet names no file", "\n"+sheetKindsHelp+"\n\nA sheet names no file", 1)
	c.Use += "\n  ecart sheet (--change | --screen) ATHLETE\n  ecart sheet --squad LIST\n  ecart sheet --quiz (READING | LIST) ...\n  ecart sheet --score ANSWERS --key KEY"
	c.Example += sheetKindsExample
	one := c.RunE
	c.RunE = func(c *cobra.Command, args []string) error {
		kind, err := k.page(c.Flags())
		if err != nil {
			return err
		}
		if kind == nil {
			return one(c, args)
		}
		o.ObliqueGiven = c.Flags().Changed("oblique")
		k.given = c.Flags()
		k.asked.given = c.Flags().Changed("asked")
		return kind.run(c.Context(), s, o, &k)
	}
	f := c.Flags()
	in := func(group string, add func()) {
		before := map[string]bool{}
		f.VisitAll(func(x *pflag.Flag) { before[x.Name] = true })
		add()
		f.VisitAll(func(x *pflag.Flag) {
			if !before[x.Name] {
				underHead(x, group)
				k.own = append(k.own, x.Name)
			}
		})
	}
	for _, name := range readingFlagNames {
		underHead(f.Lookup(name), "flags by which marks are read")
	}
	in("flags of months, a screen, a session", func() {
		f.BoolVar(&k.months, "change", false, "an athlete's months: what 'ecart change' finds, on a page")
		f.BoolVar(&k.gaps, "screen", false, "where the missing degrees are: what 'ecart screen' finds, on a page")
		f.BoolVar(&k.squad, "squad", false, "a session: what 'ecart squad' finds, on a page")
		f.StringVar(&k.movement, "movement", "", screenFlagMovement)
		f.StringVar(&k.day, "day", "", screenFlagDay)
		addAsked(f, &k.asked)
		f.StringVar(&k.state, "state", "", changeFlagState)
		f.StringVar(&k.condition, "condition", "", changeFlagCondition)
		f.StringVar(&k.from, "from", "", changeFlagFrom)
		f.StringVar(&k.to, "to", "", changeFlagTo)
	})
	in("flags of the practice for judges", func() {
		f.BoolVar(&k.quiz, "quiz", false, "a quiz from READINGs, whose takes are looked for in --in, or from LISTs of 'ecart squad'")
		f.StringVar(&k.score, "score", "", "score the `ANSWERS`, a CSV that was filled in; the page is written where --out names one")
		f.StringVar(&k.key, "key", "ecart-quiz-key.json", "the key `FILE`, with the readings: written by --quiz, and read by --score")
		f.StringVar(&k.answers, "answers", "ecart-quiz-answers.csv", "the CSV `FILE` for the answers, which --quiz writes empty")
	})
	return c
}

// page is the one that was asked for, nil for that of a reading.
func (k *sheetKinds) page(f *pflag.FlagSet) (*sheetKind, error) {
	var kind *sheetKind
	for i := range kindsOfSheet {
		switch one := &kindsOfSheet[i]; {
		case !f.Changed(one.flag) || f.Lookup(one.flag).Value.String() == "false":
		case kind != nil:
			return nil, fault.New(fmt.Sprintf("--%s and --%s are two pages", kind.flag, one.flag), "give one of them")
		default:
			kind = one
		}
	}
	var wrong []string
	f.Visit(func(x *pflag.Flag) {
		fits := !slices.Contains(k.own, x.Name)
		if kind != nil {
			fits = x.Name == kind.flag || slices.Contains(everyPage, x.Name) || slices.Contains(kind.flags, x.Name)
		}
		if !fits && x.Value.String() != "false" {
			wrong = append(wrong, "--"+x.Name)
		}
	})
	if len(wrong) == 0 {
		return kind, nil
	}
	what, do := "the sheet of a reading", "leave it out, or ask for another page: 'ecart sheet --help' lists them"
	if kind != nil {
		what = "--" + kind.flag
	}
	return nil, fault.New(fmt.Sprintf("%s has no use for %s", what, strings.Join(wrong, ", ")), do)
}

// underHead puts a flag under a head of its own in the help.
func underHead(f *pflag.Flag, head string) {
	if f.Annotations == nil {
		f.Annotations = map[string][]string{}
	}
	f.Annotations[groupOfFlag] = []string{head}
}

// groupOfFlag is the annotation that says under which head help lists a flag.
const groupOfFlag = "ecart_group"
