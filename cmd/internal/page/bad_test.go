package page_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/page"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/needs"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// words returns the words of a refusal.
func words(t *testing.T, r answered) (fact, hint string) {
	t.Helper()
	var w struct{ Error, Hint string }
	require.NoError(t, json.Unmarshal(r.body, &w), "%d %s", r.status, r.body)
	require.NotEmpty(t, w.Error)
	require.NotEmpty(t, w.Hint)
	return w.Error, w.Hint
}

// upload uploads a file and returns the take's id.
func (a *app) upload(name string, data []byte) string {
	r := a.do("POST", "/takes?name="+name, bytes.NewReader(data))
	require.Equal(a.t, http.StatusCreated, r.status, "%s", r.body)
	var v struct{ ID string }
	require.NoError(a.t, json.Unmarshal(r.body, &v))
	return v.ID
}

// nothingLeft checks that a refusal left nothing on the disk.
func (a *app) nothingLeft(t *testing.T) {
	t.Helper()
	for _, d := range []string{"incoming", "takes", "about"} {
		in, err := os.ReadDir(filepath.Join(a.data, d))
		require.NoError(t, err)
		assert.Empty(t, in, d)
	}
}

func TestOtherFilesAreRefused(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	for _, c := range []struct {
		name, file string
		data       []byte
		says       string
	}{
		{"words with the name of a clip", "leap.mp4", []byte(strings.Repeat("this is no clip\n", 5000)), "leap.mp4"},
		{"nothing", "empty.jpg", nil, "empty"},
		{"the beginning of a clip", "head.mp4", clip[:40], "head.mp4"},
		{"a page", "a.html", []byte("<!doctype html><script>alert(1)</script>"), "a.html"},
	} {
		r := a.do("POST", "/takes?name="+c.file, bytes.NewReader(c.data))
		assert.Equal(t, http.StatusUnprocessableEntity, r.status, c.name)
		fact, _ := words(t, r)
		assert.Contains(t, fact, c.says, c.name)
		assert.NotContains(t, fact, a.data, "%s: the stored file's place is nobody's business", c.name)
		assert.NotContains(t, fact, "incoming", c.name)
	}
	a.nothingLeft(t)
}

func TestAClipCutShortSaysSo(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files() // its index comes first, so that the frames before the cut can be used
	a := start(t, t.TempDir()).enter()
	id := a.upload("cut.mp4", clip[:len(clip)/2])
	r := a.do("GET", "/takes/"+id, nil)
	require.Equal(t, http.StatusOK, r.status)
	var o struct {
		Frames   int
		Warnings []string
	}
	require.NoError(t, json.Unmarshal(r.body, &o))
	assert.Less(t, o.Frames, 90)
	require.NotEmpty(t, o.Warnings)
	assert.Contains(t, o.Warnings[0], "breaks off")
	assert.Equal(t, http.StatusOK, a.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=320", id, o.Frames-1), nil).status)
	r = a.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=320", id, o.Frames), nil)
	fact, _ := words(t, r)
	assert.Contains(t, fact, `"cut.mp4"`)
}

func TestATakeThatIsTooLargeIsRefusedBeforeItIsSent(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	c, err := net.Dial("tcp", strings.TrimPrefix(a.base, "http://"))
	require.NoError(t, err)
	defer c.Close()
	u := *a.client
	req, err := http.NewRequest("POST", a.base+"/takes?name=long.mov", nil)
	require.NoError(t, err)
	cookie := u.Jar.Cookies(req.URL)[0]
	fmt.Fprintf(c, "POST /takes?name=long.mov HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nCookie: %s\r\nContent-Length: %d\r\n\r\nftyp",
		strings.TrimPrefix(a.base, "http://"), a.base, cookie, int64(4)<<30)
	require.NoError(t, c.SetReadDeadline(time.Now().Add(20*time.Second)))
	r, err := http.ReadResponse(bufio.NewReader(c), req)
	require.NoError(t, err)
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusRequestEntityTooLarge, r.StatusCode)
	assert.Contains(t, string(body), "up to 2 GB")
	a.nothingLeft(t)
}

