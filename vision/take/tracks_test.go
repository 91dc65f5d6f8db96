package take

import (
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoTracks puts two clips into one file as its first and second video track. The track with the
// number preferred, 0 or 1, is the default one.
func twoTracks(t testing.TB, name, first, second string, preferred int) string {
	path := filepath.Join(t.TempDir(), name)
	ffmpeg(t, "-i", first, "-i", second, "-map", "0:v", "-map", "1:v", "-c", "copy", "-disposition:v", "0",
		"-disposition:v:"+strconv.Itoa(preferred), "default", path)
	return path
}

// requireOther checks that the warnings name one other video track.
func requireOther(t testing.TB, take *Take, size, count string) {
	t.Helper()
	require.Len(t, take.Info().Warnings, 1)
	for _, part := range []string{"another video track", size, count, "not used"} {
		assert.Contains(t, take.Info().Warnings[0], part)
	}
}

// TestMovingTrack: the moving track becomes the take, whatever the size, order and duration of the
// stills that a phone stores in the same file.
func TestMovingTrack(t *testing.T) {
	const n = 20
	moving := encode(t, "moving.mp4", n, x264("keyint=5")...)
	want := straight(t, moving)
	for _, stills := range []int{1, 2} {
		for _, rate := range []string{"30", "1/3"} { // the stills last for less and for more than the moving track
			still := encodeSized(t, "still.mp4", stills, 1280, 960, x264("keyint=1", "-vf", "setpts=N/("+rate+")/TB", "-r", rate)...)
			for _, container := range []string{"mp4", "mov", "mkv"} {
				want := want
				if container == "mkv" { // its time stamps are whole milliseconds
					alone := filepath.Join(t.TempDir(), "moving.mkv")
					ffmpeg(t, "-i", moving, "-c", "copy", alone)
					want = straight(t, alone)
				}
				for order, tracks := range map[string][2]string{"first": {still, moving}, "second": {moving, still}} {
					name := strings.Join([]string{plural(stills), "at", strings.ReplaceAll(rate, "/", " to "), order, container}, " ")
					t.Run(name, func(t *testing.T) {
						preferred := 0
						if order == "second" {
							preferred = 1
						}
						take := open(t, twoTracks(t, "a."+container, tracks[0], tracks[1], preferred))
						info := take.Info()
						require.Equal(t, n, info.Frames)
						assert.Equal(t, [2]int{clipW, clipH}, [2]int{info.Width, info.Height})
						requireExact(t, take, want, shuffled(n, 1))
						requireOther(t, take, "1280 by 960", plural(stills))
					})
				}
			}
		}
	}
}

// TestLargestTrack: of two moving tracks of one recording the larger one becomes the take, even if the
// smaller one has one picture more.
func TestLargestTrack(t *testing.T) {
	const n = 20
	large := encodeSized(t, "large.mp4", n, 640, 480, x264("keyint=5")...)
	small := encode(t, "small.mp4", n+1, x264("keyint=5")...)
	want := straight(t, large)
	for name, path := range map[string]string{
		"large first": twoTracks(t, "a.mp4", large, small, 0),
		"small first": twoTracks(t, "a.mov", small, large, 1),
	} {
		t.Run(name, func(t *testing.T) {
			take := open(t, path)
			require.Equal(t, n, take.Info().Frames)
			requireExact(t, take, want, shuffled(n, 1))
			requireOther(t, take, "176 by 144", plural(n+1))
		})
	}
}

// TestLongestTrack: of two tracks with the same number of pictures the longer one becomes the take.
func TestLongestTrack(t *testing.T) {
	const n = 12
	lasting := encode(t, "lasting.mp4", n, x264("keyint=5")...)
	burst := encodeSized(t, "burst.mp4", n, 640, 480, x264("keyint=1", "-vf", "settb=1/240,setpts=N", "-r", "240")...)
	take := open(t, twoTracks(t, "a.mp4", burst, lasting, 0))
	requireExact(t, take, straight(t, lasting), shuffled(n, 1))
	requireOther(t, take, "640 by 480", plural(n))
}
