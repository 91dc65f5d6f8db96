// Package browsertest is a real browser for tests: headless Chromium, the accessibility
// checker axe-core, and the PDF that it prints. Only tests import it, from packages in the
// same folder.
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

// Patience is how long a test waits for what should appear at once. Only a test that fails
// waits as long.
const Patience = 60 * time.Second

// programs can be the browser, the fastest first. chromium-headless-shell is Chromium without its own windows,
// which no test needs; it takes about two thirds of the processor time of chromium.
var programs = []string{"chromium-headless-shell", "chromium"}

// program returns the first of programs that is installed, else the last.
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

// Browser returns the headless Chromium that all tests of a package share; the first call
// starts it. It sends no requests of its own. chromedp.NewContext opens a window in it;
// Close ends it.
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
			chromedp.Flag("disable-dev-shm-usage", true), // /dev/shm is small in containers
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

// Window opens a window that shares nothing with others, and closes it when the test ends.
func Window(t testing.TB) context.Context {
	t.Helper()
	ctx, end := chromedp.NewContext(Browser(t), chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	require.NoError(t, chromedp.Do(ctx)) // opens it here: otherwise it would close with the first action
	return ctx
}

// Close ends the browser, if it was started: TestMain calls it after all tests.
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