func TestATakeThatGrowsTooLargeIsRefused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s, err := page.New(page.Config{Dir: dir, MostBytes: 1 << 20})
	require.NoError(t, err)
	defer s.Close()
	l, err := s.Listen(0)
	require.NoError(t, err)
	go s.Serve(t.Context(), l)
	client := http.Client{Jar: newJar(t)}
	r, err := client.Get(s.Address())
	require.NoError(t, err)
	r.Body.Close()
	base := "http://" + l.Addr().String()
	// A body whose length is not in the head.
	req, err := http.NewRequest("POST", base+"/takes?name=long.mov", io.LimitReader(endless{}, 3<<20))
	require.NoError(t, err)
	req.Header.Set("Origin", base)
	r, err = client.Do(req)
	require.NoError(t, err)
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusRequestEntityTooLarge, r.StatusCode)
	assert.Contains(t, string(body), "up to 1 MB")
	in, err := os.ReadDir(filepath.Join(dir, "incoming"))
	require.NoError(t, err)
	assert.Empty(t, in)
}

type endless struct{}

func (endless) Read(b []byte) (int, error) { return len(b), nil }

// TestAFullDisk runs the page with its data folder on a disk of its own, so small
// that the second take does not fit.
func TestAFullDisk(t *testing.T) {
	t.Parallel()
	program, err := program()
	require.NoError(t, err)
	clip, _ := demotake.Files()
	disk := t.TempDir()
	room := len(clip) + 300<<10
	cmd := needs.SmallDisk(t, disk, room, program, "page", "--no-open", "--data", filepath.Join(disk, "data"))
	a := startAs(t, filepath.Join(disk, "data"), cmd).enter()
	id := a.upload("leap.mp4", clip)
	other := append(bytes.Clone(clip), make([]byte, 600<<10)...)
	r := a.do("POST", "/takes?name=second.mp4", bytes.NewReader(other))
	assert.Equal(t, http.StatusInsufficientStorage, r.status, "%s", r.body)
	fact, hint := words(t, r)
	assert.Contains(t, fact, "the disk is full")
	assert.Contains(t, fact, "second.mp4")
	assert.Contains(t, hint, "make room")

	// What is there stays there, and marks fit into the space that the refused take freed
	// or are refused in words as well.
	assert.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/3?w=320", nil).status)
	work := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0)))
	if work.status != http.StatusOK {
		fact, _ := words(t, work)
		assert.Contains(t, fact, "the disk is full")
	}
}

func TestTakeDeletedOnDisk(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	data := t.TempDir()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/3?w=320", nil).status)
	require.NoError(t, os.Remove(filepath.Join(data, "takes", id)))
	for _, p := range []string{"", "/frames/4?w=320", "/frames/43/reading.json", "/frames/43/figure.png"} {
		r := a.do("GET", "/takes/"+id+p, nil)
		assert.Equal(t, http.StatusGone, r.status, p)
		fact, hint := words(t, r)
		assert.Contains(t, fact, `"leap.mp4" is no longer in the data folder`)
		assert.Contains(t, hint, "marks are still here")
	}
	assert.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(44, 1))).status, "marks are stored all the same")
	assert.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/44/marks.json", nil).status)
	assert.Equal(t, id, a.upload("leap.mp4", clip), "dropped again it is the same take")
	assert.Contains(t, string(a.do("GET", "/takes/"+id+"/work", nil).body), `"44"`, "with its marks")
}

func TestBrokenMarksFileIsNotReplaced(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	data := t.TempDir()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", clip)
	path := filepath.Join(data, "marks", id+".json")
	require.NoError(t, os.WriteFile(path, []byte(`{"version": 3, "frames": {`), 0o600))
	r := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0)))
	fact, hint := words(t, r)
	assert.Contains(t, fact, "damaged")
	assert.Contains(t, hint, id)
	left, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, `{"version": 3, "frames": {`, string(left))
}

