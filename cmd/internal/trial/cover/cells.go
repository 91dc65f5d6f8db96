package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"time"

	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	"ecart/vision/sticker"
)

// cell is one way to code a sketch's clip.
type cell struct {
	name   string
	scale  float64  // of the picture's sides
	every  int      // one of so many frames is kept, of a clip with 60 a second
	coding []string // ffmpeg's arguments, applied to the original clip; nil for that itself
}

// cells are the clip as a phone writes it, and as it is after it was sent through messengers.
var cells = []cell{
	{"as it is", 1, 1, nil},
	{"HEVC CRF 30", 1, 1, []string{"-c:v", "libx265", "-preset", "veryfast", "-crf", "30", "-tag:v", "hvc1", "-x265-params", "log-level=error"}},
	{"H.264 CRF 28", 1, 1, []string{"-c:v", "libx264", "-preset", "fast", "-crf", "28"}},
	{"half size", 0.5, 1, []string{"-vf", "scale=iw/2:ih/2:flags=bicubic", "-c:v", "libx264", "-preset", "fast", "-crf", "23"}},
	{"30 frames/s", 1, 2, []string{"-vf", `select=not(mod(n\,2))`, "-vsync", "passthrough", "-c:v", "libx264", "-preset", "fast", "-crf", "20"}},
}

// phoneCoding is how the clip is first coded: an older phone writes H.264, a newer one HEVC.
func phoneCoding(seed uint64) []string {
	if seed%2 == 1 {
		return []string{"-c:v", "libx264", "-preset", "fast", "-crf", "20"}
	}
	return []string{"-c:v", "libx265", "-preset", "veryfast", "-crf", "22", "-tag:v", "hvc1", "-x265-params", "log-level=error"}
}

// sketchForm is part of the names of kept clips: change it when sketches are drawn differently.
const sketchForm = 1

// sketchClip renders a sketch, or takes it from the folder, with its truth.
func sketchClip(ctx context.Context, folder string, seed uint64) (string, scene.SketchTruth, error) {
	var truth scene.SketchTruth
	path := filepath.Join(folder, fmt.Sprintf("sketch%d-%d.mp4", sketchForm, seed))
	beside := path + ".json"
	if data, err := os.ReadFile(beside); err == nil {
		return path, truth, json.Unmarshal(data, &truth)
	}
	truth, err := scene.NewSketch(seed).Write(ctx, path, phoneCoding(seed)...)
	if err != nil {
		return "", truth, err
	}
	data, err := json.Marshal(truth)
	if err != nil {
		return "", truth, err
	}
	return path, truth, os.WriteFile(beside, data, 0o644)
}

// clip codes a sketch's clip again, or takes it from the folder. Stickers that this clip does not show are marked as
// hidden in its truth.
func (c *cell) clip(ctx context.Context, from string, whole scene.SketchTruth) (string, scene.SketchTruth, error) {
	if c.every > 1 && whole.FPS < 60 {
		c = &cell{c.name, c.scale, 1, c.coding[len(c.coding)-6:]}
	}
	path, truth, err := c.coded(ctx, from, whole)
	if err == nil {
		err = markHidden(ctx, from, &whole, path, &truth, c.every)
	}
	return path, truth, err
}

// coded returns the clip, with the truth for its size and rate.
func (c *cell) coded(ctx context.Context, from string, truth scene.SketchTruth) (string, scene.SketchTruth, error) {
	truth = c.scaledTruth(truth)
	if c.coding == nil {
		return from, truth, nil
	}
	path := from[:len(from)-len(".mp4")] + "-" + filepath.Base(safe(c.name)) + ".mp4"
	if _, err := os.Stat(path); err == nil {
		return path, truth, nil
	}
	part := path + ".part.mp4"
	args := append([]string{"-hide_banner", "-loglevel", "error", "-y", "-i", from}, c.coding...)
	if out, err := exec.CommandContext(ctx, "ffmpeg", append(args, part)...).CombinedOutput(); err != nil {
		return "", truth, fmt.Errorf("ffmpeg: %w: %s", err, out)
	}
	return path, truth, os.Rename(part, path)
}

