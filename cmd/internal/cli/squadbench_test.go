package cli

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
)

const (
	squadTakes = 15
	// squadPairs is how often the two sides run: fifteen clips are a mean of their own.
	squadPairs = 3
)

// took is how long a command took, and its processor time.
type took struct{ wall, busy []time.Duration }

func (t *took) run(b *testing.B, dir, name string, args ...string) {
	c := exec.Command(name, args...)
	c.Dir = dir
	start := time.Now()
	out, err := c.CombinedOutput()
	t.wall = append(t.wall, time.Since(start))
	require.NoError(b, err, "%s", out)
	t.busy = append(t.busy, c.ProcessState.UserTime()+c.ProcessState.SystemTime())
}

// squadClip returns the built-in leap forwards and backwards again for five seconds, with
// grain, coded as a phone does: High profile, B-frames, about 16 Mbit/s, a key frame at
// most every 250 frames. Its stickers are where the built-in marks are in frame 43.
func squadClip(b *testing.B, dir string) (clip, seeds string) {
	data, marks := demotake.Files()
	leap := filepath.Join(dir, "leap.mp4")
	clip, seeds = filepath.Join(dir, "clip.mp4"), filepath.Join(dir, "seeds.json")
	require.NoError(b, os.WriteFile(leap, data, 0o600))
	m, err := reading.ParseMarks("marks", marks)
	require.NoError(b, err)
	m.Marks = slices.DeleteFunc(m.Marks, func(p reading.Placement) bool { return p.Landmark == "shoulder" }) // it has no sticker
	text, err := json.Marshal(m)
	require.NoError(b, err)
	require.NoError(b, os.WriteFile(seeds, text, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-y", "-i", leap, "-filter_complex",
		"split[a][b];[b]reverse[r];[a][r]concat=n=2,loop=1:180:0,trim=duration=5,noise=alls=8:allf=t", "-r", "60",
		"-c:v", "libx264", "-preset", "veryfast", "-refs", "4", "-b:v", "16M", "-profile:v", "high", "-bf", "2", "-g", "250", "-pix_fmt", "yuv420p", clip).CombinedOutput()
	require.NoError(b, err, "%s", out)
	return clip, seeds
}

// BenchmarkSquad is 'ecart squad' on fifteen clips of five seconds of 1080p60 with
// stickers, beside the ffmpeg program that decodes one
// after another to nothing: at most 1.3 times as long is wanted. Beside it stands the
// ratio of the processors' time, which other work on the machine does not lengthen
// as much, and a second run, which remembers all.
func BenchmarkSquad(b *testing.B) {
	bin := built(b)
	dir := b.TempDir()
	clip, seeds := squadClip(b, dir)
	data, err := os.ReadFile(clip)
	require.NoError(b, err)
	b.Setenv("XDG_CACHE_HOME", filepath.Join(dir, "cache"))
	list := "athlete,take,seeds\n"
	var clips []string
	for i := range squadTakes {
		// a box that players skip (ISO/IEC 14496-12, 8.1.2) makes the files differ
		own := binary.BigEndian.AppendUint32(append([]byte{}, data...), 12)
		own = binary.BigEndian.AppendUint32(append(own, "free"...), uint32(i))
		clips = append(clips, filepath.Join(dir, fmt.Sprintf("%d.mp4", i)))
		require.NoError(b, os.WriteFile(clips[i], own, 0o600))
		list += fmt.Sprintf("Athlete %d,%s,%s\n", i+1, clips[i], seeds)
	}
	file := filepath.Join(dir, "list.csv")
	require.NoError(b, os.WriteFile(file, []byte(list), 0o600))
	all := strings.Join(clips, " ")
	var squad, decode, second took
	for b.Loop() {
		for range squadPairs {
			squad.run(b, dir, bin, "squad", file, "--skill", "split-leap", "--afresh")
			decode.run(b, dir, "sh", "-c", "for c in "+all+"; do ffmpeg -v error -nostdin -i $c -f null - || exit 1; done")
			second.run(b, dir, bin, "squad", file, "--skill", "split-leap")
		}
	}
	b.ReportMetric(median(squad.wall).Seconds(), "squad-s")
	b.ReportMetric(median(decode.wall).Seconds(), "ffmpeg-s")
	b.ReportMetric(float64(median(squad.wall))/float64(median(decode.wall)), "ratio(max:1.3)")
	b.ReportMetric(float64(median(squad.busy))/float64(median(decode.busy)), "processor-ratio")
	b.ReportMetric(median(second.wall).Seconds(), "again-s")
	b.ReportMetric(0, "ns/op")
}
