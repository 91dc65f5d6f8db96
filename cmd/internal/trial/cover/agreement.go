package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"ecart/geometry"
	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// agreement counts how often a thing that is followed from one frame is found elsewhere when it is followed again from another one. It needs no
// truth: where both say that they see it, one of two different places is wrong.
type agreement struct {
	Clip     string  `json:"clip"`
	Thing    string  `json:"thing"`
	Runs     int     `json:"runs"` // in which it was followed again
	Frames   int     `json:"frames"`
	Seen     int     `json:"seen"`     // frames in which it is seen from its first seed
	Pairs    int     `json:"pairs"`    // frames in which two runs see it
	Disagree int     `json:"disagree"` // of these, with places too far apart
	Worst    float64 `json:"worst_px"`
}

// follower follows a thing through a clip from a seed.
type follower func(ctx context.Context, seed sticker.Seed) ([]sticker.Frame, error)

func followerIn(path string) follower {
	return func(ctx context.Context, seed sticker.Seed) ([]sticker.Frame, error) {
		frames, err := followClip(ctx, path, []sticker.Seed{seed})
		if refusal := (*sticker.Error)(nil); errors.As(err, &refusal) {
			err = nil
		}
		return frames, err
	}
}

// seenIn returns the mark of frame i, if the thing is seen there.
func seenIn(frames []sticker.Frame, i int) (m sticker.Mark, ok bool) {
	n, ok := slices.BinarySearchFunc(frames, i, func(f sticker.Frame, i int) int { return f.Index - i })
	if !ok {
		return m, false
	}
	return frames[n].Marks[0], frames[n].Marks[0].Seen == sticker.Seen
}

// variance is the larger one of a mark's two coordinates, px^2.
func variance(m *sticker.Mark) float64 { return math.Max(m.Cov[0][0], m.Cov[1][1]) }

// agree follows a thing from a seed, and again from every n-th frame in which it is then seen, and compares. frames are those of the first run.
func (s *realStudy) agree(ctx context.Context, clip string, follow follower, seed sticker.Seed, verbose bool) (frames []sticker.Frame, err error) {
	if frames, err = follow(ctx, seed); err != nil || len(frames) == 0 {
		return nil, err
	}
	a := &agreement{Clip: clip, Thing: seed.Name, Frames: len(frames)}
	for n := range frames {
		from := frames[n].Index
		m, ok := seenIn(frames, from)
		if !ok {
			continue
		}
		a.Seen++
		if from%s.Every != 0 || from == seed.Frame {
			continue
		}
		again, err := follow(ctx, sticker.Seed{Name: seed.Name, Frame: from, At: geometry.Point{X: math.Round(m.At.X), Y: math.Round(m.At.Y)}})
		if err != nil {
			return nil, err
		}
		a.Runs++
		for _, f := range frames {
			one, first := seenIn(frames, f.Index)
			other, second := seenIn(again, f.Index)
			if !first || !second || f.Index == from {
				continue
			}
			a.Pairs++
			apart, u := one.At.Sub(other.At).Norm(), math.Sqrt(variance(&one)+variance(&other))
			a.Worst = max(a.Worst, apart)
			if apart > max(wrongSD*u, wrongPx) {
				a.Disagree++
				if verbose {
					s.wrong = append(s.wrong, fmt.Sprintf("%s, %s: in frame %d seen at %.1f, %.1f from frame %d, and at %.1f, %.1f from frame %d, stated %.2f px", clip, seed.Name,
						f.Index, one.At.X, one.At.Y, seed.Frame, other.At.X, other.At.Y, from, u))
				}
			}
		}
	}
	s.Agreed = append(s.Agreed, a)
	return frames, nil
}

// A clip without things is searched for stickers in every n-th frame: at the places of a grid, in an order drawn at random, up to mostProposed.
const (
	gridLines    = 16 // along the shorter side
	mostProposed = 10
)

// agreeIn follows the given things of a clip that has no truth, or what may be a sticker there.
func (s *realStudy) agreeIn(ctx context.Context, c *realClip, follow follower, seed uint64, show func(string), verbose bool) error {
	for _, th := range c.Things {
		for f, at := range th.at {
			show(fmt.Sprintf("%s, %s", c.name, th.Name))
			if _, err := s.agree(ctx, c.name, follow, sticker.Seed{Name: th.Name, Frame: f, At: at}, verbose); err != nil {
				return err
			}
		}
	}
	if len(c.Things) > 0 {
		return nil
	}
	t, err := recorded.Open(ctx, c.path)
	if err != nil {
		return err
	}
	defer t.Close()
	var all [][]sticker.Frame
	r := rand.New(rand.NewPCG(seed, 0))
	for from := 0; from < t.Info().Frames; from += s.Every {
		var found []geometry.Point
		err := t.Span(ctx, from, from, func(p *recorded.Frame) error {
			step := min(p.Bounds().Dx(), p.Bounds().Dy()) / gridLines
			across, down := p.Bounds().Dx()/step, p.Bounds().Dy()/step
			for _, n := range r.Perm(across * down) {
				m, _, err := sticker.Find(p, geometry.Point{X: float64(n%across*step + step/2), Y: float64(n/across*step + step/2)})
				is := func(at geometry.Point) bool { return at.Sub(m.At).Norm() < 2*m.Radius }
				if err != nil || slices.ContainsFunc(found, is) || slices.ContainsFunc(all, func(frames []sticker.Frame) bool {
					o, ok := seenIn(frames, from)
					return ok && is(o.At)
				}) {
					continue
				}
				if found = append(found, m.At); len(found) == mostProposed {
					break
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, at := range found {
			name := fmt.Sprintf("%d: %.0f, %.0f", from, at.X, at.Y)
			show(fmt.Sprintf("%s, %s", c.name, name))
			frames, err := s.agree(ctx, c.name, follow, sticker.Seed{Name: name, Frame: from, At: geometry.Point{X: math.Round(at.X), Y: math.Round(at.Y)}}, verbose)
			if err != nil {
				return err
			}
			all = append(all, frames)
		}
	}
	return nil
}

func (s *realStudy) printAgreed(b *strings.Builder) {
	fmt.Fprintf(b, "Followed from one frame, and again from one frame of %d in which it is seen\n\n", s.Every)
	fmt.Fprintf(b, "%-14s%-20s%9s%9s%7s%7s%9s%10s%10s\n%s\n", "clip", "thing", "frames", "seen", "%", "runs", "pairs", "disagree", "worst px", strings.Repeat("-", 95))
	sum := agreement{Clip: "all"}
	row := func(a *agreement) {
		fmt.Fprintf(b, "%-14s%-20s%9d%9d%7.1f%7d%9d%10d%10.1f\n", a.Clip, a.Thing, a.Frames, a.Seen, percent(a.Seen, a.Frames), a.Runs, a.Pairs, a.Disagree, a.Worst)
	}
	for _, a := range s.Agreed {
		row(a)
		sum.Frames, sum.Seen, sum.Runs, sum.Pairs, sum.Disagree, sum.Worst = sum.Frames+a.Frames, sum.Seen+a.Seen, sum.Runs+a.Runs, sum.Pairs+a.Pairs, sum.Disagree+a.Disagree, max(sum.Worst, a.Worst)
	}
	row(&sum)
	fmt.Fprintln(b)
}
