package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"

	"ecart/cmd/internal/cli/terminal"
)

// fails checks that a command fails as it should: the exit code, nothing on
// standard output, two lines on standard error, with WHAT in the first,
// and no file made, changed or left behind, not even a hidden or temporary
// one: fails CODE WHAT COMMAND...
func fails(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) < 3 {
		ts.Fatalf("usage: fails CODE WHAT COMMAND...")
	}
	code, what := number(ts, args[0]), args[1]
	before := snapshot(ts)
	err := ts.Exec(args[2], args[3:]...)
	var exited *exec.ExitError
	if !errors.As(err, &exited) {
		ts.Fatalf("it was to fail with %d and did not: %v", code, err)
	}
	if exited.ExitCode() != code {
		ts.Fatalf("exit code %d, want %d", exited.ExitCode(), code)
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("it printed %q", out)
	}
	said := ts.ReadFile("stderr")
	lines := strings.Split(strings.TrimSuffix(said, "\n"), "\n")
	if len(lines) != 2 || !strings.HasSuffix(said, "\n") || strings.TrimSpace(lines[1]) == "" {
		ts.Fatalf("an error is two lines, what is wrong and what to do:\n%s", said)
	}
	if !strings.Contains(lines[0], what) {
		ts.Fatalf("%q does not name %q", lines[0], what)
	}
	for _, l := range lines {
		if strings.HasSuffix(l, ".") {
			ts.Fatalf("%q ends in a full stop", l)
		}
	}
	if after := snapshot(ts); after != before {
		ts.Fatalf("files changed\nbefore:\n%s\nafter:\n%s", before, after)
	}
}

// snapshot lists every file of the script's folder, with its size and time.
func snapshot(ts *testscript.TestScript) string {
	var b strings.Builder
	ts.Check(filepath.WalkDir(ts.Getenv("WORK"), func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		if d.IsDir() { // its time changes when a command checks that a file can be written
			fmt.Fprintln(&b, p)
			return nil
		}
		fmt.Fprintln(&b, p, info.Size(), info.ModTime().UnixNano())
		return nil
	}))
	return b.String()
}

// narrow checks that every line of FILE fits a phone's screen: narrow FILE
func narrow(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: narrow FILE")
	}
	for _, l := range strings.Split(ts.ReadFile(args[0]), "\n") {
		if n := utf8.RuneCountInString(l); n > terminal.PrintWidth && strings.Contains(strings.TrimSpace(l), " ") {
			ts.Fatalf("%d columns: %q", n, l)
		}
		if l != strings.TrimRight(l, " ") {
			ts.Fatalf("space at the end of %q", l)
		}
	}
}

// keys checks that the JSON in FILE has each key, such as budget.0.share; KEY=VALUE
// checks its value too, and !KEY that it is not there: keys FILE KEY...
func keys(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) < 2 {
		ts.Fatalf("usage: keys FILE KEY...")
	}
	var root any
	if err := json.Unmarshal([]byte(ts.ReadFile(args[0])), &root); err != nil {
		ts.Fatalf("%s is not JSON: %v", args[0], err)
	}
	for _, want := range args[1:] {
		name, value, valued := strings.Cut(want, "=")
		name, absent := strings.CutPrefix(name, "!")
		got, ok := lookup(root, strings.Split(name, "."))
		switch {
		case absent && ok:
			ts.Fatalf("%s has %s: %v", args[0], name, got)
		case !absent && !ok:
			ts.Fatalf("%s has no %s", args[0], name)
		case valued && fmt.Sprint(got) != value:
			ts.Fatalf("%s is %v and not %s", name, got, value)
		}
	}
}

func lookup(v any, path []string) (any, bool) {
	if len(path) == 0 {
		return v, true
	}
	switch v := v.(type) {
	case map[string]any:
		if next, ok := v[path[0]]; ok {
			return lookup(next, path[1:])
		}
	case []any:
		if i, err := strconv.Atoi(path[0]); err == nil && i < len(v) {
			return lookup(v[i], path[1:])
		}
	}
	return nil, false
}