// A file that the decoding library refuses is refused in the page's words, without the library's own words and
// error numbers.
func TestNoWordOfALibraryReachesThePage(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	noPictures, noTables, half := bytes.Clone(clip), bytes.Clone(clip), bytes.Clone(clip)
	clear(noPictures[bytes.Index(clip, []byte("mdat"))+4:])
	clear(noTables[bytes.Index(clip, []byte("stbl"))+4:][:2000])
	for i := bytes.Index(clip, []byte("mdat")) + 4; i < len(half); i += 3 {
		half[i] ^= 0x5a
	}
	a := start(t, t.TempDir()).enter()
	for name, data := range map[string][]byte{
		"none.mp4": noPictures, "tables.mp4": noTables, "half.mp4": half, "cut.mov": clip[:300], "text.mp4": []byte(strings.Repeat("no clip at all ", 400)),
	} {
		r := a.do("POST", "/takes?name="+name, bytes.NewReader(data))
		said := string(r.body)
		if r.status < 400 { // it opens: then its first frame says what is wrong
			var opened struct{ ID string }
			require.NoError(t, json.Unmarshal(r.body, &opened), said)
			r = a.do("GET", "/takes/"+opened.ID+"/frames/0?w=640", nil)
			if r.status == http.StatusOK {
				continue
			}
			said = string(r.body)
		}
		assert.Less(t, r.status, 500, "%s: %s", name, said)
		assert.NotRegexp(t, `(?i)ffmpeg|libav|averror|invalid data found|-[0-9]{4,}`, said, name)
		assert.Contains(t, said, `"hint"`, name)
	}
}

func TestASecondServerOnTheSameFolder(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := start(t, data)
	path, err := program()
	require.NoError(t, err)
	out, err := exec.Command(path, "page", "--no-open", "--data", data).CombinedOutput()
	require.Error(t, err)
	assert.Contains(t, string(out), "in use by another 'ecart page'")
	// it says how to get in, and that works
	said := regexp.MustCompile(`open (http://\S+) \(it works once, within five minutes\)`).FindSubmatch(out)
	require.NotNil(t, said, "%s", out)
	a.address = string(said[1])
	assert.Equal(t, http.StatusOK, a.enter().do("GET", "/takes", nil).status)
}

// damagedDemo returns the demo's clip with two thirds of its first picture altered, from which all others
// are predicted.
func damagedDemo(t *testing.T) []byte {
	path := demoFile(t)
	out, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "packet=size,pos", "-read_intervals", "%+#1", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	var at [2]int // how many bytes, and the first
	for i, s := range strings.Split(strings.TrimSpace(string(out)), ",")[:2] {
		at[i], err = strconv.Atoi(s)
		require.NoError(t, err)
	}
	clip, _ := demotake.Files()
	clip = bytes.Clone(clip)
	r := rand.New(rand.NewPCG(13, 2))
	for i := at[1] + at[0]/3; i < at[1]+at[0]; i++ {
		clip[i] ^= byte(1 + r.IntN(255))
	}
	return clip
}

// TestDamageHasTheCautionsOfRead checks that a damaged frame that is marked by hand has the same cautions on the
// page, in the files that the page saves and in the journal as 'ecart read' prints.
func TestDamageHasTheCautionsOfRead(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	clip := damagedDemo(t)
	id := a.upload("leap.mp4", clip)
	frame := a.marked(t, id)
	at := "/takes/" + id

	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	marks := a.do("GET", at+"/frames/"+strconv.Itoa(frame)+"/marks.json", nil)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks.body, 0o600))
	path, err := program()
	require.NoError(t, err)
	c := exec.Command(path, "read", "leap.mp4", "--marks", "marks.json", "--skill", "split-leap", "--json")
	c.Dir = dir
	printed, err := c.Output()
	require.NoError(t, err)
	var want reading.Reading
	require.NoError(t, json.Unmarshal(printed, &want))
	require.Contains(t, strings.Join(want.Cautions, "\n"), "The file is damaged at frame "+strconv.Itoa(frame))

	saved := a.do("GET", at+"/frames/"+strconv.Itoa(frame)+"/reading.json", nil)
	assert.Equal(t, string(printed), string(saved.body))

	work := a.do("GET", at+"/work", nil)
	var shown struct {
		Reading reading.Reading
		Sheet   struct{ Cautions []string }
	}
	r := a.do("POST", at+"/reading", bytes.NewReader(work.body))
	require.NoError(t, json.Unmarshal(r.body, &shown), "%s", r.body)
	assert.Equal(t, want.Cautions, shown.Reading.Cautions)
	assert.Len(t, shown.Sheet.Cautions, len(want.Cautions))

	require.Equal(t, 201, a.keepAs(id, frame, `"athlete": "Wren", "day": "2026-03-21"`).status)
	_, kept := inJournal(t, a.data)
	assert.Equal(t, want, kept)
}
