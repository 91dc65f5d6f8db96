package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"ecart/cmd/internal/output"
	"ecart/cmd/internal/text"
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

// halted is work that was stopped, of which a part is done and stays: what, what
// to do.
type halted struct{ fact, hint string }

func (e *halted) Error() string { return e.fact }
func (e *halted) Hint() string  { return e.hint }
func (e *halted) Failed() bool  { return true }

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
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		code = exitInput
	}
	var f *failure
	var drive interface{ Failed() bool } // as errors of the journal say
	if errors.As(err, &f) || errors.As(err, &drive) && drive.Failed() {
		code = exitFailed
	}
	fmt.Fprintf(w, "%s\n%s\n", fact, hint)
	return code
}

// wordsOf says what is wrong, and what to do.
func wordsOf(err error) (fact, hint string) {
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		return oneLine(err.Error()), oneLine(h.Hint())
	}
	return oneLine(err.Error()), "this is no fault of yours: please report it with the command as you gave it"
}

// oneLine and printable keep text from other lines and from controlling the terminal.
var oneLine, printable = text.OneLine, text.Printable

// results is standard output: what cannot be written to it is a failure.
type results struct{ io.Writer }

func (r results) Write(b []byte) (int, error) {
	n, err := r.Writer.Write(b)
	if err != nil {
		err = &failure{fact: fmt.Sprintf("the result cannot be written to standard output: %v", output.Cause(err)),
			hint: "check where standard output goes, and the room left there", err: err}
	}
	return n, err
}
