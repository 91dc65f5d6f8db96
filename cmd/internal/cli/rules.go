package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
)

func addRulesDir(f *pflag.FlagSet, dir *string) {
	f.StringVar(dir, "rules", "", "a `FOLDER` of rule books of your own (default the user's, ecart/rules in the configuration folder)")
}

func newRules(s streams) *cobra.Command {
	var dir string
	var asJSON, priors bool
	c := &cobra.Command{
		Use:   "rules",
		Short: "list, show and check rule books",
		Long: `Lists the rule books and their skills: what each asks, and how its figures are
known. A rule book of your own is a YAML file in a folder; 'ecart rules check'
looks through one.`,
		Example: "  ecart rules\n  ecart rules show split-leap\n  ecart rules check club.yaml",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if priors {
				_, err := s.out.Write(reading.PriorsFile())
				return err
			}
			return rulesList(s, dir, asJSON)
		},
	}
	addRulesDir(c.PersistentFlags(), &dir)
	c.PersistentFlags().BoolVar(&asJSON, "json", false, "print as JSON")
	c.Flags().BoolVar(&priors, "priors", false, "print the figures a reading uses where it is told nothing better")
	show := &cobra.Command{
		Use: "show NAME", Short: "show a skill or a rule book, with the provenance of each figure",
		Example: "  ecart rules show split-leap\n  ecart rules show fig-aerobic",
		Args:    cobra.ExactArgs(1),
		RunE:    func(c *cobra.Command, a []string) error { return rulesShow(s, dir, a[0], asJSON) },
	}
	check := &cobra.Command{
		Use: "check FILE", Short: "look through a rule book of your own",
		Example: "  ecart rules check club.yaml",
		Args:    cobra.ExactArgs(1),
		RunE:    func(c *cobra.Command, a []string) error { return rulesCheck(s, a[0], asJSON) },
	}
	c.AddCommand(show, check)
	return c
}

func rulesList(s streams, dir string, asJSON bool) error {
	lib, err := library(dir, s.err)
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(s.out, lib.Books())
	}
	var p printer
	for _, b := range lib.Books() {
		p.line("%s  %s", b.ID, b.Title)
		for _, k := range b.Skills {
			p.line("  %-20s %-17s %-12s %s", k.Name, k.Measure, askedWords(k), k.Origin.Provenance)
		}
		p.line("")
	}
	p.line("ask for a skill as NAME, or as BOOK/NAME; 'ecart rules show NAME' shows its bands")
	_, err = io.WriteString(s.out, p.b.String())
	return err
}

func askedWords(k rulebook.Skill) string {
	switch {
	case k.NotMeasured != "":
		return "not measured"
	case k.AtMost:
		return fmt.Sprintf("at most %g°", k.AskedDeg+k.FreeDeg)
	}
	return fmt.Sprintf("%g°", k.AskedDeg)
}

func rulesShow(s streams, dir, name string, asJSON bool) error {
	lib, err := library(dir, s.err)
	if err != nil {
		return err
	}
	var shown []rulebook.Skill
	for _, b := range lib.Books() {
		if b.ID == name {
			shown = b.Skills
		}
	}
	if len(shown) == 0 {
		if shown = lib.Named(name); len(shown) == 0 {
			k, err := lib.Skill(name)
			if err != nil {
				return err
			}
			shown = []rulebook.Skill{k}
		}
	}
	if asJSON {
		return printJSON(s.out, shown)
	}
	var p printer
	for i, k := range shown {
		if i > 0 {
			p.line("")
		}
		p.skill(k)
	}
	_, err = io.WriteString(s.out, p.b.String())
	return err
}

func (p *printer) skill(k rulebook.Skill) {
	p.line("%s  %s", k.Ref(), k.Title)
	if k.NotMeasured != "" {
		p.wrap("  ", "worded for what this tool does not measure: "+k.NotMeasured)
	} else {
		p.line("  asks %s of %s", askedWords(k), k.Measure)
	}
	for _, b := range k.Bands {
		what := b.Deduction
		if what == "" {
			what = b.Label
		}
		where := fmt.Sprintf("%g to %g short", b.OverDeg, deref(b.ToDeg))
		switch {
		case b.When != "":
			where = b.When
		case math.IsInf(deref(b.ToDeg), 1):
			where = fmt.Sprintf("over %g short", b.OverDeg)
		}
		origin := ""
		if b.Origin != nil {
			origin = "  " + string(b.Origin.Provenance)
		}
		p.line("  %-16s %s%s", where, what, origin)
	}
	p.wrap("  ", fmt.Sprintf("%s: %s; edition %s", k.Origin.Provenance, k.Origin, k.Origin.Edition))
	if k.NotMeasured == "" {
		p.wrap("  ", rulebook.Convention)
	}
	for _, n := range append([]string{k.Note}, k.Cautions...) {
		if strings.TrimSpace(n) != "" {
			p.wrap("  ", n)
		}
	}
}

func rulesCheck(s streams, file string, asJSON bool) error {
	problems, err := rulebook.CheckFile(file, isMeasure)
	if err != nil {
		return err
	}
	if asJSON {
		if problems == nil {
			problems = []rulebook.Problem{}
		}
		if err := printJSON(s.out, problems); err != nil {
			return err
		}
	} else {
		for _, p := range problems {
			fmt.Fprintf(s.out, "%s\n  %s\n", p.Error(), p.Hint())
		}
		if len(problems) == 0 {
			fmt.Fprintf(s.out, "%s: nothing wrong\n", file)
		}
	}
	if len(problems) > 0 {
		return &inputError{fmt.Sprintf("%q has %d problems", file, len(problems)), "put them right and check again"}
	}
	return nil
}
