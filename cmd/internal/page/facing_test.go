package page_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where the side of the angle depends on the way the chest faces, the page says no verdict and asks on
// the chest; the arrow decides, and what was placed is read.
func TestTheChestIsAskedFor(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.whole()
	// the shoulder on the line to the back ankle: a leg along the trunk
	for _, m := range []struct {
		landmark string
		x, y     float64
	}{{"hip", 900, 560}, {"front-ankle", 930, 980}, {"back-ankle", 890, 150}, {"shoulder", 900, 360}} {
		w.pick(m.landmark)
		w.click(w.onPicture(m.x, m.y))
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, m.landmark)
	}
	w.until(`document.querySelectorAll("#faces button").length === 2 && !document.getElementById("faces").hidden`)
	assert.Contains(t, w.text("todo"), "degrees facing left")
	assert.True(t, js[bool](w, `document.getElementById("result").hidden`), "no verdict where the side is not decided")
	assert.False(t, js[bool](w, `document.getElementById("facing").hidden`), "it can be said beside the picture too")
	w.shot("facing")
	w.click(w.middle("#faces .right"))
	w.read()
	assert.True(t, js[bool](w, `document.getElementById("faces").hidden`))
	first := js[float64](w, `Number(document.getElementById("reading").dataset.angle)`)
	w.click(w.middle(`#facing input[value="left"] + label, #facing label:has(input[value="left"])`))
	w.until(`Math.abs(Number(document.getElementById("reading").dataset.angle) - %g) > 1`, first)
	w.read()
	other := js[float64](w, `Number(document.getElementById("reading").dataset.angle)`)
	require.InDelta(t, 360, first+other, 3, "the two ways round")
	w.onlyOwn()
}

// The knees are not asked for in turn and stand in the list; marked, they are said beside the reading.
func TestTheKneesAreSaidOnThePage(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	assert.True(t, js[bool](w, `document.getElementById("knees").hidden`))
	w.open("worth")
	assert.Contains(t, w.text("left-out"), "whether a knee is bent")
	assert.True(t, js[bool](w, `document.getElementById("ask").hidden`), "nothing more is asked for")
	_, at := demoMarks(t)
	for _, side := range []string{"front", "back"} {
		w.pick(side + "-knee")
		hip, ankle := at["hip"], at[side+"-ankle"]
		w.click(w.onPicture((hip[0]+ankle[0])/2, (hip[1]+ankle[1])/2-60)) // 60 px above the line: bent
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, side+"-knee")
	}
	w.until(`document.getElementById("knees").children.length === 3`)
	w.read()
	assert.Contains(t, w.text("knees"), "by the thighs alone it is")
	assert.NotContains(t, w.text("left-out"), "whether a knee is bent")
	w.shot("knees")
	w.onlyOwn()
}
