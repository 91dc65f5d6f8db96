// Package seetest builds the child program for tests that ask it.
package seetest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// Tests runs the tests of m with ecart-see built from this tree:
//
//	func TestMain(m *testing.M) { os.Exit(seetest.Tests{m}.Run()) }
type Tests struct{ M interface{ Run() int } }

// Run builds the program and sets ECART_SEE, runs the tests, and returns their
// exit code.
func (t Tests) Run() int {
	folder, err := os.MkdirTemp("", "ecart-see-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "ecart-see")
	if out, err := exec.Command("go", "build", "-o", path, "ecart/cmd/ecart-see").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "ecart-see cannot be built: %v\n%s", err, out)
		return 1
	}
	if err := os.Chmod(folder, 0o755); err != nil { // for tests that run as nobody
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	if err := os.Setenv("ECART_SEE", path); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return t.M.Run()
}