func safe(name string) string {
	out := []rune(name)
	for i, r := range out {
		if r == ' ' || r == '/' || r == '.' {
			out[i] = '_'
		}
	}
	return string(out)
}

// scaledTruth returns the truth for the coded clip.
func (c *cell) scaledTruth(t scene.SketchTruth) scene.SketchTruth {
	out := t
	out.Width, out.Height = int(float64(t.Width)*c.scale), int(float64(t.Height)*c.scale)
	out.FPS = t.FPS / float64(c.every)
	out.Frames = nil
	for i := 0; i < len(t.Frames); i += c.every {
		f := scene.SketchFrame{Frame: i / c.every}
		for _, m := range t.Frames[i].Stickers {
			for n := range m.Pixel {
				m.Pixel[n] = (m.Pixel[n]+0.5)*c.scale - 0.5
			}
			m.RadiusPx *= c.scale
			m.StreakPx *= c.scale
			f.Stickers = append(f.Stickers, m)
		}
		out.Frames = append(out.Frames, f)
	}
	return out
}

// A sticker is plain where nine tenths of it show and the coding preserved it (contrast.go), its radius is at least
// plainRadius, and its streak of motion is at most plainStreak of its diameters: in a longer one its colour is mixed
// everywhere. Other stickers are counted separately.
const (
	plainRadius = 3 // px
	plainStreak = 1 // diameters
)

func plain(m *scene.SketchMark) bool {
	return m.Visible >= visible && m.RadiusPx >= plainRadius && m.StreakPx <= plainStreak*2*m.RadiusPx
}

// A mark that is called seen is wrong where its error is more than wrongSD of its stated standard
// uncertainties and more than wrongPx.
const (
	wrongSD = 3
	wrongPx = 2 // px
)

// score counts what was found in the clips of a cell.
type score struct {
	Cell     string   `json:"cell"`
	Clips    int      `json:"clips"`
	Refused  int      `json:"refused"`   // clips that were not followed at all
	Visible  int      `json:"visible"`   // plain stickers in frames
	Seen     int      `json:"seen"`      // of these, called seen
	Hard     int      `json:"hard"`      // others of which half or more shows: partly hidden, small, with long streaks
	HardSeen int      `json:"hard_seen"` // of these, called seen
	Wrong    int      `json:"wrong"`     // of all that are called seen
	Swapped  int      `json:"swapped"`   // of these, on another sticker
	Worst    float64  `json:"worst_px"`
	RMS      float64  `json:"rms_px"` // each axis, of plain ones seen and not wrong
	NEES     float64  `json:"nees"`   // of plain ones seen and not wrong, halved
	Angle    float64  `json:"angle"`  // rms error, degrees, of frames in which all three are plain and seen
	Angles   int      `json:"angles"` // those frames
	FPS      float64  `json:"fps"`    // frames a second, decoded and followed
	Notes    []string `json:"notes,omitempty"`

	squared, normed, angle2 float64
	right, frames           int
	took                    time.Duration
	seed                    uint64
	which                   []string // marks that are wrong
}

// pickSeeds returns a seed for each sticker, in one frame that shows all of them plainly, or else each in a frame of its own.
func pickSeeds(t *scene.SketchTruth) ([]sticker.Seed, error) {
	r := rand.New(rand.NewPCG(t.Seed, 5))
	n := len(t.Frames[0].Stickers)
	var all []int
	own := make([][]int, n)
	for i := range t.Frames {
		whole := true
		for k := range n {
			if good(&t.Frames[i].Stickers[k]) {
				own[k] = append(own[k], i)
			} else {
				whole = false
			}
		}
		if whole {
			all = append(all, i)
		}
	}
	same := -1
	if len(all) > 0 {
		same = all[r.IntN(len(all))]
	}
	var out []sticker.Seed
	for k := range n {
		at := same
		if at < 0 {
			if len(own[k]) == 0 {
				continue
			}
			at = own[k][r.IntN(len(own[k]))]
		}
		m := &t.Frames[at].Stickers[k]
		out = append(out, sticker.Seed{Name: m.Landmark, Frame: at, Alone: true, At: pointAt(r, m)})
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no sticker of sketch %d is ever sharp", t.Seed)
	}
	return out, nil
}

