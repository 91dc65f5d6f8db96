// Package needs is for tests that need a permission which not every machine gives them: to
// mount a disk, to open a terminal. Only tests import it.
//
// A test never calls t.Skip: it calls NotRun, so that the end of 'make test' lists what
// was not tested.
package needs

import (
	"fmt"
	"os"
	"testing"
)

// listVariable is the environment variable with the path of the file that lists the tests
// that were not run, one a line. '.ci/test' sets it to a new file each time, so that Go's
// test cache does not reuse the result of a test that wrote to an older file.
const listVariable = "ECART_NOT_RUN"

// NotRun skips a test that this machine does not permit to run, and lists it.
func NotRun(t testing.TB, why string) {
	t.Helper()
	if err := List(t.Name(), why); err != nil {
		t.Fatal(err)
	}
	t.Skip(why)
}

// List adds a test, or the part of it that was not run, to the list.
func List(name, why string) error {
	path := os.Getenv(listVariable)
	if path == "" { // a bare 'go test -v' prints the skip itself
		return nil
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(f, "%s: %s\n", name, why); err != nil { // one write: packages are tested at the same time
		f.Close()
		return err
	}
	return f.Close()
}
