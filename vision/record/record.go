// Package record writes pictures as a clip that plays on a phone: H.264 in MP4,
// encoded by the program ffmpeg. Clips carry no metadata: no place, no camera, no time.
package record

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"io"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
)

// Error says why a clip cannot be written.
type Error struct{ fact, hint string }

func (e *Error) Error() string { return e.fact }

// Hint says what to do.
func (e *Error) Hint() string { return e.hint }

// Recorder encodes pictures to a clip, one after another. Every Recorder is ended by
// Finish, which completes the clip, or by Discard.
type Recorder struct {
	name          string
	width, height int
	cmd           *exec.Cmd
	in            io.WriteCloser
	messages      bytes.Buffer // standard error of ffmpeg; read only after ffmpeg has ended
	buffer        *image.RGBA  // converted picture
	end           func() error // closes the input of ffmpeg and waits for it, once
}

// New starts a clip with pictures of the given size in pixels at rate frames per
// second. It is written to out, an empty regular file. The caller closes out, and
// removes it if Finish fails. name is the name of the clip in errors.
func New(ctx context.Context, out *os.File, name string, width, height int, rate float64) (*Recorder, error) {
	if width < 2 || height < 2 || !(rate > 0 && rate < 1e4) {
		return nil, &Error{fmt.Sprintf("a clip of %d x %d at %g frames a second cannot be written", width, height, rate), "check the take"}
	}
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, &Error{"the program ffmpeg, which writes clips, is not there", "install it: apt-get install ffmpeg"}
	}
	r := &Recorder{name: name, width: width, height: height, buffer: image.NewRGBA(image.Rect(0, 0, width, height))}
	r.cmd = exec.CommandContext(ctx, program, "-nostdin", "-v", "error", "-y",
		"-f", "rawvideo", "-pix_fmt", "rgba", "-s", fmt.Sprintf("%dx%d", width, height), "-r", strconv.FormatFloat(rate, 'f', -1, 64), "-i", "-",
		// phones need even sizes, 4:2:0 and stated colour properties
		"-vf", "scale=out_color_matrix=bt709:out_range=tv,pad=ceil(iw/2)*2:ceil(ih/2)*2,setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=tv", "-pix_fmt", "yuv420p",
		"-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv",
		"-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-profile:v", "high",
		"-map_metadata", "-1", "-fflags", "+bitexact", "-movflags", "+faststart", "-f", "mp4", "/dev/fd/3")
	r.cmd.ExtraFiles = []*os.File{out} // ffmpeg gets the open file, which may have no name yet
	r.cmd.Stderr = &r.messages
	if r.in, err = r.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	r.end = sync.OnceValue(func() error { return errors.Join(r.in.Close(), r.cmd.Wait()) })
	if err := r.cmd.Start(); err != nil {
		return nil, r.failed(err)
	}
	return r, nil
}

// Add appends a picture, which must have the clip's size.
func (r *Recorder) Add(img image.Image) error {
	if b := img.Bounds(); b.Dx() != r.width || b.Dy() != r.height {
		return fmt.Errorf("record: a picture of %v in a clip of %d x %d", b, r.width, r.height)
	}
	src, ok := img.(*image.RGBA)
	if !ok || src.Stride != 4*r.width {
		draw.Draw(r.buffer, r.buffer.Bounds(), img, img.Bounds().Min, draw.Src)
		src = r.buffer
	}
	if _, err := r.in.Write(src.Pix[:4*r.width*r.height]); err != nil {
		r.cmd.Process.Kill()
		return r.failed(errors.Join(err, r.end()))
	}
	return nil
}

// Finish ends the clip.
func (r *Recorder) Finish() error {
	if err := r.end(); err != nil {
		return r.failed(err)
	}
	return nil
}

// Discard stops ffmpeg. The file is then incomplete.
func (r *Recorder) Discard() {
	r.cmd.Process.Kill()
	r.end()
}

func (r *Recorder) failed(err error) error {
	why := strings.TrimSpace(r.messages.String())
	if why == "" {
		why = err.Error()
	}
	return &Error{fmt.Sprintf("the clip %q cannot be written: %s", r.name, strings.Join(strings.Fields(why), " ")), "check the folder, its permissions and the room left on the disk"}
}
