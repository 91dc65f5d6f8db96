package folder

import "fmt"

// Kind is what is wrong with a take or with the folder.
type Kind int

const (
	Unusable   Kind = iota // the folder cannot be used
	NoTake                 // there is no such take
	TakeGone               // somebody removed the file of the take
	Leaving                // the take is just being removed
	Unreadable             // what is known of the take cannot be read
)

// Error says what is wrong and what to do.
type Error struct {
	Kind     Kind
	what, do string
}

func (e *Error) Error() string { return e.what }

// Hint says what to do next.
func (e *Error) Hint() string { return e.do }

// ErrNoTake is the error for an id that no take has.
var ErrNoTake error = &Error{NoTake, "there is no such take here", "choose one from the list, or drop the file again"}

// Gone is the error for a take whose file somebody removed.
func Gone(name string) error {
	return &Error{TakeGone, fmt.Sprintf("%q is no longer in the data folder", name), "drop the file again: its marks are still here"}
}
