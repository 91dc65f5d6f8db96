package page_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// In all words of the page a figure keeps its unit on its line.
func TestUnitsStayWithFigures(t *testing.T) {
	t.Parallel()
	w := ofHall(t).open(laptop)
	w.athletesPlace("Wren")
	assert.True(t, js[bool](w, `/\d\u00a0%%/.test(document.getElementById("athletes").innerText)`))
	assert.True(t, js[bool](w, `/±\u00a0\d/.test(document.getElementById("athletes").innerText)`))
	assert.Empty(t, js[string](w, `(document.body.innerText.match(/.*(\d (%%|mm\b|px\b|m\b|s\b)|± \d).*/) ?? [""])[0]`))
}
