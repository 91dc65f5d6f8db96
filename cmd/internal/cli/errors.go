package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // the work failed
	exitInput  = 2 // the call or its input was wrong
)

// inputError is a call or an input that is wrong: what is wrong, what to do.
type inputError struct{ fact, hint string }

func (e *inputError) Error() string { return e.fact }
func (e *inputError) Hint() string  { return e.hint }

// failure is work that failed though the input was right: what, what to do.
type failure struct {
	fact, hint string
	err        error
}

func (e *failure) Error() string { return e.fact }
func (e *failure) Hint() string  { return e.hint }
func (e *failure) Unwrap() error { return e.err }

// usage is a call that the command does not understand.
func usage(c *cobra.Command, err error) error {
	return &inputError{err.Error(), fmt.Sprintf("see '%s --help'", c.CommandPath())}
}

// exit prints the error as two lines and returns the exit code.
func exit(err error, w io.Writer) int {
	if err == nil {
		return exitDone
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "stopped\nnothing was written")
		return exitFailed
	}
	fact, hint := oneLine(err.Error()), "this is not your fault; the same call with --json may say more"
	code := exitFailed
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		hint, code = oneLine(h.Hint()), exitInput
	} else if strings.HasPrefix(fact, "unknown command") {
		fact, _, _ = strings.Cut(fact, " for ")
		hint, code = "see 'ecart --help'", exitInput
	}
	var f *failure
	if errors.As(err, &f) {
		code = exitFailed
	}
	fmt.Fprintf(w, "%s\n%s\n", fact, hint)
	return code
}

// oneLine keeps an error to its line.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
