package record

import (
	"path/filepath"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/session"
)

// Squad says which athletes are meant: those of a list, or all in the journal.
type Squad struct {
	Name  string   // of the list, without .csv; "" for all
	Names []string // nil for all
}

// SquadOf returns the athletes of the list in a file, each once; all for "".
func SquadOf(path string) (Squad, error) {
	if path == "" {
		return Squad{}, nil
	}
	data, err := desk.ReadSmall("list", path)
	if err != nil {
		return Squad{}, err
	}
	return SquadIn(path, data)
}

// SquadIn returns the athletes of a list, each once. name is that of its file.
func SquadIn(name string, data []byte) (Squad, error) {
	names, err := session.Names(name, data)
	return Squad{strings.TrimSuffix(filepath.Base(name), ".csv"), names}, err
}

// all reports whether all in the journal are meant.
func (s *Squad) all() bool { return s.Names == nil }

// names are the athletes meant, those of the rows by name for all.
func (s *Squad) names(rows []journal.Row) []string {
	if !s.all() {
		return s.Names
	}
	names := distinct(rows, func(r *journal.Row) string { return r.Athlete })
	slices.SortFunc(names, func(a, b string) int { return strings.Compare(session.Key(a), session.Key(b)) })
	return names
}
