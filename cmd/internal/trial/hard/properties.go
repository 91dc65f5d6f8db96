package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
)

// propertyChecks is how many random cases a property test runs here; make test runs 100,
// the same ones each time.
const propertyChecks = 200

var testOrCheck = regexp.MustCompile(`(?m)^func (Test\w+)\(|rapid\.Check\(`)

// propertyTests returns the names of the tests in a test file that use random cases.
func propertyTests(text string) []string {
	var names []string
	test := ""
	for _, m := range testOrCheck.FindAllStringSubmatch(text, -1) {
		if m[1] != "" {
			test = m[1]
		} else if test != "" {
			names, test = append(names, test), ""
		}
	}
	return names
}

// properties runs the property tests of each package on random cases from the run's seed.
func properties(ctx context.Context, b *bench) (func(*attempt), int, error) {
	if b.quickRun() {
		return nil, 0, notHere("make test has run them on its own cases; make hard ONLY=properties")
	}
	files, err := b.testFiles(ctx)
	if err != nil {
		return nil, 0, err
	}
	var packages []string
	tests := map[string][]string{} // by package
	for _, f := range files {
		pkg := "./" + filepath.Dir(f.name)
		if names := propertyTests(f.text); len(names) > 0 {
			if len(tests[pkg]) == 0 {
				packages = append(packages, pkg)
			}
			tests[pkg] = append(tests[pkg], names...)
		}
	}
	if len(packages) == 0 {
		return nil, 0, errors.New("there is no property test")
	}
	return func(c *attempt) {
		pkg := packages[c.number]
		c.about = pkg
		cmd := exec.CommandContext(c.ctx, "go", "test", "-vet=off", "-count=1", "-run", "^("+strings.Join(tests[pkg], "|")+")$", pkg)
		cmd.Dir = c.root
		cmd.Env = append(cmd.Environ(), fmt.Sprintf("RAPID_SEED=%d", max(1, c.options.seed)), fmt.Sprintf("RAPID_CHECKS=%d", propertyChecks), "RAPID_NOFAILFILE=true")
		if out, err := cmd.CombinedOutput(); err != nil && c.ctx.Err() == nil {
			c.fault("%s", failure(out))
		}
	}, len(packages), nil
}

// failure returns the output of a failed go test from its first failure on, cut short.
func failure(out []byte) string {
	text := string(out)
	if i := strings.Index(text, "--- FAIL"); i >= 0 {
		text = text[i:]
	}
	return strings.TrimSpace(text[:min(len(text), 1500)])
}
