package page_test

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/browsertest"
)

// A page that lingers stays until a window was there, stays while one is, also over a
// reload, and ends by itself after the last was closed, saying so.
func TestThePageEndsAfterItsLastWindow(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir(), "--linger", "2s")
	time.Sleep(3 * time.Second) // nobody has come yet
	w := a.open(laptop)
	w.do(chromedp.Reload())
	w.ready()
	time.Sleep(3 * time.Second)
	assert.Equal(t, 200, get(w, chromedp.Evaluate[int](`fetch("/takes").then((r) => r.status)`, chromedp.EvalAwaitPromise)))

	w.do(chromedp.Navigate("about:blank")) // as a window that is closed
	ended := make(chan error, 1)
	go func() { ended <- a.cmd.Wait() }()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(browsertest.Patience):
		t.Fatal("the page did not end")
	}
	assert.Contains(t, a.errs.String(), "the last window was closed 2s ago: the page ends")
}
