package take

import "fmt"

// Error is the error of Open, Frame and Stream for a file or a frame that cannot be used. Error says
// what is wrong, and Hint what to do next.
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

// Unwrap returns the cause, nil if there is none.
func (e *Error) Unwrap() error { return e.cause }

const formatsHint = "give a still (JPEG, PNG, WebP, HEIC) or a clip (MP4, MOV and similar)"

func newError(next, format string, args ...any) *Error {
	return &Error{what: fmt.Sprintf(format, args...), next: next}
}

func (e *Error) withCause(cause error) *Error {
	e.cause = cause
	return e
}

// plural returns n with the word "frame" or "frames".
func plural(n int) string {
	if n == 1 {
		return "1 frame"
	}
	return fmt.Sprintf("%d frames", n)
}
