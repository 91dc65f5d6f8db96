package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/lens"
	"ecart/cmd/internal/trial/scene"
	"ecart/vision/calibrate/photographs"
)

// run runs the command line in this process.
func run(args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	code = Main(args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// worked runs a command that must succeed with nothing on standard error.
func worked(t *testing.T, args ...string) string {
	t.Helper()
	code, out, errs := run(args...)
	require.Zero(t, code, "%s", errs)
	require.Empty(t, errs)
	return out
}

// failed runs a command that must fail: two lines, with the text in the first.
func failed(t *testing.T, code int, what string, args ...string) string {
	t.Helper()
	got, out, errs := run(args...)
	assert.Equal(t, code, got, "%q", args)
	assert.Empty(t, out)
	lines := strings.Split(strings.TrimSuffix(errs, "\n"), "\n")
	require.Len(t, lines, 2, errs)
	assert.Contains(t, lines[0], what)
	return lines[1]
}

// boardPictures draws the first pictures of the board's scene.
func boardPictures(t *testing.T, dir string, n int) (*scene.Scene, []string) {
	t.Helper()
	s, err := scene.Named("board")
	require.NoError(t, err)
	require.Equal(t, [2]int{1920, 1080}, [2]int{s.Camera.Width, s.Camera.Height})
	var paths []string
	for i := range n {
		img, _ := s.Frame(i)
		path := filepath.Join(dir, fmt.Sprintf("board%02d.png", i))
		f, err := os.Create(path)
		require.NoError(t, err)
		require.NoError(t, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(f, img))
		require.NoError(t, f.Close())
		paths = append(paths, path)
	}
	return s, paths
}

// A lens from 10 rendered pictures of a board of 9 by 6 corners at 1080p: focal
// length and distortion lie within their own 95 % intervals, and corners within
// 0.2 px of where lens and poses put them.
func TestLensFromRenderedPictures(t *testing.T) {
	dir := t.TempDir()
	s, paths := boardPictures(t, dir, 10)
	out, drawn := filepath.Join(dir, "phone.lens.json"), filepath.Join(dir, "coverage.png")
	args := append([]string{"lens", "--board", "9x6", "--square", "24mm", "--out", out, "--figure", drawn}, paths...)
	text := worked(t, args...)
	for _, l := range strings.Split(text, "\n") {
		if !strings.Contains(l, dir) { // a path is not broken
			assert.LessOrEqual(t, utf8.RuneCountInString(l), terminal.PrintWidth, l)
		}
	}
	assert.Contains(t, text, "lens, 10 of 10 pictures")
	assert.Contains(t, text, "focal length  fx")
	assert.NotContains(t, text, "again:")

	data, err := os.ReadFile(out)
	require.NoError(t, err)
	l, err := desk.ParseLens(out, data)
	require.NoError(t, err)
	assert.Equal(t, [2]int{1920, 1080}, [2]int{l.Width, l.Height})
	truth := []float64{s.Camera.Focal, s.Camera.Focal, s.Camera.CX, s.Camera.CY, s.Camera.Lens[0], s.Camera.Lens[1], s.Camera.Lens[2], s.Camera.Lens[3], s.Camera.Lens[4]}
	got := []float64{l.Fx, l.Fy, l.Cx, l.Cy, l.Dist[0], l.Dist[1], l.Dist[2], l.Dist[3], l.Dist[4]}
	held := 0
	for i := range got {
		sd := math.Sqrt(l.Covariance.At(i, i))
		if math.Abs(got[i]-truth[i]) < 1.96*sd {
			held++
		}
		assert.InDelta(t, truth[i], got[i], 3.5*sd, "parameter %d", i)
		if i < 2 {
			assert.InDelta(t, truth[i], got[i], 1.96*sd, "focal length")
			assert.Less(t, sd, 0.002*truth[i], "and it is worth something")
		}
	}
	assert.GreaterOrEqual(t, held, 7, "of nine 95 %% intervals")

	f, err := os.Open(drawn)
	require.NoError(t, err)
	defer f.Close()
	_, err = png.Decode(f)
	require.NoError(t, err)

	var r lens.Report
	require.NoError(t, json.Unmarshal([]byte(worked(t, append(args, "--json", "--force")...)), &r))
	assert.Equal(t, lens.ReportSchema, r.Schema)
	assert.Less(t, r.ResidualPx, 0.2)
	assert.Len(t, r.Pictures, 10)
	for _, p := range r.Pictures {
		require.NotNil(t, p.ResidualPx, p.Name)
		assert.Less(t, *p.ResidualPx, 0.2, p.Name)
		assert.True(t, p.Used, p.Name)
		assert.InDelta(t, 620, *p.DistanceMm, 120, "the scene holds it 0.56 to 0.66 m away, and to the side")
	}
	second, err := desk.ParseLens("json", r.Lens)
	require.NoError(t, err)
	assert.Equal(t, l, second)

	// a picture that is read is never replaced, and a failed call leaves nothing
	failed(t, exitInput, "take the place", append([]string{"lens", "--board", "9x6", "--out", paths[0]}, paths...)...)
	none := filepath.Join(dir, "none.lens.json")
	hint := failed(t, exitInput, `no picture shows a board of 10x7 inner corners`, append([]string{"lens", "--board", "10x7", "--out", none}, paths[:3]...)...)
	assert.Contains(t, hint, "give --board 9x6")
	failed(t, exitInput, "2 pictures are not enough", append([]string{"lens", "--board", "9x6", "--out", none}, paths[:2]...)...)
	assert.NoFileExists(t, none)
	assert.Len(t, listed(t, dir), 12)
}

// A clip in which somebody shows a board at ten places, pausing at each: frames of
// the pauses are chosen, and the lens is the scene's.
func TestLensFromAClip(t *testing.T) {
	s, err := scene.Named("board")
	require.NoError(t, err)
	const small, rate, rest, way, places = 3, 12, 3, 1, 10
	c := &s.Camera
	c.Width, c.Height, c.Focal, c.CX, c.CY = c.Width/small, c.Height/small, c.Focal/small, (c.CX+0.5)/small-0.5, (c.CY+0.5)/small-0.5
	held := s.Boards[0].Path
	s.Boards[0].Path = func(at float64) scene.BoardPose {
		n := at * rate / (rest + way)
		i := math.Floor(n + 1e-9)
		a, b := held(i), held(min(i+1, places-1))
		f := math.Max(0, (n-i)*(rest+way)-rest+1) / (way + 1)
		mix := func(x, y float64) float64 { return x + (y-x)*f }
		return scene.BoardPose{
			At:  scene.Vec{X: mix(a.At.X, b.At.X), Y: mix(a.At.Y, b.At.Y), Z: mix(a.At.Z, b.At.Z)},
			Yaw: mix(a.Yaw, b.Yaw), Pitch: mix(a.Pitch, b.Pitch), Roll: mix(a.Roll, b.Roll),
		}
	}
	s.FPS, s.Frames = rate, places*(rest+way)-way
	dir := t.TempDir()
	path, out := filepath.Join(dir, "board.mp4"), filepath.Join(dir, "phone.lens.json")
	_, err = s.WriteClip(context.Background(), path, scene.ClipOptions{CRF: 12, Preset: "veryfast"})
	require.NoError(t, err)

	var r lens.Report
	require.NoError(t, json.Unmarshal([]byte(worked(t, "lens", path, "--board", "9x6", "--out", out, "--json")), &r))
	assert.GreaterOrEqual(t, len(r.Pictures), 7)
	assert.LessOrEqual(t, len(r.Pictures), 20)
	for _, p := range r.Pictures {
		assert.Contains(t, p.Name, "frame ")
	}
	fx := r.Parameters[0]
	assert.InDelta(t, c.Focal, fx.Value, 3*fx.Standard)
	assert.Less(t, fx.Standard, 0.02*c.Focal)

	failed(t, exitInput, "is a clip, and other files were given with it", "lens", path, path, "--board", "9x6", "--out", filepath.Join(dir, "none.json"))
	failed(t, exitInput, "found in none of the", "lens", path, "--board", "15x4", "--out", filepath.Join(dir, "none.json"))
}

// The real photographs give the same lens on the command line as in package calibrate.
func TestLensFromPhotographs(t *testing.T) {
	paths, err := photographs.Board(t.Context())
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), "real.lens.json")
	text := worked(t, append([]string{"lens", "--board", "9x6", "--square", "25mm", "--out", out}, paths...)...)
	assert.Contains(t, text, "lens, 13 of 13 pictures, 640 x 480 px")
	assert.Contains(t, text, "together 0.17 px")
	assert.Contains(t, text, "the pictures differ 2.3 times")
	assert.Regexp(t, `do next: the board has hardly been in the\s+top\s+left`, text)
}

