package take

import (
	"bufio"
	"bytes"
	"context"
	"crypto/md5"
	"encoding/hex"
	"fmt"
	"math/big"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/vision/internal/av"
)

// shot is one picture as decoded by the ffmpeg program.
type shot struct {
	pts *big.Rat // seconds
	md5 string   // of its samples, row by row, plane by plane
}

// ffmpeg runs the ffmpeg program and returns what it writes.
func ffmpeg(t testing.TB, args ...string) []byte {
	t.Helper()
	return ffmpegFed(t, nil, args...)
}

func ffmpegFed(t testing.TB, in []byte, args ...string) []byte {
	t.Helper()
	cmd := exec.Command("ffmpeg", append([]string{"-hide_banner", "-loglevel", "error", "-nostdin", "-y"}, args...)...)
	if in != nil {
		cmd.Args = append(cmd.Args[:4], cmd.Args[5:]...) // with standard input
		cmd.Stdin = bytes.NewReader(in)
	}
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, "ffmpeg %s\n%s", strings.Join(args, " "), stderr.String())
	return out
}

// command runs another program and returns what it writes.
func command(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	require.NoError(t, err, "%s %s", name, strings.Join(args, " "))
	return out
}

// straight returns the reference for a clip: the pictures that the ffmpeg program decodes from start to
// end, none turned, scaled, dropped or repeated.
func straight(t testing.TB, path string) []shot {
	t.Helper()
	out := ffmpeg(t, "-noautorotate", "-copyts", "-i", path, "-map", "0:v:0", "-fps_mode", "passthrough",
		"-enc_time_base", "-1", "-c:v", "rawvideo", "-f", "framemd5", "-")
	return parseShots(t, out)
}

func parseShots(t testing.TB, out []byte) []shot {
	var shots []shot
	tick := big.NewRat(1, 1)
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		line := lines.Text()
		if strings.HasPrefix(line, "#tb 0:") {
			_, ok := tick.SetString(strings.TrimSpace(strings.TrimPrefix(line, "#tb 0:")))
			require.True(t, ok, line)
		}
		if strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, ",")
		require.Len(t, fields, 6, line)
		pts, ok := new(big.Rat).SetString(strings.TrimSpace(fields[2]))
		require.True(t, ok, line)
		shots = append(shots, shot{pts.Mul(pts, tick), strings.TrimSpace(fields[5])})
	}
	return shots
}

// since returns the time from the first shot to shot i, to the nearest nanosecond.
func since(shots []shot, i int) time.Duration {
	d := new(big.Rat).Sub(shots[i].pts, shots[0].pts)
	d.Mul(d, big.NewRat(int64(time.Second), 1)).Add(d, big.NewRat(1, 2))
	return time.Duration(new(big.Int).Div(d.Num(), d.Denom()).Int64())
}

// samplesMD5 is the MD5 of a frame's samples in the form of shot.md5.
func samplesMD5(f *Frame) string {
	p := f.picture
	h := md5.New()
	sum := func(i, w, rows int) {
		w *= (p.Depth + 7) / 8
		for y := range rows {
			h.Write(p.Planes[i][y*p.Stride[i]:][:w])
		}
	}
	sum(0, p.Width, p.Height)
	if p.Layout == av.YUV {
		w, rows := (p.Width+1<<p.ShiftX-1)>>p.ShiftX, (p.Height+1<<p.ShiftY-1)>>p.ShiftY
		sum(1, w, rows)
		sum(2, w, rows)
	}
	return hex.EncodeToString(h.Sum(nil))
}

func open(t testing.TB, path string) *Take {
	t.Helper()
	take, err := Open(context.Background(), path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, take.Close()) })
	return take
}

// requireExact compares a take with the straight decode: number of frames, time stamps, and
// samples of the frames in the given order.
func requireExact(t testing.TB, take *Take, want []shot, order []int) {
	t.Helper()
	require.Equal(t, len(want), take.Info().Frames)
	for _, i := range order {
		f, err := take.Frame(context.Background(), i)
		require.NoError(t, err, "frame %d", i)
		require.Equal(t, i, f.Index)
		require.Equal(t, since(want, i), f.Time, "time of frame %d", i)
		require.Equal(t, since(want, i), take.Time(i), "time of frame %d", i)
		require.Equal(t, want[i].md5, samplesMD5(f), "samples of frame %d", i)
		require.False(t, f.Damaged, "frame %d", i)
	}
}

// requireStream compares the frames of Stream, starting at frame from, with the straight decode.
func requireStream(t testing.TB, take *Take, want []shot, from int) {
	t.Helper()
	next := from
	require.NoError(t, take.Stream(context.Background(), from, func(f *Frame) error {
		if f.Index != next || f.Time != since(want, next) || samplesMD5(f) != want[next].md5 {
			return fmt.Errorf("frame %d: got number %d at %v", next, f.Index, f.Time)
		}
		next++
		return nil
	}))
	require.Equal(t, len(want), next)
}

// shuffled returns 0 to n-1 in a random order given by the seed.
func shuffled(n int, seed uint64) []int { return rand.New(rand.NewPCG(seed, 1)).Perm(n) }
