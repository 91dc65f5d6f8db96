package take

import "fmt"

// Error is what Open, Frame and Stream return for a file or a frame that cannot be used: what is
// wrong, and what to do next.
type Error struct {
	what, next string
	cause      error
}

// Error says what is wrong, with the name of the file.
func (e *Error) Error() string {
	if e.cause != nil {
		return e.what + ": " + e.cause.Error()
	}
	return e.what
}

// Hint says what to do next.
func (e *Error) Hint() string { return e.next }

// Unwrap returns the cause, nil where there is none of its own.
func (e *Error) Unwrap() error { return e.cause }

const wanted = "give a still (JPEG, PNG, WebP, HEIC) or a clip (MP4, MOV and similar)"

func wrong(next, format string, args ...any) *Error {
	return &Error{what: fmt.Sprintf(format, args...), next: next}
}

func (e *Error) because(cause error) *Error {
	e.cause = cause
	return e
}
