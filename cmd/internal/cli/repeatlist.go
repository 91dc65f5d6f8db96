package cli

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
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

// listRow is a line of the list: a frame marked once.
type listRow struct {
	line               int
	take, rater, marks string
	frame              int // -1: that of the marks file
}

func isList(path string) bool { return strings.EqualFold(filepath.Ext(path), ".csv") }

// markings reads the list, or the marks files of one take.
func (o *repeatOptions) markings(ctx context.Context) ([]marking, error) {
	var rows []listRow
	if isList(o.files[0]) {
		data, err := desk.ReadSmall("list", o.files[0])
		if err != nil {
			return nil, err
		}
		if rows, err = parseRepeatList(o.files[0], data); err != nil {
			return nil, err
		}
		dir := filepath.Dir(o.files[0])
		for i := range rows {
			rows[i].take, rows[i].marks = from(dir, rows[i].take), from(dir, rows[i].marks)
		}
		if o.rater != "" {
			all := rows
			rows = slices.DeleteFunc(slices.Clone(rows), func(r listRow) bool { return !strings.EqualFold(r.rater, o.rater) })
			if len(rows) == 0 {
				return nil, noSuchRater(o.files[0], o.rater, all)
			}
		}
	} else {
		rater := o.rater
		if rater == "" {
			rater = wordsUnnamed
		}
		for _, f := range o.files[1:] {
			rows = append(rows, listRow{take: o.files[0], rater: rater, marks: f, frame: -1})
		}
	}
	return readMarkings(ctx, rows)
}

// from is a path as a list in dir means it.
func from(dir, path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(dir, path)
}

func readMarkings(ctx context.Context, rows []listRow) (out []marking, err error) {
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
		data, err := desk.ReadSmall("marks file", r.marks)
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
			} else if err := desk.FrameNamed(m, info); err != nil {
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

// parseRepeatList reads a list as spreadsheets write them: commas, semicolons or
// tabs between the columns, with or without a byte order mark.
func parseRepeatList(name string, data []byte) ([]listRow, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(data) || bytes.IndexByte(data, 0) >= 0 {
		return nil, notUTF8(name)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord = separator(data), -1
	r.TrimLeadingSpace = r.Comma != '\t'
	head, err := r.Read()
	if err != nil {
		return nil, emptyList(name)
	}
	column := map[string]int{"frame": -1}
	for i, h := range head {
		column[strings.ToLower(strings.TrimSpace(h))] = i
	}
	for _, c := range listColumns {
		if _, ok := column[c]; !ok {
			return nil, noColumn(name, c, head)
		}
	}
	var out []listRow
	names := map[string]string{} // a rater as first written: case does not tell two apart
	for {
		fields, err := r.Read()
		if err != nil {
			var bad *csv.ParseError
			if errors.As(err, &bad) {
				return nil, badLine(name, bad)
			}
			break
		}
		line, _ := r.FieldPos(0)
		get := func(c string) string {
			if i := column[c]; i >= 0 && i < len(fields) {
				return strings.TrimSpace(fields[i])
			}
			return ""
		}
		if strings.TrimSpace(strings.Join(fields, "")) == "" {
			continue
		}
		row := listRow{line: line, take: get("take"), rater: get("rater"), marks: get("marks"), frame: -1}
		for _, c := range listColumns {
			if get(c) == "" {
				return nil, noValue(name, line, c)
			}
		}
		if first, ok := names[strings.ToLower(row.rater)]; ok {
			row.rater = first
		}
		names[strings.ToLower(row.rater)] = row.rater
		if f := get("frame"); f != "" {
			if row.frame, err = strconv.Atoi(f); err != nil || row.frame < 0 {
				return nil, noFrame(name, line, f)
			}
		}
		out = append(out, row)
	}
	if len(out) == 0 {
		return nil, emptyList(name)
	}
	return out, nil
}

// separator is what stands between the columns of the first line.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	best, most := ',', 0
	for _, c := range ",;\t" {
		if n := bytes.Count(first, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}
