// Package cli is the command line. It is the only place flags are known, and
// where takes, readings, figures and rule books meet.
//
// The contract with the terminal: results go to standard output, all else to
// standard error. Exit 0 done, 1 the work failed, 2 the call or its input was
// wrong. An error is two lines: what is wrong, and what to do next. A failed
// command leaves no half-written file.
package cli

import (
	"context"
	"io"
	"os"
	"os/signal"

	"github.com/spf13/cobra"
)

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// Main runs the command line and returns the exit code.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	root := newRoot(streams{in, out, errs})
	root.SetArgs(args)
	return exit(root.ExecuteContext(ctx), errs)
}

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "ecart",
		Short: "read a joint angle off a picture, and say how good the number is",
		Long: `écart reads joint angles off stills and clips from a phone: hip split, shoulder
flexion, leg separation and their kin. It says what each angle is, how well it
is known, which source spoils it most, and how probable each deduction band is.

Everything stays on this machine. It measures; it does not diagnose or prescribe.`,
		Example:       "  ecart demo\n  ecart read leap.mp4 --marks leap.marks.json --skill split-leap --figure leap.png",
		SilenceErrors: true, SilenceUsage: true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
		Args:              cobra.NoArgs,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return usage(c, err) })
	for _, c := range []*cobra.Command{newDemo(s), newRead(s), newRules(s)} {
		root.AddCommand(c)
	}
	checkArgs(root)
	return root
}

// checkArgs gives every command's complaint about its arguments the form of an
// input error.
func checkArgs(c *cobra.Command) {
	if check := c.Args; check != nil {
		c.Args = func(c *cobra.Command, args []string) error {
			if err := check(c, args); err != nil {
				return usage(c, err)
			}
			return nil
		}
	}
	for _, sub := range c.Commands() {
		checkArgs(sub)
	}
}
