package seetest

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// Environment variables of lookonce: the path of the real ecart-see, and the folder of its answers.
const (
	Real = "ECART_SEE_REAL"
	Kept = "ECART_SEE_KEPT"
)

// LookOnce builds lookonce into a folder, and returns the environment with which a program asks it in place of the ecart-see
// at path real. What ends, stops or measures ecart-see needs the real one.
func LookOnce(folder, real string) (env []string, err error) {
	path := filepath.Join(folder, "lookonce")
	if out, err := exec.Command("go", "build", "-o", path, "ecart/vision/see/seetest/lookonce").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("lookonce cannot be built: %w\n%s", err, out)
	}
	kept := filepath.Join(folder, "looks")
	if err := os.Mkdir(kept, 0o700); err != nil {
		return nil, err
	}
	return []string{"ECART_SEE=" + path, Real + "=" + real, Kept + "=" + kept}, nil
}
