package cli

import (
	"fmt"

	"ecart/cmd/internal/trial/needs"

	"github.com/rogpeppe/go-internal/testscript"
)

// condition answers [terminal]: whether this machine gives pseudo-terminals.
func condition(name string) (bool, error) {
	if name != "terminal" {
		return false, fmt.Errorf("no condition is named %q", name)
	}
	return needs.Terminal(), nil
}

// notRun lists what a script leaves out on this machine: not-run WHY
func notRun(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: not-run WHY")
	}
	ts.Check(needs.List("TestScripts/"+ts.Name(), args[0]))
}
