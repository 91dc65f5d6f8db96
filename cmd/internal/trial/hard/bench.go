package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
)

// bench is what all attacks share: the built programs, the takes, a temporary folder.
type bench struct {
	options options
	root    string // of the repository
	temp    string

	ecart     string
	sanitized func() (string, error) // built when first needed
	raced     func() (string, error)
	takes     func() ([]wholeTake, error)
	filled    func() (*template, error)
	warm      sync.Once

	mu    sync.Mutex
	pages map[string][]*site // idle, by program
}

// newBench builds the program and makes the folder.
func newBench(ctx context.Context, o options) (*bench, error) {
	out, err := exec.CommandContext(ctx, "go", "env", "GOMOD").Output()
	if err != nil {
		return nil, fmt.Errorf("where is the module: %w", err)
	}
	b := &bench{options: o, root: filepath.Dir(strings.TrimSpace(string(out))), pages: map[string][]*site{}}
	if b.temp, err = os.MkdirTemp("", "ecart-hard-"); err != nil {
		return nil, err
	}
	if err := os.Chmod(b.temp, 0o755); err != nil { // other users can list the cases' folders
		return nil, err
	}
	if o.program != "" {
		b.ecart, err = filepath.Abs(o.program)
	} else {
		if _, err = b.build(ctx, ".cache/hard/bin/ecart-see", "./cmd/ecart-see"); err == nil {
			b.ecart, err = b.build(ctx, ".cache/hard/bin/ecart", "./cmd/ecart")
		}
	}
	if err != nil {
		b.close()
		return nil, err
	}
	// programs in other folders, such as those under a sanitizer, find ecart-see through PATH
	if err := os.Setenv("PATH", filepath.Dir(b.ecart)+string(os.PathListSeparator)+os.Getenv("PATH")); err != nil {
		b.close()
		return nil, err
	}
	b.sanitized = sync.OnceValues(func() (string, error) {
		// The compiler instruments C code, and of the Go code only what holds pointers to C memory. Other Go code
		// checks its own bounds, and would take eight times the processor time when instrumented. C code that reads past
		// a Go object is found in any case: the runtime marks the memory around each object.
		return b.build(ctx, ".cache/hard/ecart-asan", "-asan", "-gcflags=all=-asan=false", "-gcflags=ecart/vision/internal/av=-asan", "./cmd/ecart")
	})
	b.raced = sync.OnceValues(func() (string, error) { return b.build(ctx, ".cache/hard/ecart-race", "-race", "./cmd/ecart") })
	b.takes = sync.OnceValues(func() ([]wholeTake, error) { return makeTakes(ctx, b) })
	b.filled = sync.OnceValues(func() (*template, error) { return makeTemplate(ctx, b) })
	return b, nil
}

// quickRun reports whether this run is a tenth of all kinds: then nothing is built under a
// sanitizer, since compiling SQLite's Go code in that way takes minutes.
func (b *bench) quickRun() bool { return b.options.tenth && len(b.options.only) == 0 }

// build builds a program; args are flags of go build, then the package.
func (b *bench) build(ctx context.Context, name string, args ...string) (string, error) {
	path := filepath.Join(b.root, name)
	cmd := exec.CommandContext(ctx, "go", append([]string{"build", "-trimpath", "-o", path}, args...)...)
	cmd.Dir = b.root
	if text, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%s cannot be built: %v: %s", name, err, firstLine(string(text), 200))
	}
	return path, nil
}

func (b *bench) close() {
	b.endPages()
	os.RemoveAll(b.temp)
}
