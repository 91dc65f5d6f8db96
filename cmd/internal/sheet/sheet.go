package sheet

import (
	"fmt"
	"image"
	"io"
	"slices"

	"golang.org/x/text/language"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
)

// Audience is the reader of a sheet.
type Audience string

// The three readers.
const (
	Judge   Audience = "judge"
	Athlete Audience = "athlete"
	Parent  Audience = "parent"
)

// Audiences lists them.
var Audiences = []string{string(Judge), string(Athlete), string(Parent)}

// Paper is the paper size of a sheet.
type Paper string

// The two papers.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// Papers lists them.
var Papers = []string{string(A4), string(Letter)}

// Input is one reading with everything that a sheet shows.
type Input struct {
	Reading *reading.Reading
	Picture image.Image // the frame of the reading, in the size stated there

	// Rule is the rule book's entry, with its sections and sources. It is nil if the
	// reading has no skill or the rule book is not available.
	Rule *rulebook.Skill

	Who    string // an athlete's pseudonym; may be empty
	Day    string // of the take, 2006-01-02; may be empty
	State  string // cold, warm, after; may be empty
	Covers []figure.Cover
	Level  *[2]reading.Pixel // two points on a level or plumb line, nil if not marked
}

// Options are the audience, the paper and the locale of a sheet.
type Options struct {
	For    Audience     // Judge if empty
	Paper  Paper        // A4 if empty
	Locale language.Tag // of numbers, and of words if there are any in its language; English if zero
}

// problem returns the error of a sheet that cannot be written, with what to do.
func problem(do, format string, a ...any) error { return fault.New(fmt.Sprintf(format, a...), do) }

// Write writes the sheet of a reading.
func Write(w io.Writer, in Input, opt Options) error {
	s, err := newSetting(opt)
	if err != nil {
		return err
	}
	if err := in.check(); err != nil {
		return err
	}
	if opt.For == Athlete || opt.For == Parent {
		return s.plain(w, in, opt.For)
	}
	return s.judge(w, in)
}

func (o Options) check() error {
	if o.For != "" && !slices.Contains(Audiences, string(o.For)) {
		return problem("make it for judge, athlete or parent", "there is no sheet for %q", string(o.For))
	}
	if o.Paper != "" && !slices.Contains(Papers, string(o.Paper)) {
		return problem("print it on a4 or letter", "the paper %q is not known", string(o.Paper))
	}
	return nil
}

func (in *Input) check() error {
	switch {
	case in.Reading == nil:
		return problem("read a frame first", "there is no reading to explain")
	case in.Picture == nil || in.Picture.Bounds().Empty():
		return problem("give the take that was read", "there is no picture to explain the reading on")
	}
	return nil
}
