package needs

import (
	"os"
	"path/filepath"
	"testing"

	"ecart/vision/pose/model"
)

// PoseNetwork returns the path of the pose network, which 'make test' fetches into .cache
// before the tests. Without it the test is listed as not run.
func PoseNetwork(t testing.TB) string {
	t.Helper()
	path, ok := PosePath()
	if !ok {
		NotRun(t, NoPoseNetwork)
	}
	return path
}

// NoPoseNetwork is the reason that is listed for a test without the network.
const NoPoseNetwork = "needs the pose network: 'make setup-test' fetches it with npm"

// PosePath returns where the network is kept for the tests of this module, and whether it
// is there.
func PosePath() (path string, ok bool) {
	dir, err := os.Getwd()
	for err == nil {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			path = filepath.Join(dir, ".cache", "pose", model.Name)
			_, err = os.Stat(path)
			return path, err == nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			break
		}
		dir = up
	}
	return "", false
}
