package page_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// largeStill returns a JPEG of w by h pixels that is not uniform.
func largeStill(t *testing.T, w, h int) []byte {
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for i := range img.Y {
		img.Y[i] = uint8(i/w/64^i%w/64) | 64
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 120, 130
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 50}))
	return b.Bytes()
}

// largeClip returns a clip of 4K.
func largeClip(t *testing.T) []byte {
	path := filepath.Join(t.TempDir(), "a.mp4")
	out, err := exec.Command("ffmpeg", "-v", "error", "-f", "lavfi", "-i", "testsrc2=s=3840x2160:r=30", "-frames:v", "15",
		"-c:v", "libx264", "-preset", "ultrafast", "-refs", "4", "-bf", "2", "-pix_fmt", "yuv420p", path).CombinedOutput()
	require.NoError(t, err, "ffmpeg: %s", out)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

// TestTenLargeTakes opens five stills of 48 million pixels and five clips of 4K, first one after the
// other, then all at once, and checks the largest size of the process.
func TestTenLargeTakes(t *testing.T) {
	still, clip := largeStill(t, 8000, 6000), largeClip(t)
	a := start(t, t.TempDir()).enter()
	a.client.Timeout = 5 * time.Minute // each may have to be opened again for each request
	one := a.upload("one.jpg", still)
	for _, p := range []string{"", "/thumb", "/frames/0?w=1280", "/frames/0/part?x=100&y=100&pw=3000&ph=3000&w=800"} {
		require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+one+p, nil).status, p)
	}
	peak := a.peakMB(t)
	t.Logf("one still: %.0f MB", peak)
	assert.Less(t, peak, 600.0, "MB, with one take")
	ids := []string{one}
	for i := range 4 {
		ids = append(ids, a.upload(fmt.Sprintf("%d.jpg", i), append(bytes.Clone(still), byte(i))))
	}
	for i := range 5 {
		ids = append(ids, a.upload(fmt.Sprintf("%d.mp4", i), append(bytes.Clone(clip), 0, 0, 0, 8, 'f', 'r', 'e', byte('a'+i))))
	}
	marks := func() *strings.Reader {
		return strings.NewReader(strings.NewReplacer("43", "0").Replace(workOn(43, 0)))
	}
	var wg sync.WaitGroup
	for _, id := range ids {
		wg.Go(func() {
			assert.Equal(t, http.StatusOK, a.try("GET", "/takes/"+id+"/frames/0?w=4096", nil))
			assert.Equal(t, http.StatusOK, a.try("POST", "/takes/"+id+"/reading", marks()))
		})
	}
	wg.Wait()
	peak = a.peakMB(t)
	t.Logf("ten takes: %.0f MB", peak)
	assert.Less(t, peak, 1200.0, "MB, with ten takes")
	a.checkStderr(t)
}

// peakMB returns the largest size of the server so far.
func (a *app) peakMB(t testing.TB) float64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", a.cmd.Process.Pid))
	require.NoError(t, err)
	_, after, ok := strings.Cut(string(data), "VmHWM:")
	require.True(t, ok)
	var kB float64
	_, err = fmt.Sscan(after, &kB)
	require.NoError(t, err)
	return kB * 1024 / 1e6
}
