package journal

import (
	"context"
	"os"
	"path/filepath"
	"strings"
)

// finish does what a run that was killed or had no room left undone. What still
// cannot be done is left for the next time: it does not keep anybody from their
// readings. It is an error only where the journal is at another place now.
func (j *Journal) finish() error {
	sweep, moves, err := j.chores()
	if err != nil {
		return err
	}
	if err := j.resume(moves); err != nil {
		return err
	}
	if sweep {
		_ = j.sweep(context.Background()) // whoever erased was told
	}
	return nil
}

// chores are what is left to do.
func (j *Journal) chores() (sweep bool, moves []move, err error) {
	rows, err := j.db.Query("SELECT name FROM chore ORDER BY name")
	if err != nil {
		return false, nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return false, nil, err
		}
		if m, ok := parseMove(name); ok {
			moves = append(moves, m)
		}
		sweep = sweep || name == "sweep"
	}
	return sweep, moves, rows.Err()
}

// removeParts removes back-ups beside the journal that a killed run left half
// written.
func (j *Journal) removeParts() {
	entries, _ := os.ReadDir(filepath.Dir(j.path)) // what cannot be listed has nothing to be found
	for _, e := range entries {
		rest, ok := strings.CutPrefix(e.Name(), filepath.Base(j.path)+".")
		if ok && strings.HasSuffix(rest, ".backup.part") && e.Type().IsRegular() {
			removePart(filepath.Join(filepath.Dir(j.path), e.Name()))
		}
	}
}