func TestLensCalls(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "phone.lens.json")
	picture := filepath.Join("..", "..", "..", "no.jpg")
	failed(t, exitInput, "no board was given", "lens", picture)
	failed(t, exitInput, "no pictures", "lens", "--board", "9x6")
	failed(t, exitInput, "no file to go to", "lens", picture, "--board", "9x6")
	failed(t, exitInput, `"nine" is no board`, "lens", picture, "--board", "nine", "--out", out)
	failed(t, exitInput, `"24"`, "lens", picture, "--board", "9x6", "--square", "24", "--out", out)
	failed(t, exitInput, "no.jpg", "lens", picture, "--board", "9x6", "--out", out)
	failed(t, exitFailed, "there is no folder", "lens", picture, "--board", "9x6", "--out", filepath.Join(dir, "no", "x.json"))
	failed(t, exitInput, "does not end in .png", "lens", picture, "--board", "9x6", "--out", out, "--figure", filepath.Join(dir, "a.jpg"))
	failed(t, exitInput, "empty name", "lens", "", "--board", "9x6", "--out", out)
	assert.Empty(t, listed(t, dir))
}

func TestLensPrint(t *testing.T) {
	dir := t.TempDir()
	for name, begins := range map[string]string{"board.pdf": "%PDF-", "board.PNG": "\x89PNG"} {
		path := filepath.Join(dir, name)
		text := worked(t, "lens", "--print", path, "--board", "9x6", "--square", "24mm")
		assert.Contains(t, text, "squares of 24 mm")
		assert.Contains(t, text, "100 mm long")
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(string(data), begins))
	}
	var form struct {
		Square float64 `json:"square_mm"`
	}
	require.NoError(t, json.Unmarshal([]byte(worked(t, "lens", "--print", filepath.Join(dir, "a3.pdf"), "--board", "9x6", "--paper", "a3", "--json")), &form))
	assert.Equal(t, 38.0, form.Square, "(297 - 29) / 7 is 38.3")

	none := filepath.Join(dir, "none.pdf")
	hint := failed(t, exitInput, "does not fit on letter", "lens", "--print", none, "--board", "9x6", "--square", "3cm", "--paper", "letter")
	assert.Contains(t, hint, "the largest square that fits is 25.4mm", "(279.4 - 25) / 10")
	failed(t, exitInput, `no paper "b5"`, "lens", "--print", none, "--board", "9x6", "--paper", "b5")
	failed(t, exitInput, "neither .pdf nor .png", "lens", "--print", filepath.Join(dir, "board.svg"), "--board", "9x6")
	failed(t, exitInput, "pictures were given too", "lens", "a.jpg", "--print", none, "--board", "9x6")
	failed(t, exitInput, "--print and --out", "lens", "--print", none, "--board", "9x6", "--out", "x")
	assert.Len(t, listed(t, dir), 3)
}
