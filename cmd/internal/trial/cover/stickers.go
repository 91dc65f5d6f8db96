package main

import (
	"context"
	"errors"
	"math"
	"os"

	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	"ecart/vision/sticker"
)

// What following is held to over the set of scenes.
const (
	leastSeen = 0.99 // share of the visible stickers
	mostRMS   = 0.25 // px, each axis
	leastNEES = 0.8  // mean squared error over the stated variance
	mostNEES  = 1.25
)

// tally counts what was found. Errors are of stickers that are visible and were found as
// themselves.
type tally struct {
	Scene   string   `json:"scene"`
	Clips   int      `json:"clips"`
	Visible int      `json:"visible"` // stickers in frames, nine tenths of each or more seen
	Seen    int      `json:"seen"`    // of these, found
	False   int      `json:"false"`   // found where no sticker is, or where it is wholly hidden
	Swapped int      `json:"swapped"` // found on another sticker
	RMS     float64  `json:"rms_px"`  // root mean square error, each axis
	NEES    float64  `json:"nees"`    // squared error in units of the stated covariance, halved: 1 where it is honest
	Worst   float64  `json:"worst_px"`
	Why     []string `json:"why,omitempty"` // what it misses of what it is held to

	squared, normed float64
	n               int
}

// stickers follows the stickers of every scene, seeds variants of each from first on, and tallies
// them, at last all together.
func stickers(ctx context.Context, c clips, names []string, first, variants uint64) ([]tally, error) {
	folder, err := os.MkdirTemp("", "ecart-cover-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	all := tally{Scene: "all"}
	var out []tally
	for _, name := range names {
		t := tally{Scene: name}
		for seed := first; seed < first+variants; seed++ {
			if err := t.clip(ctx, &c, folder, name, seed); err != nil {
				return nil, err
			}
		}
		all.join(&t)
		t.judge()
		out = append(out, t)
	}
	all.judge()
	return append(out, all), nil
}

func (t *tally) clip(ctx context.Context, c *clips, folder, name string, seed uint64) error {
	path, truth, err := c.clip(ctx, folder, name, seed)
	if err != nil {
		return err
	}
	from, err := seedsOf(&truth)
	if err != nil {
		return err
	}
	frames, err := followed(ctx, path, from)
	// a sticker that stays hidden to the end is told as such, and counts like any other
	if e := (*sticker.Error)(nil); errors.As(err, &e) && e.Problem == sticker.NeverFound {
		err = nil
	}
	if err != nil {
		return err
	}
	t.Clips++
	for _, f := range frames {
		t.frame(&truth.Truths[f.Index], &f)
	}
	// frames that were not handed out at all
	for _, f := range truth.Truths[len(frames):] {
		for _, s := range f.Stickers {
			if s.Visible >= visible {
				t.Visible++
			}
		}
	}
	return nil
}

func (t *tally) frame(truth *scene.Truth, f *sticker.Frame) {
	for k, m := range f.Marks {
		own := truth.Stickers[k]
		if own.Visible >= visible {
			t.Visible++
		}
		if m.Seen != sticker.Seen {
			continue
		}
		off := m.At.Sub(geometry.Point{X: own.Pixel[0], Y: own.Pixel[1]})
		if off.Norm() > own.RadiusPx {
			if onAnother(truth, k, m.At) {
				t.Swapped++
			} else {
				t.False++
			}
			continue
		}
		if own.Visible < hidden {
			t.False++
			continue
		}
		if own.Visible < visible {
			continue
		}
		t.Seen++
		t.squared += (off.X*off.X + off.Y*off.Y) / 2
		det := m.Cov[0][0]*m.Cov[1][1] - m.Cov[0][1]*m.Cov[1][0]
		t.normed += (off.X*off.X*m.Cov[1][1] - 2*off.X*off.Y*m.Cov[0][1] + off.Y*off.Y*m.Cov[0][0]) / det / 2
		t.n++
		t.Worst = math.Max(t.Worst, off.Norm())
	}
}

// onAnother reports whether a place is on another sticker than k.
func onAnother(truth *scene.Truth, k int, at geometry.Point) bool {
	for i, s := range truth.Stickers {
		if i != k && at.Sub(geometry.Point{X: s.Pixel[0], Y: s.Pixel[1]}).Norm() <= s.RadiusPx {
			return true
		}
	}
	return false
}

func (t *tally) join(o *tally) {
	t.Clips += o.Clips
	t.Visible += o.Visible
	t.Seen += o.Seen
	t.False += o.False
	t.Swapped += o.Swapped
	t.squared += o.squared
	t.normed += o.normed
	t.n += o.n
	t.Worst = math.Max(t.Worst, o.Worst)
}

// judge works out what follows from the counts.
func (t *tally) judge() {
	t.RMS, t.NEES = math.Sqrt(t.squared/float64(t.n)), t.normed/float64(t.n)
	if float64(t.Seen) < leastSeen*float64(t.Visible) {
		t.Why = append(t.Why, "some that can be seen are not found")
	}
	if t.False > 0 {
		t.Why = append(t.Why, "something else was taken for a sticker")
	}
	if t.Swapped > 0 {
		t.Why = append(t.Why, "one sticker was taken for another")
	}
	if !(t.RMS <= mostRMS) {
		t.Why = append(t.Why, "places are farther off")
	}
	if !(t.NEES >= leastNEES && t.NEES <= mostNEES) {
		t.Why = append(t.Why, "the covariance is not that of the errors")
	}
}
