package chart

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long the browser may take; it only ends a test that has failed.
const patience = 90 * time.Second

// browser opens a page of our own in headless Chromium.
func browser(t *testing.T, html string) context.Context {
	dir := t.TempDir()
	path := filepath.Join(dir, "page.html")
	require.NoError(t, os.WriteFile(path, []byte(html), 0o644))
	alloc, end := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath("chromium"), chromedp.UserDataDir(filepath.Join(dir, "browser")), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.NoFirstRun, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.WSURLReadTimeout(patience))
	t.Cleanup(end)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	ctx, cancel := context.WithTimeout(ctx, patience)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("file://"+path)), "headless Chromium is needed: '.ci/setup test' installs it")
	return ctx
}

// strict is a page that lets nothing in but itself, as the strictest policy does.
const strict = `<!doctype html><html lang="en"><meta charset="utf-8"><title>charts</title><meta http-equiv="Content-Security-Policy" content="default-src 'none'">`

// In a real browser, whichever fonts it has, every word takes the place that it was
// measured to take, inside its drawing, and colours are as they were given.
func TestBrowserDrawsAsMeasured(t *testing.T) {
	const (
		wide = 0.02 // of a word's width, in which the browser may differ
		step = 1.0  // points: a glyph's advance may be rounded to a whole pixel, 0.75 points
	)
	var html strings.Builder
	html.WriteString(strict)
	var names []string
	all := drawings(t)
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	words := 0
	for _, name := range names {
		d, err := all[name](Options{})
		require.NoError(t, err)
		html.WriteString(svgOf(t, d))
		words += len(d.sheet.labels)
	}
	ctx := browser(t, html.String())
	type word struct {
		Text               string
		Want, Width        float64
		Left, Right, Sheet float64
		Fill               string
	}
	got, err := chromedp.Run(ctx, chromedp.Evaluate[[]word](`[...document.querySelectorAll("svg text")].map(e => {
		const b = e.getBBox();
		return {Text: e.textContent, Want: e.textLength.baseVal.value, Width: b.width,
			Left: b.x, Right: b.x + b.width, Sheet: e.ownerSVGElement.viewBox.baseVal.width, Fill: getComputedStyle(e).fill};
	})`))
	require.NoError(t, err)
	require.Len(t, got, words)
	for _, g := range got {
		assert.InDelta(t, g.Want, g.Width, wide*g.Want+step, "%q", g.Text)
		assert.GreaterOrEqual(t, g.Left, -step, "%q", g.Text)
		assert.LessOrEqual(t, g.Right, g.Sheet+step, "%q", g.Text)
		assert.NotEqual(t, "rgb(0, 0, 0)", g.Fill, "%q has lost its colour", g.Text)
	}
}

// A squad of fifteen prints on one A4 page, and twice as many on two or more.
func TestBrowserPrintsASquadOnOnePage(t *testing.T) {
	const margin = 15 / 25.4 // inches
	pages := func(in SquadData) int {
		d, err := Squad(in, Options{})
		require.NoError(t, err)
		pdf, err := chromedp.Run(browser(t, strict+svgOf(t, d)), chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFMargin(margin)))
		require.NoError(t, err)
		return bytes.Count(pdf, []byte("/Type /Page\n")) + bytes.Count(pdf, []byte("/Type /Page/"))
	}
	in := squadData()
	require.Len(t, in.Rows, PageRows)
	assert.Equal(t, 1, pages(in))
	in.Rows = append(in.Rows, in.Rows...)
	assert.Greater(t, pages(in), 1)
}
