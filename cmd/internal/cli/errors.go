package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // the work failed
	exitInput  = 2 // the call or its input was wrong
)

// exit prints the error as two lines and returns the exit code.
func exit(err error, w io.Writer) int {
	if err == nil {
		return exitDone
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "stopped before it was done\nnothing was written; give the same command again to start over")
		return exitFailed
	}
	fact, hint := wordsOf(err)
	code := exitFailed
	var hinted interface{ Hint() string }
	if errors.As(err, &hinted) {
		code = exitInput
	}
	var failed interface{ Failed() bool }
	if errors.As(err, &failed) && failed.Failed() {
		code = exitFailed
	}
	fmt.Fprintf(w, "%s\n%s\n", fact, hint)
	return code
}

// wordsOf returns what is wrong and what to do, as the command line words it.
func wordsOf(err error) (fact, hint string) {
	fact, hint = fault.Words(err, terminal.Door)
	if hint == "" {
		hint = "this is no fault of yours: please report it with the command as you gave it"
	}
	return terminal.OneLine(fact), terminal.OneLine(hint)
}
