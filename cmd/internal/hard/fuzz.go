package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

// fuzzTime is how long each target runs, seconds; a tenth of it with -tenth, and at
// least one.
const fuzzTime = 6

// fuzzTarget is a target in a package of the module.
type fuzzTarget struct{ pkg, name string }

var target = regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)

// fuzzTargets runs every fuzz target of the module. What a run draws is not of the
// seed: the go command keeps an input that broke in testdata/fuzz, and go test runs it again.
func fuzzTargets(ctx context.Context, b *bench) (func(*attempt), int, error) {
	tests, err := exec.CommandContext(ctx, "git", "-C", b.root, "ls-files", "*_test.go").Output()
	if err != nil {
		return nil, 0, notHere("which tests there are is asked of git, and this is no clone: " + err.Error())
	}
	var targets []fuzzTarget
	for _, name := range strings.Fields(string(tests)) {
		text, err := os.ReadFile(filepath.Join(b.root, name))
		if err != nil {
			continue // removed and not committed
		}
		for _, m := range target.FindAllStringSubmatch(string(text), -1) {
			targets = append(targets, fuzzTarget{"./" + filepath.Dir(name), m[1]})
		}
	}
	if len(targets) == 0 {
		return nil, 0, errors.New("there is no fuzz target")
	}
	return func(c *attempt) {
		t := targets[c.number%len(targets)]
		c.about = t.pkg + " " + t.name
		seconds := fuzzTime
		if c.options.tenth {
			seconds = 1
		}
		cmd := exec.CommandContext(c.ctx, "go", "test", "-run", "^$", "-fuzz", "^"+t.name+"$", "-fuzztime", fmt.Sprintf("%ds", seconds), t.pkg)
		cmd.Dir = c.root
		if out, err := cmd.CombinedOutput(); err != nil && c.ctx.Err() == nil {
			text := string(out)
			if i := strings.Index(text, "--- FAIL"); i >= 0 {
				text = text[i:]
			}
			c.fault("%s", strings.TrimSpace(text[:min(len(text), 1500)]))
		}
	}, len(targets), nil
}
