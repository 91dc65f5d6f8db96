package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ecart/cmd/internal/trial/desktest"
	"ecart/cmd/internal/trial/needs"
	"ecart/vision/see/seetest"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// asProgram makes the test's own binary run as ecart.
const asProgram = "ECART_TEST_RUNS_AS_PROGRAM"

func program() {
	unprivileged()
	os.Exit(Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		program()
	}
	testscript.Main(seetest.Tests{M: m}, map[string]func(){"ecart": program})
}

// TestScripts runs the scripts of testdata/scripts, each one subject, with the
// real command in a process of its own.
func TestScripts(t *testing.T) {
	env, err := seetest.LookOnce(t.TempDir(), os.Getenv("ECART_SEE"))
	require.NoError(t, err)
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("..", "..", "..", "testdata", "scripts"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("HOME", filepath.Join(e.WorkDir, "home"))
			e.Setenv("XDG_CONFIG_HOME", "")
			for _, v := range env {
				name, value, _ := strings.Cut(v, "=")
				e.Setenv(name, value)
			}
			network, _ := needs.PosePath()
			e.Setenv("POSE_NETWORK", network)
			return os.Chmod(filepath.Dir(e.WorkDir), 0o711) // for the program when it is nobody
		},
		Condition: condition,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"demo-take":   demoTake,
			"joined":      joinedFile,
			"picture":     pictureFile,
			"declare-png": declarePNG,
			"cut":         cutFile,
			"fails":       fails,
			"narrow":      narrow,
			"keys":        keys,
			"sha256":      sha256File,
			"is-png":      isPNGFile,
			"dated":       datedPicture,
			"part":        partOf,
			"ends-with":   endsWith,
			"overwrite":   overwrite,
			"keep-table":  keepTable,
			"spreadsheet": spreadsheet,
			"fits":        fits,

			"same-reading": sameReading,
			"not-run":      notRun,
		},
	})
}

// condition evaluates [terminal], whether this machine has pseudo-terminals, and [pose],
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

// notRun lists a part of a script that is not run on this machine: not-run WHY
func notRun(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: not-run WHY")
	}
	ts.Check(needs.List("TestScripts/"+ts.Name(), args[0]))
}

// keepTable puts readings into a journal, one per line of TABLE: athlete, day, side,
// state, condition, measure, angle, its standard uncertainty and the angle asked, all
// in degrees, a hyphen for a missing value, and then further values such
// as session=evening: keep-table JOURNAL TABLE
func keepTable(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: keep-table JOURNAL TABLE")
	}
	ts.Check(desktest.Keep(ts.MkAbs(args[0]), ts.ReadFile(args[1])))
}
