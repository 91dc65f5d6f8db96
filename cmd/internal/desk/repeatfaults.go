package desk

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
	"ecart/vision/take"
)

const (
	wordsUnnamed = "unnamed"
	wordsFirst   = "%s first"
	wordsSecond  = "%s again"
	noteSitting  = "marks made in one sitting, with the earlier ones in sight or in mind, come out too alike: mark again on another day"
)

func noteScaled(longSide int) string {
	return fmt.Sprintf("the pictures are of several sizes: pixels are counted as if the longer side had %d", longSide)
}

func noteNotKept(rater string) string {
	return fmt.Sprintf("no figure of %s was kept: too few points were placed again", rater)
}

func nothingToKeep() error {
	return fault.New(fmt.Sprintf("there is no rater who placed points again often enough: a figure takes %d degrees of freedom", leastFreedom),
		"mark some more frames again, or leave "+fault.Option("keep")+" out")
}

// inLine puts the list's line before what is wrong with one of its files.
func inLine(r markedRow, err error) error {
	if r.line == 0 {
		return err
	}
	return fault.In(fmt.Sprintf("line %d of the list", r.line), err)
}

func otherFrame(r markedRow, frame int) error {
	return fault.New(fmt.Sprintf("frame %d is named, and the marks in %q are for frame %d", r.frame, r.marks, frame), "name the marks of that frame, or leave the column out")
}

func pastEnd(r markedRow, frame int, info take.Info) error {
	return fault.New(fmt.Sprintf("the marks in %q are for frame %d, and %q has %s", r.marks, frame, info.Name, Count(info.Frames, "frame")), "name the take that was marked; frames count from 0")
}

func foundNotPlaced(r markedRow) error {
	return fault.New(fmt.Sprintf("marks in %q were found by stickers and not placed by a rater", r.marks), "name marks that somebody placed")
}

func copied(a, b string) error {
	return fault.New(fmt.Sprintf("the marks in %q and %q are the same to the last digit", a, b), "name each file once, and mark the frame anew instead of copying")
}

func noSuchRater(list, name string, rows []markedRow) error {
	var names []string
	for _, r := range rows {
		if !slices.Contains(names, r.rater) {
			names = append(names, r.rater)
		}
	}
	return fault.New(fmt.Sprintf("the list %q has no rater %q", list, name), "it has "+strings.Join(names, ", "))
}

func emptyList(name string) error {
	return fault.New(fmt.Sprintf("the list %q has no line to read", name), "its first line names the columns, take,frame,rater,marks; one line a marking follows")
}

func noColumn(name, column string, head []string) error {
	hint := fmt.Sprintf("its first line is to be take,frame,rater,marks and is %q", strings.Join(head, ","))
	if near := text.Nearest(column, head); near != "" {
		hint = fmt.Sprintf("did you mean it by %q? %s", near, hint)
	}
	return fault.New(fmt.Sprintf("the list %q has no column %q", name, column), hint)
}

func noValue(name string, line int, column string) error {
	return fault.New(fmt.Sprintf("line %d of the list %q has no %s", line, name, column), "fill it in, or take the line out")
}

func noFrame(name string, line int, value string) error {
	return fault.New(fmt.Sprintf("line %d of the list %q has the frame %q", line, name, value), "give a whole number from 0 on, or leave it empty")
}
