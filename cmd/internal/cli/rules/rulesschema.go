package rules

import (
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/rulebook"
)

func newRulesSchema(s terminal.Streams) *cobra.Command {
	return &cobra.Command{
		Use: "schema", Short: "print the form of a rule book as a JSON Schema",
		Long: `Prints the form of a rule book as a JSON Schema (draft 2020-12), by which editors
explain the keys and underline mistakes. 'ecart rules new' puts it beside a new
book, whose first line tells the editor so.

A rule book is YAML such as this:

` + exampleBook() + `
Keys that may be left out: note, default, at_most, free_deg, straight_legs,
cautions; label and origin in a band; document and edition (the book's then), section and seen in an
origin. A band may have an origin of its own. A skill that is not measured has
not_measured in place of measure, asked_deg, at_most and free_deg, and its bands
have when in place of over_deg and to_deg. There are no anchors, aliases or tags.

What no schema can say, 'ecart rules check' looks at too: that each band starts
where the one before it ends, that a deduction does not fall as the shortfall
grows and stands in every band or in none, that no name comes twice, that straight_legs
names a skill of the book about bent knees.`,
		Example: "  ecart rules schema >rulebook.schema.json",
		Args:    flags.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := s.Out.Write(rulebook.JSONSchema())
			return err
		},
	}
}

// exampleBook is the example that a new book begins from, set in.
func exampleBook() string {
	text, err := rulebook.Template("halle-nord")
	if err != nil {
		return ""
	}
	var b strings.Builder
	_, text1, _ := strings.Cut(string(text), "\nschema:")
	for _, line := range strings.Split(strings.TrimSuffix("schema:"+text1, "\n"), "\n") {
		b.WriteString(strings.TrimRight("  "+line, " ") + "\n")
	}
	return b.String()
}
