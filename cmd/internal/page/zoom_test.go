package page_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// filled is how much of the stage's width lies between two pixels of the take, x to x.
func (w *window) filled(from, to float64) float64 {
	w.t.Helper()
	return (w.onPicture(to, 500).X - w.onPicture(from, 500).X) / js[float64](w, `document.getElementById("stage").clientWidth`)
}

// The picture zooms to the athlete by itself as frames are stepped, once it is known where
// somebody moves, and to the marks once there is a reading; back to the whole with one button, and
// there again with another. What is clicked lands where it shows.
func TestThePictureFollowsTheAthlete(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(size{1366, 768, false, 1})
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.choose("what", "skill fig-women/split-leap")
	frame, marks := demoMarks(t)
	back, front := marks["back-ankle"][0], marks["front-ankle"][0]
	whole := w.filled(back, front)
	assert.Less(t, whole, 0.5, "she is small in the whole picture")
	w.until(`!document.getElementById("zoom-athlete").disabled`) // the clip was looked through
	assert.InDelta(t, whole, w.filled(back, front), 0.01, "nothing moves while nobody steps")
	w.goTo(frame)
	w.calm()
	stepped := w.filled(back, front)
	assert.Greater(t, stepped, whole*1.3)
	for _, at := range marks {
		p := w.onPicture(at[0], at[1])
		assert.True(t, js[bool](w, `(() => { const r = document.getElementById("stage").getBoundingClientRect(); return %g > r.left && %g < r.right && %g > r.top && %g < r.bottom; })()`, p.X, p.X, p.Y, p.Y), "all of her shows")
	}
	w.see("zoom-moving")
	w.place(asks...)
	w.read()
	w.calm()
	assert.Greater(t, w.filled(back, front), whole*1.4, "she fills the stage")
	stored := w.onServer(frame)
	require.Len(t, stored.Marks, 3)
	for _, m := range stored.Marks {
		assert.InDelta(t, marks[m.Landmark][0], m.X, 2, m.Landmark)
		assert.InDelta(t, marks[m.Landmark][1], m.Y, 2, m.Landmark)
	}
	w.see("zoom-read")
	w.click(w.middle("#zoom-all"))
	w.calm()
	assert.InDelta(t, whole, w.filled(back, front), 0.01)
	w.goTo(frame + 1)
	w.calm()
	assert.InDelta(t, whole, w.filled(back, front), 0.01, "it stays as it was set by hand")
	w.goTo(frame)
	w.click(w.middle("#zoom-athlete"))
	w.calm()
	assert.Greater(t, w.filled(back, front), whole*1.4)
	w.saved()
	w.onlyOwn()
}

// A portrait clip has the whole room of the stage, on a laptop, a tablet and a phone.
func TestAPortraitClip(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	clip, _ := demotake.Files()
	from, to := filepath.Join(dir, "demo.mp4"), filepath.Join(dir, "portrait.mp4")
	require.NoError(t, os.WriteFile(from, clip, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-vf", "crop=608:1080:x=650:y=0", "-frames:v", "60", "-c:v", "libx264", "-preset", "ultrafast", to).CombinedOutput()
	require.NoError(t, err, "%s", out)
	axe := browsertest.Axe(t)
	a := start(t, t.TempDir())
	id := ""
	for i, s := range []size{{1366, 768, false, 1}, {820, 1180, true, 1}, {390, 844, true, 1}} {
		w := a.open(s)
		if i == 0 {
			w.drop(to)
			id = w.opened()
		} else {
			js[bool](w, `(location.hash = %q, true)`, id)
			w.until(`document.getElementById("print").dataset.sharp === "yes"`)
		}
		if i == 0 { // on the others she fills the stage as it is
			w.until(`!document.getElementById("zoom-athlete").disabled`)
			w.click(w.middle("#zoom-athlete"))
			w.calm()
		}
		js[bool](w, `(scrollTo({ top: 0, behavior: "instant" }), true)`)
		w.see(fmt.Sprintf("portrait-%d", s.w))
		r := js[[]float64](w, `(() => { const r = document.getElementById("print").getBoundingClientRect(); return [r.width, r.height]; })()`)
		assert.LessOrEqual(t, r[1], float64(s.h))
		if s.w > s.h {
			assert.Greater(t, r[0], 700.0, "the whole column")
		}
		w.accessible(axe, fmt.Sprintf("a portrait clip at %d", s.w))
		w.onlyOwn()
	}
}
