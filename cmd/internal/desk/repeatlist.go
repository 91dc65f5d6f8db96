package desk

import (
	"context"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/vision/take"
)

// marking is one time that somebody marked a frame.
type marking struct {
	rater string
	file  string // the marks file
	take  reading.Take
	marks *reading.Marks
}

// frame tells frames apart, whatever the takes are called.
func (m *marking) frame() string {
	what := m.take.SHA256
	if what == "" { // it could not be read to its end
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
		data, err := ReadSmall("marks file", r.marks)
		if err != nil {
			return nil, inLine(r, err)
		}
		m, err := reading.ParseMarks(r.marks, data)
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

// hashedTake is what a take says of itself, and the hash of its file.
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

// listColumns are those that a list has to have; frame is optional.
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
	names := map[string]string{} // a rater as first written: case does not tell two apart
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
