package cli

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"ecart/cmd/internal/trial/needs"
	"ecart/vision/see/seetest"
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
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("..", "..", "..", "testdata", "scripts"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("HOME", filepath.Join(e.WorkDir, "home"))
			e.Setenv("XDG_CONFIG_HOME", "")
			e.Setenv("ECART_SEE", os.Getenv("ECART_SEE"))
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
