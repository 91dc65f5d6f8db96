package scene

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// ClipOptions are the encoder's settings of a clip. The zero value is typical of a phone.
type ClipOptions struct {
	CRF      int                // quality of H.264, 1 (best) to 51; 0 means 20
	Preset   string             // of the encoder; "" means "medium"
	Truth    string             // path of the truth's JSON; "" writes none
	Progress func(done, of int) // called after each frame; nil for none
}

// noEncoder is the error if there is no ffmpeg program.
type noEncoder struct{ Err error }

// Error says what is missing.
func (e *noEncoder) Error() string { return "scene: no ffmpeg program to write a clip with" }

// Hint says what to do.
func (e *noEncoder) Hint() string { return "install ffmpeg (Debian: apt-get install ffmpeg)" }

// Unwrap returns the error of the search for the program.
func (e *noEncoder) Unwrap() error { return e.Err }

// WriteClip draws every frame, writes them as H.264 in MP4 (4:2:0, tagged as BT.709
// in limited range) at the scene's frame rate, and returns their ground truth. A
// failed or cancelled call leaves no clip.
func (s *Scene) WriteClip(ctx context.Context, path string, o ClipOptions) (ClipTruth, error) {
	if err := s.Check(); err != nil {
		return ClipTruth{}, err
	}
	if s.Camera.Width%2 != 0 || s.Camera.Height%2 != 0 {
		return ClipTruth{}, fmt.Errorf("scene: a clip of %d by %d pixels: H.264 in 4:2:0 needs even sides", s.Camera.Width, s.Camera.Height)
	}
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return ClipTruth{}, &noEncoder{err}
	}
	part, err := os.CreateTemp(filepath.Dir(path), ".scene-*.mp4")
	if err != nil {
		return ClipTruth{}, fmt.Errorf("scene: write %q: %w", path, err)
	}
	_ = part.Close()
	defer func() { _ = os.Remove(part.Name()) }()

	truth := s.clipTruth()
	if err := s.encode(ctx, program, part.Name(), o, &truth); err != nil {
		return ClipTruth{}, err
	}
	if o.Truth != "" {
		if err := writeTruth(o.Truth, truth); err != nil {
			return ClipTruth{}, err
		}
	}
	if err := os.Chmod(part.Name(), 0o644); err != nil {
		return ClipTruth{}, fmt.Errorf("scene: write %q: %w", path, err)
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return ClipTruth{}, fmt.Errorf("scene: write %q: %w", path, err)
	}
	return truth, nil
}

func (s *Scene) encode(ctx context.Context, program, path string, o ClipOptions, truth *ClipTruth) error {
	crf, preset := o.CRF, o.Preset
	if crf == 0 {
		crf = 20
	}
	if preset == "" {
		preset = "medium"
	}
	args := []string{
		"-hide_banner", "-loglevel", "error", "-y",
		"-f", "rawvideo", "-pixel_format", "rgba",
		"-video_size", fmt.Sprintf("%dx%d", s.Camera.Width, s.Camera.Height),
		"-framerate", strconv.FormatFloat(s.FPS, 'f', -1, 64), "-i", "pipe:0",
		"-vf", "scale=in_range=full:out_range=limited:out_color_matrix=bt709:flags=accurate_rnd+full_chroma_int,format=yuv420p,setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=tv",
		"-c:v", "libx264", "-preset", preset, "-crf", strconv.Itoa(crf),
		"-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709", "-color_range", "tv",
		"-fflags", "+bitexact", "-flags:v", "+bitexact", "-map_metadata", "-1", "-movflags", "+faststart", path,
	}
	return runPiped(ctx, program, args, func(to io.Writer) error {
		for i := range s.Frames {
			if err := ctx.Err(); err != nil {
				return err
			}
			picture, t := s.Frame(i)
			truth.Truths = append(truth.Truths, t)
			if _, err := to.Write(picture.(*image.RGBA).Pix); err != nil {
				return err
			}
			if o.Progress != nil {
				o.Progress(i+1, s.Frames)
			}
		}
		return nil
	})
}

// runPiped runs ffmpeg and calls write with its standard input.
func runPiped(ctx context.Context, program string, args []string, write func(io.Writer) error) error {
	cmd := exec.CommandContext(ctx, program, args...)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	in, err := cmd.StdinPipe()
	if err != nil {
		return fmt.Errorf("scene: ffmpeg: %w", err)
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("scene: ffmpeg: %w", err)
	}
	writing := write(in)
	closing := in.Close()
	if err := cmd.Wait(); err != nil {
		if ctx.Err() != nil {
			return fmt.Errorf("scene: clip not finished: %w", ctx.Err())
		}
		return fmt.Errorf("scene: ffmpeg: %w: %s", err, strings.TrimSpace(complaint.String()))
	}
	return errors.Join(writing, closing)
}

// Part is an ffmpeg filter graph that makes one part of a joined clip from the
// built-in leap; see [Join].
type Part string

