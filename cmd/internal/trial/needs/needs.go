// Package needs is for tests that need a right which not every machine gives them: to
// mount a disk, to open a terminal. Only tests import it.
//
// A test never calls t.Skip: it calls NotRun, so that what was not tested is said at
// the end of 'make test'.
package needs

import (
	"fmt"
	"os"
	"testing"
)

// listed names the file that collects what was not run, one line a test. '.ci/test'
// sets it to a new file each time, so that Go's test cache does not answer for a test
// that wrote to an older one.
const listed = "ECART_NOT_RUN"

// NotRun ends a test that this machine gives no right to run, and lists it.
func NotRun(t testing.TB, why string) {
	t.Helper()
	if err := List(t.Name(), why); err != nil {
		t.Fatal(err)
	}
	t.Skip(why)
}

// List puts a test, or the part of it that was not run, on the list of what was not run.
func List(name, why string) error {
	path := os.Getenv(listed)
	if path == "" { // a bare 'go test -v' prints the skip itself
		return nil
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(f, "%s: %s\n", name, why); err != nil { // one write: packages are tested side by side
		f.Close()
		return err
	}
	return f.Close()
}
