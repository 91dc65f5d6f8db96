// Package fault is the one error type for what a person can put right: it says what is
// wrong and what to do. It imports nothing of ours.
//
// An error may name options ("camera", "at") and operations ("list the readings"). An option
// is a flag of the command line, a column of a list, or a field of the page; an operation is
// a command or a place on the page. So both stand in the text by name, as [Option] and
// [Operation] mark them, and each door words them with [Words].
package fault

import (
	"errors"
	"strings"
)

// Error says what is wrong and what to do. The zero value is not used: see New, Failed
// and Stopped.
type Error struct {
	fact, hint      string // with what Option and Operation mark
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

// Error says what is wrong, as [Bare] words it.
func (e *Error) Error() string { return Bare(e.fact) }

// Hint says what to do, as [Bare] words it.
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

// A name stands between begin and end, which no text has that people read. An operation's
// name, and everything that it is given, stands after a part.
const begin, end, part = "\x0e", "\x0f", "\x10"

// Option marks the name of an option within a text.
func Option(name string) string { return begin + name + end }

// Operation marks something that écart does within a text, such as "list the readings", with
// what it is given, such as the number of a reading.
func Operation(name string, given ...string) string {
	return begin + part + strings.Join(append([]string{name}, given...), part) + end
}

// Door words what stands in a text by name.
type Door struct {
	Option    func(name string) string
	Operation func(name string, given ...string) string
}

// NoDoor words texts that belong to no door, such as JSON and tables.
var NoDoor = Door{
	func(name string) string { return name },
	func(name string, given ...string) string {
		return "“" + strings.Join(append([]string{name}, given...), " ") + "”"
	},
}

// Words are what is wrong and what to do, as d words them. The hint is "" where err has none.
func Words(err error, d Door) (fact, hint string) {
	fact = err.Error()
	var hinted interface{ Hint() string }
	if errors.As(err, &hinted) {
		hint = hinted.Hint()
	}
	var e *Error
	if errors.As(err, &e) {
		fact = strings.Replace(fact, e.Error(), Worded(e.fact, d), 1)
		hint = strings.Replace(hint, e.Hint(), Worded(e.hint, d), 1)
	}
	return fact, hint
}

// Marked are what is wrong and what to do, with the marks of [Option] and [Operation].
func Marked(err error) (fact, hint string) { return Words(err, Door{Option, Operation}) }

// Bare is a text with options by their bare names, and operations by theirs in quotation marks.
func Bare(text string) string { return Worded(text, NoDoor) }

// Worded is a text as d words it.
func Worded(text string, d Door) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(text, begin)
		name, after, closed := strings.Cut(rest, end)
		if !ok || !closed {
			b.WriteString(text)
			return b.String()
		}
		b.WriteString(before)
		if operation, ok := strings.CutPrefix(name, part); ok {
			parts := strings.Split(operation, part)
			b.WriteString(d.Operation(parts[0], parts[1:]...))
		} else {
			b.WriteString(d.Option(name))
		}
		text = after
	}
}
