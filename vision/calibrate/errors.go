package calibrate

import "fmt"

// Error is the error for a board, a picture or a set of pictures that cannot be used.
type Error struct{ fact, hint string }

func (e *Error) Error() string { return e.fact }

// Hint says what to do next.
func (e *Error) Hint() string { return e.hint }

func newError(hint, format string, args ...any) *Error {
	return &Error{fact: fmt.Sprintf(format, args...), hint: hint}
}
