package needs

import (
	"os"
	"path/filepath"
	"testing"

	"ecart/vision/pose/model"
)

// PoseNetwork is the path of the pose network, which 'make test' fetches into .cache
// before the tests. Where it could not be had, the test is listed as not run.
func PoseNetwork(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("the module's folder was not found")
		}
		dir = up
	}
	path := filepath.Join(dir, ".cache", "pose", model.Name)
	if _, err := os.Stat(path); err != nil {
		NotRun(t, "needs the pose network: 'make setup-test' fetches it with npm")
	}
	return path
}
