package page_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/vision/take"
)

func newJar(t testing.TB) *cookiejar.Jar {
	j, err := cookiejar.New(nil)
	require.NoError(t, err)
	return j
}

// workOn returns the body of work: the demo's marks on a frame.
func workOn(frame, version int) string {
	_, data := demotake.Files()
	var m struct {
		Marks []struct {
			Landmark string
			X, Y     float64
		}
	}
	if err := json.Unmarshal(data, &m); err != nil {
		panic(err)
	}
	round := map[string][2]float64{}
	for _, p := range m.Marks {
		round[p.Landmark] = [2]float64{p.X, p.Y}
	}
	return fmt.Sprintf(`{"version": %d, "skill": "fig-women/split-leap", "measure": "hip-split", "leg": "", "side": "", "facing": "", "camera": "by-eye",
		"stature_cm": 152, "distance_m": 6.5, "focal_mm": 0, "frame": %d, "frames": {"%d": {"rounds": [%s], "level": [[100, 900.25], [1800, 905]],
		"corners": [], "width_m": 0, "height_m": 0}}}`, version, frame, frame, jsonOf(round))
}

func TestPicturesAreThoseOfTheTake(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	k, err := take.Open(t.Context(), demoFile(t))
	require.NoError(t, err)
	defer k.Close()
	for _, n := range []int{0, 43, 12, 89} {
		f, err := k.Frame(t.Context(), n)
		require.NoError(t, err)
		// The loupe's part is lossless: the same bytes.
		cut := image.Rect(900, 400, 1092, 592)
		r := a.do("GET", fmt.Sprintf("/takes/%s/frames/%d/part?x=900&y=400&pw=192&ph=192&w=192", id, n), nil)
		require.Equal(t, http.StatusOK, r.status, "%s", r.body)
		got, err := png.Decode(bytes.NewReader(r.body))
		require.NoError(t, err)
		want := f.Region(cut)
		have := image.NewRGBA(image.Rect(0, 0, 192, 192))
		draw.Draw(have, have.Rect, got, got.Bounds().Min, draw.Src)
		assert.Equal(t, want.Pix, have.Pix, "frame %d", n)

		r = a.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=640", id, n), nil)
		require.Equal(t, http.StatusOK, r.status)
		whole, err := jpeg.Decode(bytes.NewReader(r.body))
		require.NoError(t, err)
		assert.Equal(t, image.Pt(640, 360), whole.Bounds().Size(), "the size asked for")
		// The mean of a block of the small picture is that of the same block of the
		// take, but for what JPEG loses.
		const jpegLoses = 3.0 // grey values of 255, over 3600 pixels
		for _, b := range []image.Rectangle{image.Rect(0, 0, 180, 180), image.Rect(900, 400, 1080, 580), image.Rect(1740, 900, 1920, 1080)} {
			small := image.Rect(b.Min.X/3, b.Min.Y/3, b.Max.X/3, b.Max.Y/3)
			assert.InDelta(t, mean(f.Image(), b), mean(whole, small), jpegLoses, "frame %d, %v", n, b)
		}
	}
	for _, bad := range []string{"90?w=640", "-1?w=640", "x?w=640", "0?w=0", "0?w=99999", "0", "0/part?x=0&y=0&pw=0&ph=1&w=1", "0/part?x=5000&y=0&pw=10&ph=10&w=10"} {
		r := a.do("GET", "/takes/"+id+"/frames/"+bad, nil)
		assert.GreaterOrEqual(t, r.status, 400, bad)
		assert.Less(t, r.status, 500, bad)
		words(t, r)
	}
}

func mean(img image.Image, r image.Rectangle) float64 {
	sum := 0.0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			red, green, blue, _ := img.At(x, y).RGBA()
			sum += float64(red+green+blue) / 3 / 257
		}
	}
	return sum / float64(r.Dx()*r.Dy())
}

func TestTheReadingIsThatOfTheCommandLine(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	dir := t.TempDir()
	marks := filepath.Join(dir, "leap.43.marks.json")
	r := a.do("GET", "/takes/"+id+"/frames/43/marks.json", nil)
	assert.Contains(t, r.header.Get("Content-Disposition"), "leap.43.marks.json")
	require.NoError(t, os.WriteFile(marks, r.body, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))

	got := a.do("GET", "/takes/"+id+"/frames/43/reading.json", nil)
	require.Equal(t, http.StatusOK, got.status, "%s", got.body)
	// In the page's words.
	var full struct {
		Reading json.RawMessage
		Sheet   struct{ Command string }
	}
	r = a.do("POST", "/takes/"+id+"/reading", strings.NewReader(workOn(43, 0)))
	require.Equal(t, http.StatusOK, r.status, "%s", r.body)
	require.NoError(t, json.Unmarshal(r.body, &full))
	path, err := program()
	require.NoError(t, err)
	args := strings.Fields(full.Sheet.Command)
	require.Equal(t, "ecart", args[0])
	cmd := exec.Command(path, append(args[1:], "--json")...)
	cmd.Dir = dir
	printed, err := cmd.Output()
	require.NoError(t, err, full.Sheet.Command)
	assert.Equal(t, string(printed), string(got.body), "byte for byte")
	var want, have bytes.Buffer
	require.NoError(t, json.Compact(&want, printed))
	require.NoError(t, json.Compact(&have, full.Reading))
	assert.Equal(t, want.String(), have.String())

	figure := a.do("GET", "/takes/"+id+"/frames/43/figure.png?who=Siskin", nil)
	require.Equal(t, http.StatusOK, figure.status, "%s", figure.body)
	_, err = png.Decode(bytes.NewReader(figure.body))
	require.NoError(t, err)
}

