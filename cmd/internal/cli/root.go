// Package cli is the command line: its root, help and exit codes. Each group of commands has
// a folder; they share the packages terminal and flags.
//
// For all commands: results go to standard output, all else to standard error. The exit code is
// 0 if the work is done, 1 if it failed, 2 if the call or its input was
// wrong. An error is two lines: what is wrong, and what to do next. A failed
// command leaves no half-written file. Long work shows progress on a terminal
// and none in a pipe.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/rules"
	"ecart/cmd/internal/cli/sheets"
	"ecart/cmd/internal/cli/squad"
	"ecart/cmd/internal/cli/takes"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"

	"github.com/spf13/cobra"
)

// Main runs the command line and returns the exit code. The first Ctrl-C, or the end of the
// terminal, lets the command finish cleanly; the second ends it at once.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	limitGarbage()
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // as under nohup
		signals = append(signals, syscall.SIGHUP)
	}
	signal.Ignore(syscall.SIGXFSZ) // a file at its size limit becomes a write error
	ctx, stop := signal.NotifyContext(context.Background(), signals...)
	defer stop()
	context.AfterFunc(ctx, stop)
	root := newRoot(terminal.Streams{In: in, Out: terminal.Results{Writer: out}, Err: errs})
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var part *fault.Error
	if err != nil && ctx.Err() != nil && !(errors.As(err, &part) && part.Stopped()) {
		err = ctx.Err() // any other error is a consequence
	}
	return exit(err, errs)
}

// Command returns ecart with all its commands, for documentation: it reads and writes nothing.
func Command() *cobra.Command {
	return newRoot(terminal.Streams{In: strings.NewReader(""), Out: io.Discard, Err: io.Discard})
}

func newRoot(s terminal.Streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "ecart",
		Short: "read a joint angle off a picture, and say how good the number is",
		Long: `écart reads joint angles off stills and clips from a phone: hip split, shoulder
flexion, leg separation and their kin. It says what each angle is, how well it
is known, which source spoils it most, and how probable each deduction band is.

Everything stays on this machine. It measures; it does not diagnose or
prescribe.`,
		Example: `  ecart demo
  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --figure leap.png`,
		Version:       desk.Version(),
		SilenceErrors: true, SilenceUsage: true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
		Args:              flags.NoArgs,
		PersistentPreRunE: flags.NoEmptyFlags,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	root.SetFlagErrorFunc(flags.FlagError)
	root.SetHelpFunc(help)
	root.SetVersionTemplate("ecart {{.Version}}\n")
	for _, c := range []*cobra.Command{takes.NewDemo(s), takes.NewRead(s), takes.NewFollow(s), takes.NewPropose(s), rules.New(s), takes.NewLens(s), sheets.New(s), record.NewChange(s), record.NewScreen(s), record.NewPlan(s), record.NewProtocol(s), squad.New(s), record.NewRepeat(s), record.NewJournal(s), newPage(s)} {
		root.AddCommand(c)
	}
	root.SetHelpCommand(newHelp())
	return root
}

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

// collectFrom is how much memory Go may use, in bytes, before the collector runs more often.
// Without it garbage grows to the size of the data, 400 MB for a picture of 400 MB. Live data may
// exceed it.
const collectFrom = 400 << 20

// limitGarbage sets collectFrom unless GOMEMLIMIT sets another limit.
func limitGarbage() {
	if debug.SetMemoryLimit(-1) == math.MaxInt64 {
		debug.SetMemoryLimit(collectFrom)
	}
}
