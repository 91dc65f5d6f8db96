// Package fault is the one error type for what a person can put right: it says what is
// wrong and what to do. It imports nothing of ours.
//
// An error may name options ("camera", "at"). Where one is called --camera, another is a
// column of a list and a third a part of a page, so that a name stands in the text as
// [Option] marks it, and each door words it with [Words].
package fault

import (
	"errors"
	"strings"
)

// Error says what is wrong and what to do. The zero value is not used: see New, Failed
// and Stopped.
type Error struct {
	fact, hint      string // with options as Option marks them
	failed, stopped bool
	cause           error
}

// New is an error of the input or of the call.
func New(fact, hint string) *Error { return &Error{fact: fact, hint: hint} }

// Failed is work that failed although the input was right; cause is what lies behind it,
// or nil.
func Failed(fact, hint string, cause error) *Error {
	return &Error{fact: fact, hint: hint, failed: true, cause: cause}
}

// Stopped is work that somebody stopped, of which a part is done and stays.
func Stopped(fact, hint string) *Error {
	return &Error{fact: fact, hint: hint, failed: true, stopped: true}
}

// Because is e with what lies behind it.
func (e *Error) Because(cause error) *Error {
	out := *e
	out.cause = cause
	return &out
}

// Error says what is wrong; options stand in it by their bare names.
func (e *Error) Error() string { return Bare(e.fact) }

// Hint says what to do; options stand in it by their bare names.
func (e *Error) Hint() string { return Bare(e.hint) }

// Failed reports that the work failed and the input was right.
func (e *Error) Failed() bool { return e.failed }

// Stopped reports that a part of the work is done and stays.
func (e *Error) Stopped() bool { return e.stopped }

// Unwrap is what lies behind the error, or nil.
func (e *Error) Unwrap() error { return e.cause }

// In is err with the place it is about before it, such as "line 3 of the list". An error
// without a hint stays as it is.
func In(place string, err error) error {
	var hinted interface{ Hint() string }
	if !errors.As(err, &hinted) {
		return err
	}
	out := &Error{fact: place + ": " + err.Error(), hint: hinted.Hint(), cause: err}
	var e *Error
	if errors.As(err, &e) {
		out.fact, out.hint = place+": "+strings.Replace(err.Error(), e.Error(), e.fact, 1), e.hint
		out.failed, out.stopped = e.failed, e.stopped
	}
	return out
}

// An option's name stands between these two, which no text has that people read.
const begin, end = "\x0e", "\x0f"

// Option marks the name of an option within a text.
func Option(name string) string { return begin + name + end }

// Words are what is wrong and what to do, with every option worded by name, which gets
// its bare name. The hint is "" where err has none.
func Words(err error, name func(option string) string) (fact, hint string) {
	fact = err.Error()
	var hinted interface{ Hint() string }
	if errors.As(err, &hinted) {
		hint = hinted.Hint()
	}
	var e *Error
	if errors.As(err, &e) {
		fact = strings.Replace(fact, e.Error(), Worded(e.fact, name), 1)
		hint = strings.Replace(hint, e.Hint(), Worded(e.hint, name), 1)
	}
	return fact, hint
}

// Bare is a text with every option by its bare name.
func Bare(text string) string { return Worded(text, func(option string) string { return option }) }

// Worded is a text with every option worded by name.
func Worded(text string, name func(option string) string) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(text, begin)
		option, after, closed := strings.Cut(rest, end)
		if !ok || !closed {
			b.WriteString(text)
			return b.String()
		}
		b.WriteString(before + name(option))
		text = after
	}
}
