package scene

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// ClipOptions says how a clip is written. The zero value is what a phone does.
type ClipOptions struct {
	CRF      int    // quality of H.264, 1 (best) to 51; 20 where zero
	Preset   string // of the encoder; "medium" where empty
	Truth    string // path of the truth's JSON; none is written where empty
	Progress func(done, of int)
}

// noEncoder is the error of a machine that has no ffmpeg program.
type noEncoder struct{ Err error }

// Error says what is missing.
func (e *noEncoder) Error() string { return "scene: no ffmpeg program to write a clip with" }

// Hint says what to do.
func (e *noEncoder) Hint() string { return "install ffmpeg (Debian: apt-get install ffmpeg)" }

// Unwrap returns what the search for the program said.
func (e *noEncoder) Unwrap() error { return e.Err }

// WriteClip draws every frame and writes them as H.264 in MP4 (4:2:0, BT.709 in
// limited range, tagged so), at the scene's frame rate, with what is true in
// them. A failed or cancelled call leaves no file.
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

	truth := s.clip()
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
	return piped(ctx, program, args, func(to io.Writer) error {
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

// piped runs ffmpeg with what write writes as its input.
func piped(ctx context.Context, program string, args []string, write func(io.Writer) error) error {
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
