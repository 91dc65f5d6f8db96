package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/trial/scene"
)

// The simulated leap: first is the first frame of the scene in which all three stickers
// show, widest the frame of the widest split. With 640 by 360 pixels and 21 frames a case
// takes less than half a second; the stickers are large for that size, so that their radius
// is 7 px as in a phone's clip.
const (
	first, widest = 7, 21
	wide, high    = 640, 360
	peakDeg       = 163
)

// wholeTake is a take before it is damaged, with the truth about it.
type wholeTake struct {
	name  string
	data  []byte
	still bool
	frame int // the marked one
	marks []byte
	truth []scene.Truth // of the clip's frames
	deg   float64       // the true angle at the marked frame, or at the peak of a clip
}

// hevc reports whether the take is a clip coded in HEVC.
func (s *wholeTake) hevc() bool { return strings.HasPrefix(s.name, "hevc") }

func leap() *scene.Scene {
	body := scene.NewBody(1.52)
	s := &scene.Scene{
		Name: "hard", Body: body, Measure: "hip-split", Hall: scene.PlainHall(), FPS: 30, Frames: 28, Seed: 1, Shutter: 1.0 / 480,
		Motion: scene.Leap{Peak: peakDeg * math.Pi / 180, PeakAt: 0.57, TakeOff: 0.38, Flight: 0.58, Middle: -0.15}.Motion(body),
		Camera: scene.LookAt(wide, high, 1000, scene.Vec{Y: 1.06}, 6), Noise: scene.Noise{Read: 0.003, Shot: 0.008},
	}
	s.Stickers = []scene.Sticker{{Landmark: "hip", RadiusMM: 40, Colour: 0xd01ef0},
		{Landmark: "front-ankle", RadiusMM: 40, Colour: 0x28dc28}, {Landmark: "back-ankle", RadiusMM: 40, Colour: 0x1e6eff}}
	return s
}

// coding is one way to code the leap: arguments of the ffmpeg program.
type coding struct {
	name string
	skip int // frames that are cut off at the start
	args []string
}

