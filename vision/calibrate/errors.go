package calibrate

import "fmt"

// Error says what is wrong with a board, a picture or a set of pictures, and
// what to do next.
type Error struct{ fact, hint string }

func (e *Error) Error() string { return e.fact }

// Hint says what to do next.
func (e *Error) Hint() string { return e.hint }

func wrong(hint, format string, args ...any) *Error {
	return &Error{fact: fmt.Sprintf(format, args...), hint: hint}
}
