package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// fuzzTime is how long each target runs, seconds; with -tenth it is one second.
const fuzzTime = 6

// fuzzTarget is a target in a package of the module.
type fuzzTarget struct{ pkg, name string }

var target = regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)

// fuzzTargets runs every fuzz target of the module. The inputs do not depend on the seed:
// one that broke something is kept in testdata/fuzz of its package, and go test runs it
// again. A package is built once for all its targets.
func fuzzTargets(ctx context.Context, b *bench) (func(*attempt), int, error) {
	files, err := b.testFiles(ctx)
	if err != nil {
		return nil, 0, err
	}
	var targets []fuzzTarget
	for _, f := range files {
		for _, m := range target.FindAllStringSubmatch(f.text, -1) {
			targets = append(targets, fuzzTarget{"./" + filepath.Dir(f.name), m[1]})
		}
	}
	if len(targets) == 0 {
		return nil, 0, errors.New("there is no fuzz target")
	}
	var left []string
	if b.quickRun() {
		if targets, left, err = b.cheapToBuild(ctx, targets); err != nil {
			return nil, 0, err
		}
		// three of them, different ones for each seed: a package takes up to half a minute to build
		var chosen []fuzzTarget
		for i := range min(3, len(targets)) {
			chosen = append(chosen, targets[(int(b.options.seed%1000)+i*len(targets)/3)%len(targets)])
		}
		targets = chosen
	}
	if len(targets) == 0 {
		return nil, 0, notHere("no target builds in seconds; make hard ONLY=fuzz")
	}
	binaries := map[string]string{} // by package; cases run one after the other
	return func(c *attempt) {
		if len(left) > 0 {
			c.omit("targets of %s: compiling SQLite or gocv for fuzzing takes minutes, a tenth leaves them out; make hard ONLY=fuzz", strings.Join(left, ", "))
		}
		t := targets[c.number%len(targets)]
		c.about = t.pkg + " " + t.name
		seconds := fuzzTime
		if c.options.tenth {
			seconds = 1
		}
		binary := binaries[t.pkg]
		if binary == "" {
			binary = filepath.Join(c.temp, fmt.Sprintf("fuzz-%d.test", len(binaries)))
			build := exec.CommandContext(c.ctx, "go", "test", "-c", "-fuzz", ".", "-o", binary, t.pkg)
			build.Dir = c.root
			if out, err := build.CombinedOutput(); err != nil {
				c.fault("%s cannot be built for fuzzing: %s", t.pkg, failure(out))
				return
			}
			binaries[t.pkg] = binary
		}
		// By default, go test spends up to a minute shortening an input that reaches new code, and tries no others
		// meanwhile.
		fuzz := func() ([]byte, error) {
			cmd := exec.CommandContext(c.ctx, binary, "-test.run", "^$", "-test.fuzz", "^"+t.name+"$", "-test.fuzztime", fmt.Sprintf("%ds", seconds),
				"-test.fuzzminimizetime", "20x", "-test.fuzzcachedir", filepath.Join(c.root, ".cache", "hard", "fuzz", t.pkg))
			cmd.Dir = filepath.Join(c.root, t.pkg)
			return cmd.CombinedOutput()
		}
		out, err := fuzz()
		if err != nil && outOfTime(out) {
			out, err = fuzz()
		}
		if err != nil && c.ctx.Err() == nil {
			c.fault("%s", failure(out))
		}
	}, len(targets), nil
}

// outOfTime reports whether a target failed only because its time ended: Go's fuzzing sometimes does so when an
// input is being run at that moment. It names an input that breaks something.
func outOfTime(out []byte) bool {
	return bytes.Contains(out, []byte("context deadline exceeded")) && !bytes.Contains(out, []byte("Failing input written"))
}

// testFile is a file of tests; name is its path in the module.
type testFile struct{ name, text string }

// testFiles returns the files of tests that git tracks, in the order of their names.
func (b *bench) testFiles(ctx context.Context) ([]testFile, error) {
	names, err := exec.CommandContext(ctx, "git", "-C", b.root, "ls-files", "*_test.go").Output()
	if err != nil {
		return nil, notHere("which tests there are is asked of git, and this is no clone: " + err.Error())
	}
	var files []testFile
	for _, name := range strings.Fields(string(names)) {
		if text, err := os.ReadFile(filepath.Join(b.root, name)); err == nil { // else it was removed, and this is not committed yet
			files = append(files, testFile{name, string(text)})
		}
	}
	return files, nil
}

// cheapToBuild returns the targets of packages that depend on neither SQLite nor gocv,
// since building for fuzzing compiles all dependencies anew, and the other packages.
func (b *bench) cheapToBuild(ctx context.Context, all []fuzzTarget) (cheap []fuzzTarget, left []string, err error) {
	args := []string{"list", "-test", "-f", `{{.ImportPath}} {{join .Deps " "}}`}
	for _, t := range all {
		args = append(args, t.pkg)
	}
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = b.root
	out, err := cmd.Output()
	if err != nil {
		return nil, nil, fmt.Errorf("go list: %w", err)
	}
	slow := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		if pkg, ok := strings.CutSuffix(strings.Fields(line)[0], ".test"); ok {
			slow[pkg] = strings.Contains(line, " modernc.org/sqlite") || strings.Contains(line, " gocv.io/x/gocv")
		}
	}
	for _, t := range all {
		switch pkg := "ecart" + strings.TrimPrefix(t.pkg, "."); {
		case !slow[pkg]:
			cheap = append(cheap, t)
		case !slices.Contains(left, t.pkg):
			left = append(left, t.pkg)
		}
	}
	return cheap, left, nil
}
