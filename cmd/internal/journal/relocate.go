package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Relocate moves the journal's file to another place, where nothing may be yet,
// and closes it. The copy is on the disk before the old file is removed. Another
// program that has the old file open and writes to it later is told where the
// journal went, and loses nothing. The back-ups stay where they are.
func (j *Journal) Relocate(ctx context.Context, to string) error {
	const doing = "the journal was not moved"
	to, err := filepath.Abs(to)
	if err != nil {
		return err
	}
	if to == j.path {
		return fault(fmt.Sprintf("the journal lies at %q already", to), "name another place")
	}
	err = j.write(ctx, doing, func(tx *sql.Tx) error {
		// while tx holds the file nobody writes; the copy is made by another connection
		if err := j.copyTo(ctx, to, doing); err != nil {
			return err
		}
		for _, text := range closings(to) {
			if _, err := tx.ExecContext(ctx, text); err != nil {
				return errors.Join(err, os.Remove(to))
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	err = j.db.Close()
	for _, name := range []string{j.path, j.path + "-wal", j.path + "-shm"} {
		if e := os.Remove(name); e != nil && !errors.Is(e, os.ErrNotExist) {
			err = errors.Join(err, &Fault{fmt.Sprintf("the journal is at %q now, but the old file %q could not be removed", to, name), "remove it by hand", e, true})
		}
	}
	j.path = to
	return err
}

// closings make the old file refuse whoever still has it open.
func closings(to string) (out []string) {
	to = strings.ReplaceAll(to, "'", "''")
	for _, table := range []string{"reading", "athlete", "rater"} {
		for _, what := range []string{"INSERT", "UPDATE", "DELETE"} {
			out = append(out, fmt.Sprintf("CREATE TRIGGER moved_%s_%s BEFORE %s ON %s BEGIN SELECT RAISE(ABORT, '%s%s'); END", table, what, what, table, movedMark, to))
		}
	}
	return out
}