// The parts. Times are from the start of the part. The leap's split is widest at 0.7103 s (leap.truth.json), and the
// athlete is in every frame of it.
const (
	EmptyHall Part = "[hall]loop=loop=-1:size=1,trim=duration=1,setpts=PTS-STARTPTS"
	WholeLeap Part = "[leap]null"
	LeapBack  Part = "[leap]reverse"                                                             // widest at 44/30 - 0.7103 = 0.7564 s
	SlowLeap  Part = "[leap]setpts=PTS*4/3,fps=30"                                               // widest at 0.7103 * 4/3 = 0.947 s
	LeapBegin Part = "[leap]trim=end=0.70"                                                       // ends just before the split is widest
	Standing  Part = "[leap]trim=end_frame=1,tpad=stop_mode=clone:stop_duration=1.5"             // the first frame
	TwoLeap   Part = "[leap]split[one][two];[two]reverse[back];[one][back]blend=all_mode=darken" // one each way: both are darker than the wall
)

// JoinedRate is the frame rate of what Join writes, in 1/s.
const JoinedRate = 30

// Join writes a clip of H.264, 960 x 540 pixels, of parts made from the built-in leap, one after the other: as a camera
// on a tripod films several athletes. leap is the bytes of the built-in clip.
func Join(ctx context.Context, leap []byte, path string, parts ...Part) error {
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return &noEncoder{err}
	}
	dir, err := os.MkdirTemp("", "joined-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	in := filepath.Join(dir, "leap.mp4")
	if err := os.WriteFile(in, leap, 0o600); err != nil {
		return err
	}
	var files []string
	for i, part := range parts {
		// the median over the frames of the leap is the empty hall
		source := fmt.Sprintf("[0:v]scale=960:540,fps=%d", JoinedRate)
		if strings.HasPrefix(string(part), "[hall]") {
			source += ",tmedian=radius=21,trim=end_frame=1"
		}
		name, rest, _ := strings.Cut(string(part), "]")
		graph := source + name + "];" + name + "]" + rest + ",format=yuv420p[out]"
		to := filepath.Join(dir, fmt.Sprintf("%d.mp4", i))
		if err := runFFmpeg(ctx, program, "-i", in, "-filter_complex", graph, "-map", "[out]", "-r", fmt.Sprint(JoinedRate), "-c:v", "libx264", "-crf", "18", "-preset", "veryfast", to); err != nil {
			return err
		}
		files = append(files, fmt.Sprintf("file '%s'\n", to))
	}
	list := filepath.Join(dir, "list")
	if err := os.WriteFile(list, []byte(strings.Join(files, "")), 0o600); err != nil {
		return err
	}
	return runFFmpeg(ctx, program, "-f", "concat", "-safe", "0", "-i", list, "-c", "copy", "-map_metadata", "-1", path)
}

func runFFmpeg(ctx context.Context, program string, args ...string) error {
	out, err := exec.CommandContext(ctx, program, append([]string{"-hide_banner", "-loglevel", "error", "-y"}, args...)...).CombinedOutput()
	if err != nil {
		return fmt.Errorf("scene: ffmpeg: %w: %s", err, out)
	}
	return nil
}

// demoName is the file name of the clip of ecart demo.
const demoName = "leap.mp4"

const (
	demoScatter  = 1.0 // standard deviation of the demo's marks about the true places, px
	demoStatedSD = 1.5 // standard deviation that the marks file states, px
	demoCRF      = 18
)

type marksFile struct {
	Schema string      `json:"schema"`
	Frame  int         `json:"frame"`
	Facing string      `json:"facing"`
	Found  string      `json:"found"`
	Marks  []marksMark `json:"marks"`
}

type marksMark struct {
	Landmark string  `json:"landmark"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	SD       float64 `json:"sd_px"`
}

// demoMarks returns marks as a hand places them: the true middles of the stickers, and
// the skin over the shoulder, with random errors, rounded to 0.1 px.
func demoMarks(t Truth) (marksFile, error) {
	out := marksFile{Schema: "ecart/marks/1", Frame: t.Frame, Facing: t.Facing, Found: "sticker"}
	hand := rand.New(rand.NewPCG(1, 163))
	for _, name := range []string{"hip", "front-ankle", "back-ankle", "shoulder"} {
		var at [2]float64
		if k, ok := t.Sticker(name); ok {
			at = k.Pixel
		} else if m, ok := t.Mark(name); ok {
			at = m.SkinPixel
		} else {
			return out, fmt.Errorf("scene: no landmark %q in the demo", name)
		}
		out.Marks = append(out.Marks, marksMark{
			Landmark: name, SD: demoStatedSD,
			X: math.Round(10*(at[0]+demoScatter*hand.NormFloat64())) / 10,
			Y: math.Round(10*(at[1]+demoScatter*hand.NormFloat64())) / 10,
		})
	}
	return out, nil
}

// WriteDemo writes the scene's clip, marks and truth into a folder: leap.mp4,
// leap.marks.json and leap.truth.json.
func (s *Scene) WriteDemo(ctx context.Context, folder string, progress func(done, of int)) error {
	truth, err := s.WriteClip(ctx, filepath.Join(folder, demoName), ClipOptions{
		CRF: demoCRF, Preset: "slow", Truth: filepath.Join(folder, "leap.truth.json"), Progress: progress,
	})
	if err != nil {
		return err
	}
	marks, err := demoMarks(truth.Truths[truth.PeakFrame])
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(marks, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, "leap.marks.json"), append(text, '\n'), 0o644)
}
