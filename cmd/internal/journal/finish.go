package journal

import (
	"context"
	"os"
	"path/filepath"
	"strings"
)

// finish completes work that a run left undone because it was killed or had no room. Work
// that still cannot be done is left for the next time, so that the readings stay
// accessible. It is an error only if the journal is at another place now.
func (j *Journal) finish() error {
	sweep, moves, err := j.chores()
	if err != nil {
		return err
	}
	if err := j.resume(moves); err != nil {
		return err
	}
	if sweep {
		_ = j.sweep(context.Background()) // the user who erased got an error then
	}
	return nil
}

// chores returns the work that is left to do.
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

// removeParts removes incomplete back-ups that killed runs left beside the journal.
func (j *Journal) removeParts() {
	entries, _ := os.ReadDir(filepath.Dir(j.path)) // a folder that cannot be listed is ignored
	for _, e := range entries {
		rest, ok := strings.CutPrefix(e.Name(), filepath.Base(j.path)+".")
		if ok && strings.HasSuffix(rest, ".backup.part") && e.Type().IsRegular() {
			removePart(filepath.Join(filepath.Dir(j.path), e.Name()))
		}
	}
}
