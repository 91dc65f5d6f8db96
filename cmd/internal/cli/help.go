package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
)

// newHelp is `ecart help COMMAND`, the same as `ecart COMMAND --help`.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "say what a command does, and show its flags",
		RunE: func(c *cobra.Command, args []string) error {
			asked, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return flags.NoCommand(c.Root(), strings.Join(args, " "))
			}
			asked.InitDefaultHelpFlag()
			asked.InitDefaultVersionFlag()
			return asked.Help()
		},
	}
}

// help prints what a command does, an example, its commands and its flags.
func help(c *cobra.Command, _ []string) {
	var b strings.Builder
	part := func(head, body string) {
		if body = strings.TrimRight(body, " \n"); body != "" {
			fmt.Fprintf(&b, "\n%s\n%s\n", head, body)
		}
	}
	text := c.Long
	if text == "" {
		text = c.Short
	}
	fmt.Fprintln(&b, text)
	use := c.Use
	if parent := c.Parent(); parent != nil {
		use = parent.CommandPath() + " " + use
	}
	if c.HasAvailableSubCommands() {
		use += " [COMMAND]"
	}
	part("usage", "  "+use)
	part("for example", c.Example)
	var subs strings.Builder
	wide := 8
	for _, sub := range c.Commands() {
		wide = max(wide, len(sub.Name()))
	}
	for _, sub := range c.Commands() {
		if sub.IsAvailableCommand() || sub.Name() == "help" {
			fmt.Fprintf(&subs, "  %-*s %s\n", wide, sub.Name(), sub.Short)
		}
	}
	part("commands", subs.String())
	part("flags", c.LocalFlags().FlagUsagesWrapped(terminal.HelpWidth))
	part("inherited flags", c.InheritedFlags().FlagUsagesWrapped(terminal.HelpWidth))
	if subs.Len() > 0 {
		fmt.Fprintf(&b, "\n'%s COMMAND --help' says more about one.\n", c.CommandPath())
	}
	fmt.Fprint(c.OutOrStdout(), b.String())
}
