// Package rules has the commands of the rule books.
package rules

import (
	"fmt"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
)

func New(s terminal.Streams) *cobra.Command {
	var dir string
	var asJSON, priors, sources bool
	c := &cobra.Command{
		Use:   "rules",
		Short: "list, show, check and make rule books",
		Long: `Lists the rule books and their skills: what each asks, and how its figures are
known. A rule book of your own is a YAML file in a folder: 'ecart rules new'
makes one, 'ecart rules check' looks through one, 'ecart rules schema --help'
describes its form. One of the name of a built-in book takes its place.`,
		Example: `  ecart rules
  ecart rules show split-leap
  ecart rules new halle-nord --from fig-women
  ecart rules check halle-nord.yaml
  ecart rules --priors >mine.yaml`,
		Args: flags.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if priors && asJSON {
				return flags.Usage(c, "--priors prints YAML, which --json cannot change")
			}
			if priors {
				_, err := s.Out.Write(reading.PriorsFile())
				return err
			}
			return rulesList(s, dir, asJSON)
		},
	}
	flags.AddRulesDir(c.PersistentFlags(), &dir)
	c.PersistentFlags().BoolVar(&asJSON, "json", false, "print as JSON")
	c.Flags().BoolVar(&priors, "priors", false, "print the figures that a reading uses where it is told nothing better, to be changed and given to 'ecart read --priors'")
	show := &cobra.Command{
		Use: "show NAME", Short: "show a skill or a rule book, with the provenance of each figure",
		Example: "  ecart rules show split-leap\n  ecart rules show fig-women/bars-handstand\n  ecart rules show fig-aerobic",
		Args:    flags.OneArg("skill or rule book"),
		RunE:    func(c *cobra.Command, a []string) error { return rulesShow(s, dir, a[0], asJSON) },
	}
	check := &cobra.Command{
		Use: "check FILE | check --sources", Short: "look through a rule book of your own, or list figures that nobody compared with the document",
		Long: `Looks through a rule book of your own: keys, measures, bands without gap or
overlap, deductions that do not fall, and the provenance of each figure. Prints
every finding with its line and column. Exit 0 where nothing is wrong, else 2.

With --sources it lists the figures of all books that come from memory or at second
hand, as a list to tick off by whoever has the documents.`,
		Example: "  ecart rules check club.yaml\n  ecart rules check --sources",
		Args: func(c *cobra.Command, a []string) error {
			if sources {
				return flags.NoArgs(c, a)
			}
			return flags.OneArg("rule book")(c, a)
		},
		RunE: func(c *cobra.Command, a []string) error {
			if sources {
				return listSources(s, dir, asJSON)
			}
			return rulesCheck(s, a[0], asJSON)
		},
	}
	check.Flags().BoolVar(&sources, "sources", false, "list the figures of all books that nobody compared with the document")
	c.AddCommand(show, check, newRulesNew(s, &dir, &asJSON), newRulesSchema(s))
	return c
}

func rulesList(s terminal.Streams, dir string, asJSON bool) error {
	d := s.Desk("", dir)
	lib, err := d.Library()
	if err != nil {
		return err
	}
	d.WarnRules(lib)
	if asJSON {
		return terminal.PrintJSON(s.Out, lib.Books())
	}
	var p terminal.Printer
	for _, b := range lib.Books() {
		printBook(&p, b, lib)
	}
	p.Wrap("", "Ask for a skill as NAME or as BOOK/NAME. 'ecart rules show NAME' shows its bands and where its figures come from.")
	err = p.Print(s.Out)
	return err
}

func rulesShow(s terminal.Streams, dir, name string, asJSON bool) error {
	d := s.Desk("", dir)
	lib, err := d.Library()
	if err != nil {
		return err
	}
	shown, err := skillsNamed(lib, name)
	if err != nil {
		return desk.OrLeftOut(lib, err)
	}
	d.WarnRules(lib)
	if asJSON {
		return terminal.PrintJSON(s.Out, shown)
	}
	var p terminal.Printer
	if b, err := lib.Book(name); err == nil {
		printBookHead(&p, b)
	}
	for i, k := range shown {
		if i > 0 {
			p.Line("")
		}
		printSkill(&p, k)
	}
	err = p.Print(s.Out)
	return err
}

// skillsNamed returns the skills of a book, or those of this name in any book.
func skillsNamed(lib *rulebook.Library, name string) ([]rulebook.Skill, error) {
	if b, err := lib.Book(name); err == nil {
		return b.Skills, nil
	}
	if all := lib.Named(name); len(all) > 0 {
		return all, nil
	}
	k, err := lib.Skill(name)
	return []rulebook.Skill{k}, err
}

func rulesCheck(s terminal.Streams, file string, asJSON bool) error {
	problems, err := rulebook.CheckFile(file, desk.IsMeasure)
	if err != nil {
		return err
	}
	if asJSON {
		if problems == nil {
			problems = []rulebook.Problem{}
		}
		if err := terminal.PrintJSON(s.Out, problems); err != nil {
			return err
		}
	}
	if !asJSON {
		var p terminal.Printer
		for _, f := range problems {
			p.Line("%s", f.Error())
			p.Line("  %s", f.Hint())
		}
		if len(problems) == 0 {
			p.Line("%s: nothing wrong", file)
		}
		if err := p.Print(s.Out); err != nil {
			return err
		}
	}
	switch n := len(problems); n {
	case 0:
		return nil
	case 1:
		return fault.New(fmt.Sprintf("the rule book %q has a fault", file), "put it right, and check it again")
	default:
		return fault.New(fmt.Sprintf("the rule book %q has %d faults", file, n), "put them right, and check it again")
	}
}
