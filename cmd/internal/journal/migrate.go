package journal

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrations returns the steps from an empty file to the newest form; step i makes form
// i+1. Existing steps never change.
func migrations() []string {
	var out []string
	for i := 1; ; i++ {
		data, err := migrationFiles.ReadFile(fmt.Sprintf("migrations/%d.sql", i))
		if err != nil {
			return out
		}
		out = append(out, string(data))
	}
}

// migrate runs the missing steps, each in its own transaction; for a new file all in one.
// Before the first step it makes a back-up beside the file, while the file is locked
// against writing.
func (j *Journal) migrate(forms []string) error {
	ctx := context.Background()
	conn, err := j.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	for copied := false; ; {
		done, err := j.step(ctx, conn, forms, &copied)
		if err != nil {
			_, _ = conn.ExecContext(ctx, "ROLLBACK") // fails if no transaction had begun
			return err
		}
		if done {
			return nil
		}
	}
}

func (j *Journal) step(ctx context.Context, conn *sql.Conn, forms []string, copied *bool) (done bool, err error) {
	version := func() (v int, err error) {
		return v, conn.QueryRowContext(ctx, "SELECT user_version FROM pragma_user_version").Scan(&v)
	}
	if v, err := version(); err != nil || v == len(forms) {
		return true, err
	}
	if _, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return false, err
	}
	v, err := version() // another program may have migrated it meanwhile
	switch {
	case err != nil:
		return false, err
	case v < 0:
		return false, damagedHead(j.path)
	case v > len(forms):
		return false, fault.New(fmt.Sprintf("the journal %q was just brought to form %d, and this version of ecart knows forms up to %d", j.path, v, len(forms)), "open it with the newer ecart")
	case v == len(forms):
		_, err = conn.ExecContext(ctx, "COMMIT")
		return true, err
	case v > 0 && !*copied:
		if err := j.backUp(ctx, v); err != nil {
			return false, err
		}
		*copied = true
	}
	to := v + 1
	if v == 0 { // a new file goes to the newest form at once: there is nothing to back up
		to = len(forms)
	}
	for _, text := range append(slices.Clone(forms[v:to]), fmt.Sprintf("PRAGMA user_version = %d", to), fmt.Sprintf("PRAGMA application_id = %d", application), "COMMIT") {
		if _, err := conn.ExecContext(ctx, text); err != nil {
			return false, err
		}
	}
	return false, nil
}

// backUp copies the journal to a new file beside it.
func (j *Journal) backUp(ctx context.Context, version int) error {
	name := fmt.Sprintf("%s.%s.form%d.backup", j.path, j.now().Format("2006-01-02T150405"), version)
	for n := 2; isJournal(name); n++ { // a run killed within the same second may have left one
		name = fmt.Sprintf("%s.%s-%d.form%d.backup", j.path, j.now().Format("2006-01-02T150405"), n, version)
	}
	const doing = "before bringing it to a newer form a copy has to be made, and could not be"
	if err := checkFree(name, doing); err != nil {
		return err
	}
	f, err := j.copyTo(ctx, partOf(name), doing)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := os.Rename(partOf(name), name); err != nil {
		return errors.Join(explain(err, name, doing), os.Remove(partOf(name)))
	}
	return syncFolder(filepath.Dir(name))
}

// BackUps returns the copies that were made beside the journal before its form changed.
func (j *Journal) BackUps() ([]string, error) {
	entries, err := os.ReadDir(filepath.Dir(j.path))
	if err != nil {
		return nil, err
	}
	var out []string
	for _, e := range entries {
		if ok, _ := filepath.Match(escapeGlob(filepath.Base(j.path))+".*.backup", e.Name()); ok {
			out = append(out, filepath.Join(filepath.Dir(j.path), e.Name()))
		}
	}
	return out, nil
}

func escapeGlob(s string) string {
	var b []rune
	for _, r := range s {
		if r == '*' || r == '?' || r == '[' || r == '\\' {
			b = append(b, '\\')
		}
		b = append(b, r)
	}
	return string(b)
}

// copyTo copies the journal to a new file. The copy is on the disk when copyTo returns, and
// locked until the caller closes it. After an error nothing is left.
func (j *Journal) copyTo(ctx context.Context, name, doing string) (f *os.File, err error) {
	f, err = os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, privateFile)
	if errors.Is(err, fs.ErrExist) {
		return nil, fault.New(fmt.Sprintf("there is a file %q already: %s", name, doing), "name another, or put that file away")
	}
	if err != nil {
		return nil, explain(err, name, doing)
	}
	defer func() {
		if err != nil {
			os.Remove(name)
			os.Remove(name + "-journal") // SQLite's rollback journal of the copy
			f.Close()
		}
	}()
	output.Lock(f)
	if _, err := j.db.ExecContext(ctx, "VACUUM INTO ?", name); err != nil {
		return nil, explain(err, name, doing)
	}
	return f, explain(errors.Join(f.Sync(), syncFolder(filepath.Dir(name))), name, doing)
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