// good reports whether somebody would point at a sticker in this frame.
func good(m *scene.SketchMark) bool { return m.Visible > 0.99 && m.StreakPx < m.RadiusPx }

// pointAt returns the place that somebody gives for a sticker. The error of pointing is 2 px, or a third of a small sticker's radius.
func pointAt(r *rand.Rand, m *scene.SketchMark) geometry.Point {
	sd := min(2, m.RadiusPx/3)
	return geometry.Point{X: math.Round(m.Pixel[0] + sd*clampNormal(r)), Y: math.Round(m.Pixel[1] + sd*clampNormal(r))}
}

// leastMissed is the number of frames in a row for which a sticker must be lost, though it is plain, before somebody points at it again.
const leastMissed = 4

// pointAgain adds a place to each seed whose sticker is lost for long though it is plain: in the middle of the longest such run of frames, or in another frame of
// it if it was pointed at there already. stickers are the truth's indices of the seeds' stickers. It reports whether a place was added.
func pointAgain(t *scene.SketchTruth, seeds []sticker.Seed, stickers []int, byFrame map[int][]sticker.Mark) (more bool) {
	r := rand.New(rand.NewPCG(t.Seed, 6))
	for n := range seeds {
		var best, run []int
		for i := range t.Frames {
			m := &t.Frames[i].Stickers[stickers[n]]
			if plain(m) && !(byFrame[i] != nil && byFrame[i][n].Seen == sticker.Seen) {
				run = append(run, i)
			} else {
				run = nil
			}
			if len(run) > len(best) {
				best = run
			}
		}
		if len(best) < leastMissed {
			continue
		}
		middle := len(best) / 2
		for _, i := range slices.Concat(best[middle:], best[:middle]) {
			if !seeds[n].In(i) {
				seeds[n].Also = append(seeds[n].Also, sticker.Pointing{At: pointAt(r, &t.Frames[i].Stickers[stickers[n]]), Frame: i})
				more = true
				break
			}
		}
	}
	return more
}

func clampNormal(r *rand.Rand) float64 { return min(2, max(-2, r.NormFloat64())) }

// follow follows a cell's clip of one sketch and counts. Its stickers are pointed at once, and then again where they are lost.
func (s *score) follow(ctx context.Context, path string, truth *scene.SketchTruth, again int) error {
	s.seed = truth.Seed
	seeds, err := pickSeeds(truth)
	if err != nil {
		s.Notes = append(s.Notes, err.Error())
		return nil
	}
	stickers := make([]int, len(seeds)) // the truth's index of each seed's sticker
	for i, seed := range seeds {
		for k, m := range truth.Frames[0].Stickers {
			if m.Landmark == seed.Name {
				stickers[i] = k
			}
		}
	}
	start := time.Now()
	byFrame, err := marksOf(ctx, path, seeds)
	took := time.Since(start)
	for range again {
		if err != nil && !errors.As(err, new(*sticker.Error)) || !pointAgain(truth, seeds, stickers, byFrame) {
			break
		}
		byFrame, err = marksOf(ctx, path, seeds)
	}
	if e := (*sticker.Error)(nil); errors.As(err, &e) {
		s.Notes = append(s.Notes, fmt.Sprintf("seed %d: %v", truth.Seed, e))
		if len(byFrame) == 0 {
			s.Refused++
		}
		err = nil
	}
	if err != nil {
		return err
	}
	s.Clips++
	s.frames += len(truth.Frames)
	s.took += took
	for i := range truth.Frames {
		s.frame(&truth.Frames[i], stickers, byFrame[i])
	}
	return nil
}

