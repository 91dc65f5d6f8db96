package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"strings"
	"sync"

	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// statusLine shows on a terminal what is being done; show may be called from several goroutines.
func statusLine(terminal io.Writer) (show func(string), erase func()) {
	if terminal == nil {
		return func(string) {}, func() {}
	}
	var mu sync.Mutex
	show = func(what string) {
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintf(terminal, "\r\x1b[K%s", what)
	}
	return show, func() { show("") }
}

func peaksOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	show, erase := statusLine(terminal)
	defer erase()
	s, err := peaks(ctx, o.peaks, o.seed, show)
	return &s, err
}

func (s *peakStudy) print(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, `How often the interval of a peak holds the true one: %d clips, seed %d

Each clip is painted: %d by %d pixels, %d frames about the peak of a leap at %d frames a second, a shutter of 1/240 s,
three dots before a ground that moves, noise of %g levels, coded as H.264 at CRF %d. There is no body and no hall in
it; the dots move over the picture as they would on the body of a leap, each missed by palpation, seen by a camera
set up by eye. Its dots are pointed at in the middle frame, followed, and the peak is read.

`, s.Clips, s.Seed, paintW, paintH, 2*aboutPeak+1, paintRate, paintNoise, clipCRF)
	mark := ""
	if !s.Within {
		mark = "  *"
	}
	fmt.Fprintf(&b, "the peak, of the dots as they show     held %.1f %%, chance alone moves it by %.1f %% (1 sd)%s\n", 100*s.Held, 100*math.Sqrt(coverage*(1-coverage)/float64(s.Clips)), mark)
	fmt.Fprintf(&b, "the reading, of the body               held %.1f %%\n", 100*s.Whole)
	fmt.Fprintf(&b, "error of the peak angle                %.3f degrees rms, where %.3f is stated\n", s.RMS, s.Stated)
	fmt.Fprintf(&b, "error of its moment                    %.1f ms rms\n", 1000*s.LateRMS)
	if s.Refused > 0 {
		fmt.Fprintf(&b, "refused                                %d, the first: %s\n", s.Refused, s.Why)
	}
	if !s.Within {
		fmt.Fprintf(&b, "    * outside %.1f to %.1f %%\n", 100*minHeld, 100*maxHeld)
	}
	fmt.Fprintln(&b)
	_, err := io.WriteString(out, b.String())
	return err
}

// clipCRF is the quality at which clips are coded: the encoder's default.
const clipCRF = 23

// visible is the smallest part of a sticker that must show for it to count as visible.
const visible = 0.9

// pointError is the standard deviation of pointing at a sticker's centre, each axis, px.
const pointError = 2

// followClip follows the seeds through a clip.
func followClip(ctx context.Context, path string, seeds []sticker.Seed) ([]sticker.Frame, error) {
	t, err := recorded.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	var out []sticker.Frame
	err = sticker.Follow(ctx, sticker.Of(t), seeds, sticker.Options{}, func(f sticker.Frame) error {
		out = append(out, f)
		return nil
	})
	return out, err
}
