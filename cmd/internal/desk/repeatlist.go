package desk

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/text"
	"ecart/vision/take"
)

// marking is a marks file, or a rater's line of a list, for one frame.
type marking struct {
	rater string
	file  string // the marks file
	take  reading.Take
	marks *reading.Marks
}

// frame returns a key of the frame that does not depend on the name of the take.
func (m *marking) frame() string {
	what := m.take.SHA256
	if what == "" { // the take could not be read to its end
		what = m.take.Name
	}
	return what + " " + strconv.Itoa(m.take.Frame)
}

// markedRow is a line of the list: a frame marked once.
type markedRow struct {
	line               int
	take, rater, marks string
	frame              int // -1: that of the marks file
}

// IsList reports whether a file is a list of markings.
func IsList(path string) bool { return strings.EqualFold(filepath.Ext(path), ".csv") }

// markings reads the list, or the marks files of one take.
func (d *Desk) markings(ctx context.Context, o RepeatAsk) ([]marking, error) {
	var rows []markedRow
	if IsList(o.Files[0]) {
		data, err := ReadSmall("list", o.Files[0])
		if err != nil {
			return nil, err
		}
		var note string
		if rows, note, err = parseRepeatList(o.Files[0], data); err != nil {
			return nil, err
		}
		if note != "" {
			d.opt.Note(note)
		}
		dir := filepath.Dir(o.Files[0])
		for i := range rows {
			rows[i].take, rows[i].marks = inFolder(dir, rows[i].take), inFolder(dir, rows[i].marks)
		}
		if o.Rater != "" {
			all := rows
			rows = slices.DeleteFunc(slices.Clone(rows), func(r markedRow) bool { return !strings.EqualFold(r.rater, o.Rater) })
			if len(rows) == 0 {
				return nil, noSuchRater(o.Files[0], o.Rater, all)
			}
		}
	} else {
		rater := o.Rater
		if rater == "" {
			rater = wordsUnnamed
		}
		for _, f := range o.Files[1:] {
			rows = append(rows, markedRow{take: o.Files[0], rater: rater, marks: f, frame: -1})
		}
	}
	return readMarkings(ctx, rows)
}

func readMarkings(ctx context.Context, rows []markedRow) (out []marking, err error) {
	takes := map[string]hashedTake{}
	for _, r := range rows {
		t, ok := takes[r.take]
		if !ok {
			if t, err = lookAt(ctx, r.take); err != nil {
				return nil, inLine(r, err)
			}
			takes[r.take] = t
		}
		info := t.info
		m, err := marksFile(r.marks)
		if err != nil {
			return nil, inLine(r, err)
		}
		if m.NoFrame {
			if r.frame >= 0 {
				m.Frame = r.frame
			} else if err := FrameNamed(m, info); err != nil {
				return nil, inLine(r, err)
			}
		}
		switch {
		case r.frame >= 0 && r.frame != m.Frame:
			return nil, inLine(r, otherFrame(r, m.Frame))
		case m.Frame < 0 || m.Frame >= info.Frames:
			return nil, inLine(r, pastEnd(r, m.Frame, info))
		case slices.ContainsFunc(m.Marks, func(p reading.Placement) bool { return p.Covariance != nil }):
			return nil, inLine(r, foundNotPlaced(r))
		}
		if err := m.Fit(info.Width, info.Height); err != nil {
			return nil, inLine(r, err)
		}
		out = append(out, marking{r.rater, r.marks, reading.Take{Name: info.Name, SHA256: t.sha256, Frame: m.Frame, WidthPx: info.Width, HeightPx: info.Height}, m})
	}
	return out, nil
}

// hashedTake has the metadata of a take and the SHA-256 of its file.
type hashedTake struct {
	info   take.Info
	sha256 string
}

func lookAt(ctx context.Context, path string) (hashedTake, error) {
	t, err := take.Open(ctx, path)
	if err != nil {
		return hashedTake{}, err
	}
	defer t.Close()
	sum, err := t.SHA256(ctx)
	return hashedTake{t.Info(), sum}, err
}

// listColumns are the columns that a list must have; frame is optional.
var listColumns = []string{"take", "rater", "marks"}

// parseRepeatList reads a list as a spreadsheet saves it; note names the encoding if it was
// guessed.
func parseRepeatList(name string, data []byte) (out []markedRow, note string, err error) {
	rows, note, err := session.Table(name, data, "take", "rater", "marks", "frame")
	if err != nil {
		return nil, "", err
	}
	if len(rows) < 2 {
		return nil, "", emptyList(name)
	}
	column := map[string]int{"frame": -1}
	for i, h := range rows[0] {
		column[strings.ToLower(strings.TrimSpace(h))] = i
	}
	for _, c := range listColumns {
		if _, ok := column[c]; !ok {
			return nil, "", noColumn(name, c, rows[0])
		}
	}
	names := map[string]string{} // by lower case: a rater as first written
	for n, fields := range rows[1:] {
		line := n + 2
		get := func(c string) string {
			if i := column[c]; i >= 0 && i < len(fields) {
				return strings.TrimSpace(fields[i])
			}
			return ""
		}
		if strings.TrimSpace(strings.Join(fields, "")) == "" {
			continue
		}
		row := markedRow{line: line, take: get("take"), rater: get("rater"), marks: get("marks"), frame: -1}
		for _, c := range listColumns {
			if get(c) == "" {
				return nil, "", noValue(name, line, c)
			}
		}
		if first, ok := names[strings.ToLower(row.rater)]; ok {
			row.rater = first
		}
		names[strings.ToLower(row.rater)] = row.rater
		if f := get("frame"); f != "" {
			if row.frame, err = strconv.Atoi(f); err != nil || row.frame < 0 {
				return nil, "", noFrame(name, line, f)
			}
		}
		out = append(out, row)
	}
	if len(out) == 0 {
		return nil, "", emptyList(name)
	}
	return out, note, nil
}

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

// inLine adds the line of the list to an error about one of its files.
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
