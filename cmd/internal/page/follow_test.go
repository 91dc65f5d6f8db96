package page_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
)

// The leap of the demo around its peak, since following the whole clip takes longer.
const leapFrom, leapTo = 28, 58 // frames of the demo's clip

// leapOnly is a clip of these frames, made once.
var leapOnly = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "ecart-leap-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	clip, _ := demotake.Files()
	from, to := filepath.Join(dir, "demo.mp4"), filepath.Join(dir, "leap.mp4")
	if err := os.WriteFile(from, clip, 0o600); err != nil {
		return nil, err
	}
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-vf", fmt.Sprintf("trim=start_frame=%d:end_frame=%d,setpts=PTS-STARTPTS", leapFrom, leapTo),
		"-c:v", "libx264", "-preset", "ultrafast", "-crf", "12", "-pix_fmt", "yuv420p", to).CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("ffmpeg: %w: %s", err, out)
	}
	return os.ReadFile(to)
})

// leapReady does as ready, with the leap alone.
func leapReady(t testing.TB, data string) *window {
	w := start(t, data).open(laptop)
	w.drop(leaps(t, "leap.mp4")[0])
	w.choose("what", "skill fig-women/split-leap")
	frame, _ := demoMarks(t)
	w.goTo(frame - leapFrom)
	return w
}

func TestFollowingStickers(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	w := leapReady(t, data)
	w.place("hip", "front-ankle", "back-ankle")
	w.read() // it moves what stands below it
	w.open("stickers")
	w.click(w.middle("#follow"))
	w.until(`!document.getElementById("following").hidden || !document.getElementById("along").hidden`)
	w.until(`!document.getElementById("along").hidden && document.getElementById("following").hidden`)
	assert.Empty(t, w.text("notices"))
	w.shot("1440-followed")

	// The peak is where the scene has it, which shares no code with this.
	s, err := scene.Named("leap")
	require.NoError(t, err)
	when, deg := s.Peak()
	w.goTo(5)
	w.read()
	js[bool](w, `(document.getElementById("strip").focus(), true)`)
	w.key("p")
	w.read()
	at := js[float64](w, `Number(document.getElementById("strip").getAttribute("aria-valuenow"))`)
	const halfFrame = 1.0 // the nearest frame, or its neighbour where the peak lies between
	assert.InDelta(t, when*60-leapFrom, at, halfFrame)
	// Only the reading says how wide the peak is.
	assert.Regexp(t, fmt.Sprintf(`^the peak is at [0-9.]+ s; frame %.0f is the nearest$`, at), js[string](w, `document.getElementById("along-says").textContent`))
	w.do(typed("athlete", "Dunlin"))
	w.madeOn("2026-03-21")
	w.click(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent.startsWith("kept for Dunlin") || document.getElementById("kept").textContent.startsWith("not kept")`)
	_, r := inJournal(t, data)
	require.NotNil(t, r.Peak, "the reading is that of the peak between frames")
	assert.Less(t, math.Abs(r.AngleDeg-deg), 2*r.ExpandedUncertaintyDeg, "%.2f read, %.2f true", r.AngleDeg, deg)
	assert.NotContains(t, r.NotIncluded, reading.SourceTiming, "which moment was caught is in it now")

	// No shoulder was followed, so that it is not known where the head is: a clip
	// with the head covered is refused, with the reason.
	js[bool](w, `document.getElementById("covered").click() ?? true`)
	w.open("saves")
	w.click(w.middle("#save-clip"))
	w.until(`document.querySelector('.notice[data-key="save"]')`)
	assert.Contains(t, w.text("notices"), "shoulder")
	// The clip with the angle drawn in is saved. An independent decoder checks that it plays and has the
	// frames of the take.
	js[bool](w, `document.getElementById("covered").click() ?? true`)
	w.open("saves")
	w.click(w.middle("#save-clip"))
	w.until(`document.getElementById("spoken").textContent.startsWith("saved as leap")`)
	assert.True(t, js[bool](w, `document.getElementById("drawing").hidden`))
	clips, err := filepath.Glob(filepath.Join(data, "clips", "*.mp4"))
	require.NoError(t, err)
	require.Len(t, clips, 1)
	probed, err := exec.Command("ffprobe", "-v", "error", "-count_frames", "-select_streams", "v", "-show_entries",
		"stream=codec_name,pix_fmt,width,height,nb_read_frames", "-of", "csv=p=0", clips[0]).Output()
	require.NoError(t, err)
	assert.Equal(t, fmt.Sprintf("h264,1920,1080,yuv420p,%d", leapTo-leapFrom), strings.TrimSpace(string(probed)))

	// It is there after a reload, and can be removed.
	w.do(chromedp.Reload())
	w.until(`document.documentElement.dataset.ready === "yes" && !document.getElementById("along").hidden`)
	js[bool](w, `(document.getElementById("stickers").open = true)`)
	w.click(w.middle("#follow-off"))
	w.until(`document.getElementById("along").hidden`)
	left, err := os.ReadDir(filepath.Join(data, "tracks"))
	require.NoError(t, err)
	assert.Empty(t, left)
	w.onlyOwn()
}

func TestFollowingBareWall(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.showWhole()
	for _, p := range [][2]float64{{300, 300}, {1500, 300}, {1400, 150}} { // bare wall
		w.click(w.onPicture(p[0], p[1]))
	}
	w.read() // it moves what stands below it
	w.open("stickers")
	w.click(w.middle("#follow"))
	w.until(`document.querySelector('.notice[data-key="follow"]')`)
	assert.True(t, js[bool](w, `document.getElementById("along").hidden`))
}

// A mark that the angle does not need may be on no sticker: the rest is followed, with a note.
func TestFollowingWithAMarkOffStickers(t *testing.T) {
	t.Parallel()
	w := leapReady(t, t.TempDir())
	w.place("hip", "front-ankle", "back-ankle")
	w.read()
	w.place("shoulder")
	w.read()
	w.open("stickers")
	w.click(w.middle("#follow"))
	w.until(`!document.getElementById("following").hidden || !document.getElementById("along").hidden`)
	w.until(`document.querySelector('.notice[data-key="follow"]') && !document.getElementById("along").hidden`)
	assert.Contains(t, w.text("notices"), "no sticker is followed at the shoulder")
	assert.Contains(t, w.text("along-says"), "the peak is")
}

// Where a sticker is lost, one that is there can be marked too: all are then followed from both frames. The hip is
// behind a box from frame 18 on.
func TestFollowingFromAnotherFrameToo(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	whole, err := leapOnly()
	require.NoError(t, err)
	from, to := filepath.Join(t.TempDir(), "whole.mp4"), filepath.Join(t.TempDir(), "hidden.mp4")
	require.NoError(t, os.WriteFile(from, whole, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-vf", "drawbox=x=1000:y=440:w=300:h=280:color=gray:t=fill:enable='gte(n,18)'",
		"-c:v", "libx264", "-preset", "ultrafast", "-crf", "12", "-pix_fmt", "yuv420p", to).CombinedOutput()
	require.NoError(t, err, "%s", out)
	w := start(t, data).open(laptop)
	w.drop(to)
	w.choose("what", "skill fig-women/split-leap")
	frame, _ := demoMarks(t)
	w.goTo(frame - leapFrom)
	w.place("hip", "front-ankle", "back-ankle")
	w.read() // it moves what stands below it
	follow := func() {
		w.open("stickers")
		w.click(w.middle("#follow"))
		w.until(`!document.getElementById("following").hidden`)
		w.until(`document.getElementById("following").hidden && !document.getElementById("along").hidden`)
		assert.Empty(t, w.text("notices"))
	}
	follow()
	seeds := func() string {
		w.saved()
		r := w.a.enter().do("GET", "/takes/"+w.opened()+"/work", nil)
		var work struct {
			Frames map[string]struct{ Seeds bool }
		}
		require.NoError(t, json.Unmarshal(r.body, &work))
		var of []string
		for n, p := range work.Frames {
			if p.Seeds {
				of = append(of, n)
			}
		}
		slices.Sort(of)
		return strings.Join(of, " ")
	}
	assert.Equal(t, "15", seeds())
	assert.Contains(t, w.text("along-says"), "; the hip is lost in frames 18 to 29")
	w.goTo(25)
	w.open("placed-fold")
	w.click(w.middle(`[data-pick="front-ankle"]`))
	w.click(w.onPicture(1392, 742))
	w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === "front-ankle")`)
	follow()
	assert.Equal(t, "15 25", seeds())
	tracks, err := filepath.Glob(filepath.Join(data, "tracks", "*.csv"))
	require.NoError(t, err)
	require.Len(t, tracks, 1)
	table, err := os.ReadFile(tracks[0])
	require.NoError(t, err)
	track, err := reading.ParseTrack("table", table)
	require.NoError(t, err)
	for n, f := range track.Frames {
		hip, ankle := f.Marks[slices.Index(track.Landmarks, "hip")], f.Marks[slices.Index(track.Landmarks, "front-ankle")]
		assert.Equal(t, n < 18, hip.Seen == reading.Found, "frame %d", n)
		assert.Equal(t, reading.Found, ankle.Seen, "frame %d", n)
	}
	w.shot("1440-followed-from-two")

	// After what was followed is forgotten, the next following starts from its frame alone.
	w.click(w.middle("#follow-off"))
	w.until(`document.getElementById("follow-off").hidden`)
	w.goTo(frame - leapFrom)
	follow()
	assert.Equal(t, "15", seeds())
}

