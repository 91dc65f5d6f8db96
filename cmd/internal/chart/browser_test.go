package chart

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Close()
	os.Exit(code)
}

// browser opens the page in headless Chromium.
func browser(t *testing.T, html string) context.Context {
	path := filepath.Join(t.TempDir(), "page.html")
	require.NoError(t, os.WriteFile(path, []byte(html), 0o644))
	ctx := browsertest.Window(t)
	_, err := browsertest.Run(ctx, chromedp.Navigate("file://"+path))
	require.NoError(t, err)
	return ctx
}

// strict is the head of a page with the strictest content security policy.
const strict = `<!doctype html><html lang="en"><meta charset="utf-8"><title>charts</title><meta http-equiv="Content-Security-Policy" content="default-src 'none'">`

// In a real browser, with any fonts, every label has the computed width, lies inside its
// drawing, and has its colour.
func TestBrowserDrawsAsMeasured(t *testing.T) {
	const (
		wide = 0.02 // allowed difference of the browser, as a share of a label's width
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
		words += len(d.sheet.Texts)
	}
	ctx := browser(t, html.String())
	type word struct {
		Text               string
		Want, Width        float64
		Left, Right, Sheet float64
		Fill               string
	}
	got, err := browsertest.Run(ctx, chromedp.Evaluate[[]word](`[...document.querySelectorAll("svg text")].map(e => {
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
		pdf, err := browsertest.Run(browser(t, strict+svgOf(t, d)), chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFMargin(margin)))
		require.NoError(t, err)
		return browsertest.Pages(pdf)
	}
	in := squadData()
	require.Len(t, in.Rows, PageRows)
	assert.Equal(t, 1, pages(in))
	in.Rows = append(in.Rows, in.Rows...)
	assert.Greater(t, pages(in), 1)
}