func TestMarksAreStoredAtOnceAndNeverOverwritten(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	data := t.TempDir()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	stored := a.do("GET", "/takes/"+id+"/work", nil).body

	// A window that has not seen that gets the present marks, and nothing changes.
	late := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(44, 0)))
	assert.Equal(t, http.StatusConflict, late.status)
	assert.Equal(t, string(stored), string(late.body))
	assert.Equal(t, string(stored), string(a.do("GET", "/takes/"+id+"/work", nil).body))

	// It is on the disk before the answer comes: a crash loses nothing.
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(45, 1))).status)
	require.NoError(t, a.cmd.Process.Kill())
	a.cmd.Wait()
	b := start(t, data).enter()
	assert.Contains(t, string(b.do("GET", "/takes/"+id+"/work", nil).body), `"frame":45`)
}

func TestForgedWork(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	for name, body := range map[string]string{
		"no JSON":            `{`,
		"more than one":      workOn(43, 0) + `{}`,
		"an unknown key":     `{"version": 0, "virus": 1}`,
		"a landmark made up": `{"version": 0, "frames": {"3": {"rounds": [{"../../tail": [1, 2]}]}}}`,
		"a far point":        `{"version": 0, "frames": {"3": {"rounds": [{"hip": [1e300, 2]}]}}}`,
		"no frame":           `{"version": 0, "frames": {"-3": {"rounds": []}}}`,
		"five corners":       `{"version": 0, "frames": {"3": {"corners": [[1,1],[1,1],[1,1],[1,1],[1,1]]}}}`,
		"a null":             `{"version": 0, "frames": {"3": null}}`,
		"too much":           `{"version": 0, "side": "` + strings.Repeat("x", 5<<20) + `"}`,
	} {
		r := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(body))
		assert.Contains(t, []int{http.StatusBadRequest, http.StatusRequestEntityTooLarge}, r.status, name)
		words(t, r)
	}
	assert.Contains(t, string(a.do("GET", "/takes/"+id+"/work", nil).body), `"version":0`)
	for name, body := range map[string]string{
		"a skill that is a path": strings.Replace(workOn(43, 0), "fig-women/split-leap", "../../etc/passwd", 1),
		"no such measure":        strings.Replace(strings.Replace(workOn(43, 0), "fig-women/split-leap", "", 1), "hip-split", "tail", 1),
		"no such frame":          workOn(900, 0),
		"marks off the picture":  strings.Replace(workOn(43, 0), "900.25", "9000.25", 1),
		"a made-up side":         strings.Replace(workOn(43, 0), `"camera": "by-eye"`, `"camera": "../x"`, 1),
	} {
		r := a.do("POST", "/takes/"+id+"/reading", strings.NewReader(body))
		assert.Equal(t, http.StatusUnprocessableEntity, r.status, name)
		fact, hint := words(t, r)
		assert.NotContains(t, fact+hint, "--", "%s: the sheet has no flags", name)
	}
}

func TestRemovingATake(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	data := t.TempDir()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id, nil).status)
	require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/thumb", nil).status)
	require.Equal(t, http.StatusNoContent, a.do("DELETE", "/takes/"+id, nil).status)
	time.Sleep(300 * time.Millisecond) // work in the background must not bring it back
	require.NoError(t, filepath.WalkDir(data, func(p string, d os.DirEntry, err error) error {
		require.NoError(t, err)
		assert.NotContains(t, p, id)
		return nil
	}))
	assert.Equal(t, http.StatusNotFound, a.do("GET", "/takes/"+id, nil).status)
}

// TestPicturesForSteppingBack requests frames as stepping back does, for which the frames
// before are made in one go, and the same frames singly from another server.
func TestPicturesForSteppingBack(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	one, other := start(t, t.TempDir()).enter(), start(t, t.TempDir()).enter()
	id := one.upload("leap.mp4", clip)
	require.Equal(t, id, other.upload("leap.mp4", clip))
	for _, n := range []int{43, 42, 20, 19, 3, 0, 89} {
		back := one.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=480&back=yes", id, n), nil)
		alone := other.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=480", id, n), nil)
		require.Equal(t, http.StatusOK, back.status)
		assert.Equal(t, alone.body, back.body, "frame %d", n)
	}
	assert.Equal(t, http.StatusUnprocessableEntity, one.do("GET", "/takes/"+id+"/frames/90?w=480&back=yes", nil).status)
	assert.Equal(t, http.StatusNotFound, one.do("GET", "/takes/"+strings.Repeat("0", 64)+"/frames/3?w=480&back=yes", nil).status)
}

// If the file with the notes of today is damaged, the place for today says so, and a take can still be read.
func TestATakeOpensBesideADamagedToday(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	clip, _ := demotake.Files()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", clip)
	a.stop()
	require.NoError(t, os.WriteFile(filepath.Join(data, "today.json"), []byte(`{"all": {"mea`), 0o600))
	a = start(t, data).enter()
	assert.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id, nil).status)
	r := a.do("GET", "/today", nil)
	assert.Equal(t, http.StatusInternalServerError, r.status)
	assert.Contains(t, string(r.body), "its file is damaged")
}
