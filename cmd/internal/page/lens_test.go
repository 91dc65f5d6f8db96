package page_test

import (
	"fmt"
	"image/png"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/scene"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sees builds ecart-see, which finds boards, beside the program.
var sees = sync.OnceValue(func() error {
	path, err := program()
	if err != nil {
		return err
	}
	out, err := exec.Command("go", "build", "-o", filepath.Join(filepath.Dir(path), "ecart-see"), "ecart/cmd/ecart-see").CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
})

// boardPictures writes pictures of a board into a folder.
func boardPictures(t *testing.T, dir string, n int) (paths []string) {
	s, err := scene.Named("board")
	require.NoError(t, err)
	for i := range n {
		img, _ := s.Frame(i)
		path := filepath.Join(dir, fmt.Sprintf("board%02d.png", i))
		f, err := os.Create(path)
		require.NoError(t, err)
		require.NoError(t, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(f, img))
		require.NoError(t, f.Close())
		paths = append(paths, path)
	}
	return paths
}

// A lens from pictures that are dropped is the one that 'ecart lens' makes of them,
// and can be chosen by its name; a reading with it is that of 'ecart read --lens'.
func TestTheLensOfAPhone(t *testing.T) {
	t.Parallel()
	require.NoError(t, sees())
	axe := browsertest.Axe(t)
	clip, _ := demotake.Files()
	d := twoDoors(t, clip)
	d.store(0, false, "marks.json")
	w := d.page.open(size{1366, 768, false, 1})
	js[bool](w, `(location.hash = "#lens", true)`)
	w.until(`document.getElementById("lens-make") !== null`)
	assert.True(t, js[bool](w, `document.getElementById("lens-make").disabled`), "no picture is here yet")
	paths := boardPictures(t, d.folder, 8)
	note := filepath.Join(d.folder, "note.png")
	require.NoError(t, os.WriteFile(note, []byte("only words"), 0o600))

	// a file that is no picture is named by its own name, without the folder
	w.do(chromedp.SetUploadFiles(`#lens-files`, []string{note}))
	w.until(`document.getElementById("lens-count").textContent === "1 file is here"`)
	w.click(w.middle("#lens-make"))
	w.until(`document.getElementById("lens-wrong").textContent.includes("the phone has no name")`)
	w.do(typed("lens-name", "Wren’s phone, wide"))
	w.click(w.middle("#lens-make"))
	w.until(`document.getElementById("lens-wrong").textContent.includes("note.png")`)
	assert.NotContains(t, w.text("lens-wrong"), "incoming")
	w.click(w.middle("#lens-anew"))
	w.until(`document.getElementById("lens-count").textContent === ""`)

	w.do(chromedp.SetUploadFiles(`#lens-files`, paths))
	w.until(`document.getElementById("lens-count").textContent === "8 files are here"`)
	w.click(w.middle("#lens-make"))
	w.until(`document.getElementById("lens-words").textContent.includes("picture")`)
	w.until(`document.querySelector(".lens-one") !== null && document.getElementById("lens-stop").hidden`)
	said := w.text("lens-list")
	assert.Contains(t, said, "8 of 8 pictures used")
	assert.NotContains(t, said, "--")
	js[bool](w, `(document.querySelector(".lens-one details").open = true)`)
	w.accessible(axe, "a lens")
	w.shot("lens-1366")

	d.command(true, append([]string{"lens", "--board", "9x6", "--square", "24mm", "--out", "phone.lens.json"}, paths...)...)
	want, err := os.ReadFile(filepath.Join(d.folder, "phone.lens.json"))
	require.NoError(t, err)
	made, err := filepath.Glob(filepath.Join(d.page.data, "lenses", "*.lens.json"))
	require.NoError(t, err)
	require.Len(t, made, 1)
	got, err := os.ReadFile(made[0])
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "the lens file")
	id := strings.TrimSuffix(filepath.Base(made[0]), ".lens.json")
	board := d.page.do("GET", "/lenses/board.pdf?board=9x6&square=24mm&paper=a4", nil)
	d.command(true, "lens", "--print", "board.pdf", "--board", "9x6", "--square", "24mm")
	pdf, err := os.ReadFile(filepath.Join(d.folder, "board.pdf"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(pdf), "%PDF") && len(board.body) > 1000, "a board to print")

	// chosen by its name
	js[bool](w, `(location.hash = "#%s", true)`, d.id)
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	frame, _ := demoMarks(t)
	w.choose("what", "skill fig-women/split-leap")
	w.goTo(frame)
	w.read()
	w.open("better")
	w.until(`[...document.getElementById("lens").options].some((o) => o.textContent === "Wren’s phone, wide")`)
	w.choose("lens", id)
	w.read()
	w.saved()
	one, _ := d.command(true, asked("read", "leap.mp4", "--marks", "marks.json", "--json", "--lens", "phone.lens.json")...)
	assert.Equal(t, one, string(d.get(frame, "reading.json")), "a reading with the lens")

	// the error for a lens that is gone says so
	require.Equal(t, http.StatusNoContent, d.page.do("DELETE", "/lenses/"+id, nil).status)
	refused := d.page.do("GET", fmt.Sprintf("/takes/%s/frames/%d/reading.json", d.id, frame), nil)
	require.Equal(t, http.StatusNotFound, refused.status)
	what, _ := words(t, refused)
	assert.Contains(t, what, "no such lens")
	w.onlyOwn()
}
