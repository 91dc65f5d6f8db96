package page_test

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/desktest"
)

// months has the readings of an invented squad before the day of the pictures.
const months = hall + `
Kit 2026-02-02 - warm in-skill hip-split 163 3 180
Plover 2026-02-02 - warm in-skill hip-split 166 3 180
Heron 2026-02-02 - warm in-skill hip-split 152 3 180`

// small makes a PNG of at most 120 kB of a picture: fewer pixels and 96 colours.
func small(t *testing.T, png []byte, wide int) []byte {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "from.png"), filepath.Join(dir, "to.png")
	require.NoError(t, os.WriteFile(from, png, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-vf",
		fmt.Sprintf("scale=%d:-2:flags=lanczos,split[a][b];[a]palettegen=max_colors=96:stats_mode=full[p];[b][p]paletteuse=dither=none", wide), "-pred", "mixed", to).CombinedOutput()
	require.NoError(t, err, "%s", out)
	data, err := os.ReadFile(to)
	require.NoError(t, err)
	return data
}

// TestPictures makes the pictures of the README: of the page with an invented squad in its places, a
// figure and a sheet. 'make pictures' has them written to testdata/pictures.
func TestPictures(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), months))
	takes := drawnTakes(t, 5, 1.2)
	p := &person{window: start(t, data).open(size{1366, 768, false, 1})}
	folder := os.Getenv("ECART_PICTURES")
	leave := func(name string, wide int, picture func() []byte) {
		if folder == "" { // the steps are tested without writing pictures
			return
		}
		png := small(t, picture(), wide)
		assert.Less(t, len(png), 120_000, "%s", name)
		require.NoError(t, os.MkdirAll(folder, 0o777))
		require.NoError(t, os.WriteFile(filepath.Join(folder, name+".png"), png, 0o666))
	}
	shot := func(name string) {
		p.keysHandled()
		leave(name, 1000, func() []byte { return get(p.window, chromedp.CaptureScreenshot()) })
	}
	top := func() { js[bool](p.window, `(scrollTo({ top: 0, behavior: "instant" }), true)`) }

	p.setForAll()
	var paths []string
	for _, d := range takes {
		paths = append(paths, d.path)
	}
	p.do(chromedp.SetUploadFiles(`#file`, paths))
	p.until(`document.querySelectorAll("#shelf li[data-id]").length === %d && !document.querySelector("#coming li")`, len(takes))
	p.click(p.middle("#to-next"))
	var ids []string
	for i, who := range []string{"Wren", "Lio", "Kit", "Plover"} {
		d := takes[i]
		p.takeReady(filepath.Base(d.path))
		ids = append(ids, p.opened())
		p.mark(d)
		p.do(typed("athlete", who))
		p.until(`document.getElementById("athlete").value === %q`, who)
		p.pick("shoulder") // by which a sheet knows where the head is
		p.click(p.onPicture(d.at["shoulder"][0], d.at["shoulder"][1]))
		p.read()
		p.saved()
		if i == 1 {
			js[bool](p.window, `(document.getElementById("placed-fold").open = false, document.getElementById("print").dispatchEvent(new PointerEvent("pointerleave")), true)`)
			p.until(`!document.getElementById("earlier").hidden && document.getElementById("tiles").dataset.whole === "yes"`)
			top()
			shot("picture")
		}
		if i < 3 {
			p.click(p.middle("#keep-next"))
		}
	}
	js[bool](p.window, `(location.hash = "#today", true)`)
	p.until(`document.querySelectorAll("#shelf li.kept").length === 3`)
	js[bool](p.window, `(document.getElementById("all").open = false, true)`)
	top()
	p.until(`!document.querySelector("#shelf li.being")`)
	shot("today")

	p.athletesPlace("Wren")
	js[bool](p.window, `(document.getElementById("m-shoulder-flexion").scrollIntoView({ block: "start", behavior: "instant" }), true)`)
	shot("athletes")

	js[bool](p.window, `(location.hash = "#beside/%s/%s", true)`, ids[0], ids[3])
	p.until(`document.querySelectorAll(".beside-ruler svg").length === 2 && document.querySelectorAll(".beside-side canvas[data-frame]").length === 2`)
	top()
	shot("beside")

	js[bool](p.window, `(location.hash = "#%s", true)`, ids[0])
	p.until(`document.getElementById("print").dataset.sharp === "yes" && document.getElementById("athlete").value === "Wren"`)
	p.read()
	p.click(p.middle("#to-sheet"))
	p.preview()
	p.click(p.middle(`#sheets-head label:has([value="marks"])`))
	p.preview()
	shot("sheet")

	a := p.a.enter()
	figure := a.do("GET", fmt.Sprintf("/takes/%s/frames/%d/figure.png?covered=yes&who=Wren", ids[0], takes[0].frame), nil)
	require.Equal(t, http.StatusOK, figure.status, "%s", figure.body)
	leave("figure", 560, func() []byte { return figure.body })
	p.onlyOwn()
}
