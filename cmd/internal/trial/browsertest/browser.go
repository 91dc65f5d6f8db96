// Package browsertest is a real browser for tests: headless Chromium, the
// accessibility engine axe-core in it, and what it prints. Only tests import it, from
// packages that stand beside it.
package browsertest

import (
	"context"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Patience is how long a test waits for what a person would see at once; it only ends
// a test that has failed.
const Patience = 60 * time.Second

// programs are those that can be the browser, the quickest first. chromium-headless-shell is Chromium without
// its own windows, which no test looks at; it takes about two thirds of the processor that chromium takes.
var programs = []string{"chromium-headless-shell", "chromium"}

// program is the first of programs that is installed, else the last.
func program() string {
	for _, name := range programs {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return programs[len(programs)-1]
}

var (
	once    sync.Once
	started context.Context
	end     func()
	failed  error
)

// Browser is one headless Chromium for all tests of a package, started where it is
// first asked for. It asks nobody for anything by itself. Windows are made of it by
// chromedp.NewContext; Close ends it.
func Browser(t testing.TB) context.Context {
	t.Helper()
	once.Do(func() {
		dir, err := os.MkdirTemp("", "ecart-browser-")
		if err != nil {
			failed = err
			return
		}
		alloc, endAlloc := chromedp.NewExecAllocator(context.Background(),
			chromedp.ExecPath(program()), chromedp.UserDataDir(dir), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
			chromedp.NoFirstRun, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
			chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("hide-scrollbars", true),
			chromedp.Flag("disable-dev-shm-usage", true), // which containers keep small
			chromedp.WSURLReadTimeout(90*time.Second))    // a cold start on a busy machine
		ctx, endCtx := chromedp.NewContext(alloc)
		started, failed = ctx, chromedp.Do(ctx)
		end = func() {
			endCtx()
			endAlloc()
			os.RemoveAll(dir)
		}
	})
	require.NoError(t, failed, "headless Chromium is needed: '.ci/setup test' installs it")
	return started
}

// Window opens a window that shares nothing with others, and closes it with the test.
func Window(t testing.TB) context.Context {
	t.Helper()
	ctx, end := chromedp.NewContext(Browser(t), chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	require.NoError(t, chromedp.Do(ctx)) // it lives as long as what opens it: the test, and not the first action
	return ctx
}

// Close ends the browser, if it was started: TestMain calls it when all is run.
func Close() {
	if end != nil {
		end()
	}
}

// Call runs a command of the browser's protocol in a window.
func Call[P, R any](window context.Context, cmd cdp.Command[P, R], params P) (R, error) {
	ctx, end := context.WithTimeout(window, Patience)
	defer end()
	return chromedp.Call(ctx, cmd, params)
}

// Run runs an action in a window.
func Run[T any](window context.Context, a chromedp.Action[T]) (T, error) {
	ctx, end := context.WithTimeout(window, Patience)
	defer end()
	return chromedp.Run(ctx, a)
}
