package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
)

// sketchStudy has the results of following stickers in sketches, coded in several ways.
type sketchStudy struct {
	Seed  uint64   `json:"seed"` // the first
	Seeds uint64   `json:"seeds"`
	About []string `json:"about"` // the sketches
	Rows  []*score `json:"rows"`

	Again int `json:"again"` // how often each was pointed at again

	verbose bool
}

func sketchesOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	show, erase := statusLine(terminal)
	defer erase()
	folder := o.keep
	if folder == "" {
		folder = ".cache/cover"
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	out := &sketchStudy{Seed: o.seed, Seeds: o.variants, Again: o.again, verbose: o.verbose}
	for i := range cells {
		out.Rows = append(out.Rows, &score{Cell: cells[i].name})
	}
	for seed := o.seed; seed < o.seed+o.variants; seed++ {
		show(fmt.Sprintf("drawing sketch %d", seed))
		path, truth, err := sketchClip(ctx, folder, seed)
		if err != nil {
			return nil, err
		}
		out.About = append(out.About, fmt.Sprintf("%4d  %dx%d, %g frames/s, %d frames, %s", seed, truth.Width, truth.Height, truth.FPS, len(truth.Frames), truth.About))
		for i := range cells {
			if !strings.Contains(cells[i].name, o.cell) {
				continue
			}
			show(fmt.Sprintf("following sketch %d, %s", seed, cells[i].name))
			coded, seen, err := cells[i].clip(ctx, path, truth)
			if err != nil {
				return nil, err
			}
			if err := out.Rows[i].follow(ctx, coded, &seen, o.again); err != nil {
				return nil, err
			}
		}
	}
	for _, r := range out.Rows {
		r.sum()
	}
	return out, nil
}

// percent returns a share in percent; 0 if of is 0.
func percent(n, of int) float64 { return 100 * float64(n) / float64(max(1, of)) }

func (s *sketchStudy) print(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "What following finds in sketches: seeds %d to %d, drawn once and coded in %d ways\n\n", s.Seed, s.Seed+s.Seeds-1, len(cells))
	if s.Again > 0 {
		fmt.Fprintf(&b, "Each sticker was pointed at up to %d times more, in the middle of the longest run of %d frames or more in which it is plain and was lost.\n\n", s.Again, leastMissed)
	}
	for _, a := range s.About {
		fmt.Fprintln(&b, a)
	}
	fmt.Fprintf(&b, "\ncell         clips visible    seen      %%   (hard    seen) wrong swapped worst px  rms px nees/2  angle deg  frames/s\n%s\n", strings.Repeat("-", 116))
	for _, r := range s.Rows {
		fmt.Fprintf(&b, "%-13s%5d%8d%8d%7.1f %7d %7d%7d%8d%9.1f%8.3f%7.2f%11.3f%10.0f\n", r.Cell, r.Clips, r.Visible, r.Seen,
			percent(r.Seen, r.Visible), r.Hard, r.HardSeen, r.Wrong, r.Swapped, r.Worst, r.RMS, r.NEES, r.Angle, r.FPS)
	}
	for _, r := range s.Rows {
		for _, n := range r.Notes {
			fmt.Fprintf(&b, "%s: %s\n", r.Cell, n)
		}
		for _, w := range r.which {
			if s.verbose {
				fmt.Fprintf(&b, "wrong: %s\n", w)
			}
		}
	}
	fmt.Fprintf(&b, `
visible  plain stickers in frames: %g %% or more shows, half of its contrast or more is left by the coding, a radius
         of %d px or more, a streak of its motion of at most %d diameter; hard: others of which half or more shows, for information
seen     of these, those said to be seen; wrong: of all said to be seen, hidden ones too, those farther off than
         %d stated standard uncertainties and than %d px; swapped: of these, on another sticker
rms      of each axis, and nees/2, the mean squared error over the stated covariance: of plain ones not wrong
angle    rms error of the angle at the first sticker between the other two, where all are plain and seen

`, 100*visible, plainRadius, plainStreak, wrongSD, wrongPx)
	_, err := io.WriteString(out, b.String())
	return err
}
