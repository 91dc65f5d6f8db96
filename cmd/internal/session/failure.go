package session

import (
	"context"
	"errors"
	"path/filepath"
	"strconv"
	"strings"

	"ecart/cmd/internal/text"
)

// Failure is a row that was not read or not kept, and why.
type Failure struct {
	Line    int    `json:"line"`
	Athlete string `json:"athlete"`
	Reason  string `json:"reason"`
	Do      string `json:"do"` // what to do; "" if unknown
}

// failure returns the Failure of the row for an error.
func (w *rowWork) failure(err error) Failure {
	f := Failure{Line: w.row.Line, Athlete: w.row.Athlete}
	if errors.Is(err, context.Canceled) {
		f.Reason, f.Do = "it was not come to before the work was stopped", "give the same command again"
		return f
	}
	f.Reason = w.withoutFiles(text.OneLine(err.Error()))
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		f.Do = w.withoutFiles(text.OneLine(h.Hint()))
	}
	return f
}

// withoutFiles replaces the names of the row's files by their columns: a report is passed
// on, and files are often named after people.
func (w *rowWork) withoutFiles(s string) string {
	files := &w.question.Files
	for _, f := range []struct{ column, path string }{{"take", files.Take}, {"marks", files.Marks}, {"seeds", files.Seeds}, {"lens", files.Lens}} {
		if f.path == "" {
			continue
		}
		for _, name := range []string{f.path, w.row.Get(f.column), filepath.Base(f.path)} {
			if name != "" {
				s = strings.ReplaceAll(s, strconv.Quote(name), "(under "+f.column+")")
			}
		}
		s = strings.ReplaceAll(s, f.path, "(under "+f.column+")")
	}
	return s
}
