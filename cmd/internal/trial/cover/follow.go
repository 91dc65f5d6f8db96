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
)

// The studies of clips: what is found of stickers, and the peak.

// teller says on a terminal what is being done; it may be called from several goroutines.
func teller(terminal io.Writer) (tell func(string), wipe func()) {
	if terminal == nil {
		return func(string) {}, func() {}
	}
	var one sync.Mutex
	say := func(what string) {
		one.Lock()
		defer one.Unlock()
		fmt.Fprintf(terminal, "\r\x1b[K%s", what)
	}
	return say, func() { say("") }
}

type stickerStudy struct {
	Seed uint64  `json:"seed"`
	CRF  int     `json:"crf"`
	Rows []tally `json:"rows"` // the last is all of them together
}

func stickersOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	tell, wipe := teller(terminal)
	defer wipe()
	if o.keep != "" {
		if err := os.MkdirAll(o.keep, 0o777); err != nil {
			return nil, err
		}
	}
	rows, err := stickers(ctx, clips{keep: o.keep, progress: tell}, followedScenes, o.seed, o.variants)
	return &stickerStudy{o.seed, clipCRF, rows}, err
}

func (s *stickerStudy) print(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, `What following finds: the demo's scenes, rendered at 1920 x 1080 and 60 frames a second with a shutter of
1/240 s, coded as H.264 at CRF %d, variants from seed %d on; each sticker pointed at in one frame, to %d px

scene      clips visible    seen       %%   false  swapped   rms px   nees   worst px
`, s.CRF, s.Seed, pointed)
	fmt.Fprintln(&b, strings.Repeat("-", 84))
	for _, t := range s.Rows {
		mark := ""
		if len(t.Why) > 0 {
			mark = "  *"
		}
		if t.Scene == "all" {
			fmt.Fprintln(&b, strings.Repeat("-", 84))
		}
		fmt.Fprintf(&b, "%-11s%5d%8d%8d%8.1f%8d%9d%9.3f%7.2f%11.1f%s\n", t.Scene, t.Clips, t.Visible, t.Seen,
			100*float64(t.Seen)/float64(t.Visible), t.False, t.Swapped, t.RMS, t.NEES, t.Worst, mark)
		if len(t.Why) > 0 {
			fmt.Fprintf(&b, "    * %s\n", strings.Join(t.Why, "; "))
		}
	}
	fmt.Fprintf(&b, `
visible  stickers in frames of which %g %% or more shows; seen: of these, found as themselves
false    found where there is no sticker, or where it is hidden; swapped: found on another one
rms      root mean square error of the centre, each axis; nees: the squared error over the stated variance
worst    the largest error of a centre
*        seen under %g %%, false or swapped above 0, rms above %g px, or nees outside %g to %g

`, 100*visible, 100*leastSeen, mostRMS, leastNEES, mostNEES)
	_, err := io.WriteString(out, b.String())
	return err
}

func peaksOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	tell, wipe := teller(terminal)
	defer wipe()
	s, err := peaks(ctx, o.peaks, o.seed, tell)
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
		fmt.Fprintf(&b, "    * outside %.1f to %.1f %%\n", 100*leastHeld, 100*mostHeld)
	}
	fmt.Fprintln(&b)
	_, err := io.WriteString(out, b.String())
	return err
}