// codings cover every container and codec that can be read.
var codings = []coding{
	{"h264.mp4", 0, []string{"-c:v", "libx264", "-preset", "veryfast", "-crf", "20"}},
	{"pyramid.mov", 0, []string{"-c:v", "libx264", "-crf", "20", "-x264-params", "bframes=3:b-pyramid=normal:b-adapt=0:keyint=12"}},
	{"hevc.mp4", 0, []string{"-c:v", "libx265", "-preset", "ultrafast", "-crf", "20", "-tag:v", "hvc1", "-x265-params", "log-level=none:keyint=10"}},
	{"hevc10.mov", 0, []string{"-c:v", "libx265", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p10le", "-tag:v", "hvc1", "-x265-params", "log-level=none"}},
	{"variable.mp4", 0, []string{"-vf", "setpts=PTS+mod(N\\,3)*0.005/TB", "-fps_mode", "passthrough", "-c:v", "libx264", "-preset", "veryfast", "-crf", "20"}},
	{"rotated.mp4", 0, []string{"-vf", "transpose=cclock", "-c:v", "libx264", "-preset", "veryfast", "-crf", "20"}},
	{"edited.mp4", 4, nil},
	{"two-tracks.mov", 0, nil},
}

// stills cover every kind of still but HEIC, which the ffmpeg program does not write.
var stills = []coding{
	{"still.jpg", 0, []string{"-q:v", "3"}},
	{"still.png", 0, nil},
	{"lossy.webp", 0, []string{"-quality", "80"}},
	{"lossless.webp", 0, []string{"-lossless", "1"}},
}

// makeTakes renders the leap once and codes it in every way. The files are kept in .cache,
// since they do not depend on the seed.
func makeTakes(ctx context.Context, b *bench) ([]wholeTake, error) {
	dir := filepath.Join(b.root, ".cache", "hard", "takes-1")
	base, beside := filepath.Join(dir, "base.mp4"), filepath.Join(dir, "truth.json")
	if _, err := os.Stat(beside); err != nil {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, err
		}
		if _, err := leap().WriteClip(ctx, base, scene.ClipOptions{CRF: 8, Truth: beside}); err != nil {
			return nil, err
		}
	}
	var truth scene.ClipTruth
	text, err := os.ReadFile(beside)
	if err == nil {
		err = json.Unmarshal(text, &truth)
	}
	if err != nil {
		return nil, err
	}
	var out []wholeTake
	for _, k := range codings {
		path := filepath.Join(dir, k.name)
		if err := once(path, func(path string) error { return b.code(ctx, dir, path, k) }); err != nil {
			return nil, err
		}
		s := wholeTake{name: k.name, frame: widest - first - k.skip, truth: truth.Truths[first+k.skip:], deg: *truth.PeakDeg}
		if err := s.load(path); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	for _, k := range stills {
		path := filepath.Join(dir, k.name)
		args := append([]string{"-i", base, "-vf", fmt.Sprintf("select=eq(n\\,%d)", widest), "-frames:v", "1"}, k.args...)
		if err := once(path, func(path string) error { return ffmpeg(ctx, append(args, path)...) }); err != nil {
			return nil, err
		}
		s := wholeTake{name: k.name, still: true, truth: truth.Truths[widest : widest+1], deg: truth.Truths[widest].Angles["hip-split"]}
		if err := s.load(path); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	heic := wholeTake{name: "still.heic", still: true, truth: truth.Truths[widest : widest+1], deg: out[len(out)-1].deg}
	err = heic.load(filepath.Join(b.root, "vision", "take", "testdata", "colours.heic"))
	return append(out, heic), err
}

// once creates a file unless it exists, completely or not at all.
func once(path string, write func(path string) error) error {
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	part := filepath.Join(filepath.Dir(path), fmt.Sprintf("part-%d-%s", os.Getpid(), filepath.Base(path)))
	defer os.Remove(part)
	if err := write(part); err != nil {
		return err
	}
	return os.Rename(part, path)
}

// code writes the leap in one coding, from the frame first on.
func (b *bench) code(ctx context.Context, dir, path string, k coding) error {
	base, plain := filepath.Join(dir, "base.mp4"), filepath.Join(dir, codings[0].name)
	switch k.name {
	case "edited.mp4": // copied from a later frame on: the edit list hides the frames that decoding needs before it
		return ffmpeg(ctx, "-ss", fmt.Sprintf("%.4f", (float64(k.skip)-0.5)/30), "-i", plain, "-c", "copy", path)
	case "two-tracks.mov": // a moving track, and a larger one with a single picture
		return ffmpeg(ctx, "-i", plain, "-f", "lavfi", "-i", "testsrc=s=1280x720:r=1:d=1", "-map", "0:v", "-map", "1:v", "-c:v:0", "copy", "-c:v:1", "libx264", path)
	}
	cut := fmt.Sprintf("select=gte(n\\,%d),setpts=PTS-STARTPTS", first)
	args := append([]string{}, k.args...)
	if len(args) > 1 && args[0] == "-vf" {
		cut += "," + args[1]
		args = args[2:]
	}
	args = append([]string{"-i", base, "-vf", cut}, args...)
	if k.name != "rotated.mp4" {
		return ffmpeg(ctx, append(args, path)...)
	}
	flat := filepath.Join(b.temp, "flat.mp4")
	if err := ffmpeg(ctx, append(args, flat)...); err != nil {
		return err
	}
	return ffmpeg(ctx, "-i", flat, "-c", "copy", "-metadata:s:v:0", "rotate=270", path)
}

func ffmpeg(ctx context.Context, args ...string) error {
	cmd := exec.CommandContext(ctx, "ffmpeg", append([]string{"-hide_banner", "-loglevel", "error", "-nostdin", "-y", "-threads", "1"}, args...)...)
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("ffmpeg: %w: %s", err, firstLine(string(text), 200))
	}
	return nil
}

// load reads the file, and makes the marks from the truth.
func (s *wholeTake) load(path string) (err error) {
	if s.data, err = os.ReadFile(path); err != nil {
		return err
	}
	type mark struct {
		Landmark string  `json:"landmark"`
		X        float64 `json:"x"`
		Y        float64 `json:"y"`
	}
	var marks []mark
	scale := 1.0
	if c, _, err := image.DecodeConfig(bytes.NewReader(s.data)); filepath.Ext(path) == ".heic" || err == nil && c.Width < wide/2 {
		scale = 0.25 // that still is 176 pixels wide
	}
	for _, k := range s.truth[s.frame].Stickers {
		marks = append(marks, mark{k.Landmark, math.Round(k.Pixel[0]*10*scale) / 10, math.Round(k.Pixel[1]*10*scale) / 10})
	}
	s.marks, err = json.Marshal(map[string]any{"schema": "ecart/marks/1", "frame": s.frame, "facing": "right", "marks": marks})
	return err
}