// marksOf follows the seeds through a clip and returns the marks by frame.
func marksOf(ctx context.Context, path string, seeds []sticker.Seed) (map[int][]sticker.Mark, error) {
	frames, err := followClip(ctx, path, seeds)
	out := map[int][]sticker.Mark{}
	for _, f := range frames {
		out[f.Index] = f.Marks
	}
	return out, err
}

// frame counts one frame. stickers are the truth's indices of the marks, which are nil where the frame was not followed.
func (s *score) frame(t *scene.SketchFrame, stickers []int, marks []sticker.Mark) {
	whole := len(stickers) == 3 && marks != nil
	for i, k := range stickers {
		m := &t.Stickers[k]
		isPlain := plain(m)
		isSeen := marks != nil && marks[i].Seen == sticker.Seen
		whole = whole && isPlain && isSeen
		switch {
		case isPlain:
			s.Visible++
			if isSeen {
				s.Seen++
			}
		case m.Visible >= 0.5:
			s.Hard++
			if isSeen {
				s.HardSeen++
			}
		}
		if !isSeen {
			continue
		}
		off := marks[i].At.Sub(geometry.Point{X: m.Pixel[0], Y: m.Pixel[1]})
		normed := mahalanobis(off, marks[i].Cov)
		if off.Norm() > wrongPx && !(normed <= wrongSD*wrongSD) {
			s.Wrong++
			s.which = append(s.which, fmt.Sprintf("%s, seed %d, frame %d, %s: %.1f px off (%.1f standard uncertainties) at %.1f, %.1f; %.0f %% of it shows, radius %.1f px, streak %.1f px",
				s.Cell, s.seed, t.Frame, m.Landmark, off.Norm(), math.Sqrt(normed), marks[i].At.X, marks[i].At.Y, 100*m.Visible, m.RadiusPx, m.StreakPx))
			for o := range t.Stickers {
				p := t.Stickers[o].Pixel
				if o != k && marks[i].At.Sub(geometry.Point{X: p[0], Y: p[1]}).Norm() <= t.Stickers[o].RadiusPx {
					s.Swapped++
					break
				}
			}
			s.Worst = max(s.Worst, off.Norm())
			continue
		}
		if isPlain {
			s.right++
			s.squared += (off.X*off.X + off.Y*off.Y) / 2
			s.normed += normed / 2
			s.Worst = max(s.Worst, off.Norm())
		}
	}
	if whole {
		var found, truth [3]geometry.Point
		for i, k := range stickers {
			found[i] = marks[i].At
			truth[i] = geometry.Point{X: t.Stickers[k].Pixel[0], Y: t.Stickers[k].Pixel[1]}
		}
		d := math.Mod(angleAtFirst(found)-angleAtFirst(truth)+3*math.Pi, 2*math.Pi) - math.Pi
		s.angle2 += d * d / (degree * degree)
		s.Angles++
	}
}

// mahalanobis returns the square of the Mahalanobis distance: of an error in units of its covariance.
func mahalanobis(d geometry.Vec, c [2][2]float64) float64 {
	det := c[0][0]*c[1][1] - c[0][1]*c[1][0]
	return (d.X*d.X*c[1][1] - 2*d.X*d.Y*c[0][1] + d.Y*d.Y*c[0][0]) / det
}

// angleAtFirst returns the angle at the first of three places, rad.
func angleAtFirst(p [3]geometry.Point) float64 {
	a, b := p[1].Sub(p[0]), p[2].Sub(p[0])
	return math.Atan2(a.X*b.Y-a.Y*b.X, a.X*b.X+a.Y*b.Y)
}

// sum calculates the means from the counts and sums.
func (s *score) sum() {
	if s.right > 0 {
		s.RMS, s.NEES = math.Sqrt(s.squared/float64(s.right)), s.normed/float64(s.right)
	}
	if s.Angles > 0 {
		s.Angle = math.Sqrt(s.angle2 / float64(s.Angles))
	}
	if s.took > 0 {
		s.FPS = float64(s.frames) / s.took.Seconds()
	}
}