func TestFollowingIsStopped(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	r := a.do("POST", "/takes/"+id+"/follow", strings.NewReader(workOn(43, 0)))
	if r.status != http.StatusAccepted {
		t.Fatalf("%d %s", r.status, r.body)
	}
	again := a.do("POST", "/takes/"+id+"/follow", strings.NewReader(workOn(43, 0)))
	assert.Equal(t, http.StatusConflict, again.status, "one at a time")
	assert.Equal(t, http.StatusNoContent, a.do("DELETE", "/takes/"+id+"/follow", nil).status)
	assert.Equal(t, http.StatusNoContent, a.do("POST", "/takes/"+id+"/curve", strings.NewReader(workOn(43, 0))).status, "nothing was followed")
	assert.Equal(t, http.StatusUnprocessableEntity, a.do("POST", "/takes/"+id+"/follow", strings.NewReader(`{"frame": 3}`)).status)
	assert.Equal(t, http.StatusBadRequest, a.do("POST", "/takes/"+id+"/follow", strings.NewReader(`{"frame": 3, "frames": {"5": null}}`)).status, "a frame that is null")
}

func TestDrawingWhatWasNotFollowed(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	r := a.do("POST", "/takes/"+id+"/clip", strings.NewReader(workOn(43, 0)))
	assert.Equal(t, http.StatusUnprocessableEntity, r.status, "%s", r.body)
	assert.Contains(t, string(r.body), "follow the stickers first")
	assert.Equal(t, http.StatusNotFound, a.do("GET", "/takes/"+id+"/clip.mp4", nil).status)
	assert.Equal(t, http.StatusNoContent, a.do("DELETE", "/takes/"+id+"/clip", nil).status)
	assert.Equal(t, http.StatusNotFound, a.do("DELETE", "/takes/"+strings.Repeat("0", 64)+"/clip", nil).status)
}
