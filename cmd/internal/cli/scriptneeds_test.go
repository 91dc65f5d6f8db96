package cli

import (
	"fmt"

	"ecart/cmd/internal/trial/needs"

	"github.com/rogpeppe/go-internal/testscript"
)

// condition answers [terminal]: whether this machine gives pseudo-terminals; and [pose]:
// whether the pose network is there.
func condition(name string) (bool, error) {
	switch name {
	case "terminal":
		return needs.Terminal(), nil
	case "pose":
		_, ok := needs.PosePath()
		return ok, nil
	}
	return false, fmt.Errorf("no condition is named %q", name)
}

// notRun lists what a script leaves out on this machine: not-run WHY
func notRun(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: not-run WHY")
	}
	ts.Check(needs.List("TestScripts/"+ts.Name(), args[0]))
}
