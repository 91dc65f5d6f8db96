package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"

	"ecart/geometry"
	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// realClip describes a clip from a camera, with the true places of the things in it. Its JSON:
//
//	{"clip": "ball.mp4", "about": "a red ball in a bag", "together": true, "things": [
//	  {"name": "ball", "radius_px": 24, "rough_px": 6, "where": {"0": [17.9, 472.5], "1": [18.2, 472.4]},
//	   "gone": [[200, 210]]}]}
//
// clip is a path relative to the description's folder. where has the thing's centre in each frame in which it is in
// plain sight. gone has ranges of frames, both ends included, in which nothing of the thing shows: a mark that is seen
// there is wrong. With together all things are followed at once, from seeds in one frame; else each by itself.
//
// A clip has no truth if where has one place of each thing at most, or if there are no things: what is followed from two frames is then compared
// (agreement.go).
type realClip struct {
	Clip     string      `json:"clip"`
	About    string      `json:"about"`
	Together bool        `json:"together"`
	Things   []realThing `json:"things"`

	path, name string
}

type realThing struct {
	Name   string                `json:"name"`
	Radius float64               `json:"radius_px"`
	Rough  float64               `json:"rough_px"` // largest error of the true places
	Where  map[string][2]float64 `json:"where"`
	Gone   [][2]int              `json:"gone"`

	at map[int]geometry.Point
}

// goneIn reports whether nothing of the thing shows in a frame.
func (t *realThing) goneIn(f int) bool {
	for _, g := range t.Gone {
		if f >= g[0] && f <= g[1] {
			return true
		}
	}
	return false
}

// hasTruth reports whether a clip is more than places to begin at.
func (c *realClip) hasTruth() bool {
	return slices.ContainsFunc(c.Things, func(t realThing) bool { return len(t.Where) > 1 })
}

// readRealClips reads every description in a folder.
func readRealClips(dir string) ([]realClip, error) {
	if dir == "" {
		return nil, errors.New("no folder of descriptions was given\ngive one with -dir; the form is in cmd/internal/trial/cover/realclips.go")
	}
	names, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("there is no description (*.json) in %s\ngive a folder that has some with -dir", dir)
	}
	var out []realClip
	for _, n := range names {
		data, err := os.ReadFile(n)
		if err != nil {
			return nil, err
		}
		c := realClip{name: strings.TrimSuffix(filepath.Base(n), ".json")}
		if err := json.Unmarshal(data, &c); err != nil {
			return nil, fmt.Errorf("%s: %w", n, err)
		}
		c.path = filepath.Join(dir, c.Clip)
		for i := range c.Things {
			th := &c.Things[i]
			th.at = map[int]geometry.Point{}
			for k, p := range th.Where {
				var f int
				if _, err := fmt.Sscan(k, &f); err != nil {
					return nil, fmt.Errorf("%s: %q is not a frame's number", n, k)
				}
				th.at[f] = geometry.Point{X: p[0], Y: p[1]}
			}
		}
		out = append(out, c)
	}
	return out, nil
}

// thingScore counts what was found of one thing, over all its seeds. Frames are counted once for each seed.
type thingScore struct {
	Clip    string         `json:"clip"`
	Thing   string         `json:"thing"`
	Seeds   int            `json:"seeds"`
	Refused int            `json:"refused"` // seeds that were not accepted
	Visible int            `json:"visible"`
	Seen    int            `json:"seen"`
	Wrong   int            `json:"wrong"` // called seen, and too far off
	Worst   float64        `json:"worst_px"`
	Median  float64        `json:"median_px"`     // of marks that are not wrong
	Least   float64        `json:"least"`         // the smallest share seen of any seed
	Why     map[string]int `json:"why,omitempty"` // reasons why seeds were refused

	errors []float64
}

type realStudy struct {
	Every  int           `json:"every"`
	Rows   []*thingScore `json:"rows,omitempty"`
	Agreed []*agreement  `json:"agreed,omitempty"`
	wrong  []string
}

func clipsOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	show, erase := statusLine(terminal)
	defer erase()
	clips, err := readRealClips(o.dir)
	if err != nil {
		return nil, err
	}
	out := &realStudy{Every: max(1, o.every)}
	for i := range clips {
		c := &clips[i]
		if o.cell != "" && !strings.Contains(c.name, o.cell) {
			continue
		}
		if !c.hasTruth() {
			if err := out.agreeIn(ctx, c, followerIn(c.path), o.seed, show, o.verbose); err != nil {
				return nil, err
			}
		} else if c.Together {
			all := make([]int, len(c.Things))
			for k := range all {
				all[k] = k
			}
			if err := out.try(ctx, c, all, show, o.verbose); err != nil {
				return nil, err
			}
		} else {
			for k := range c.Things {
				if err := out.try(ctx, c, []int{k}, show, o.verbose); err != nil {
					return nil, err
				}
			}
		}
	}
	return out, nil
}

// try follows things of a clip from seeds in every n-th frame that shows all of them.
func (s *realStudy) try(ctx context.Context, c *realClip, things []int, show func(string), verbose bool) error {
	t, err := recorded.Open(ctx, c.path)
	if err != nil {
		return err
	}
	defer t.Close()
	rows := make([]*thingScore, len(things))
	for i, k := range things {
		rows[i] = &thingScore{Clip: c.name, Thing: c.Things[k].Name, Least: 1, Why: map[string]int{}}
		s.Rows = append(s.Rows, rows[i])
	}
	n := t.Info().Frames
	for from := 0; from < n; from += s.Every {
		var seeds []sticker.Seed
		for _, k := range things {
			if at, ok := c.Things[k].at[from]; ok {
				seeds = append(seeds, sticker.Seed{Name: c.Things[k].Name, Frame: from, At: geometry.Point{X: math.Round(at.X), Y: math.Round(at.Y)}})
			}
		}
		if len(seeds) < len(things) {
			continue
		}
		show(fmt.Sprintf("%s, seeds in frame %d of %d", c.name, from, n))
		byFrame := map[int][]sticker.Mark{}
		err := sticker.Follow(ctx, sticker.Of(t), seeds, sticker.Options{}, func(f sticker.Frame) error {
			byFrame[f.Index] = slices.Clone(f.Marks)
			return nil
		})
		var refusal *sticker.Error
		if err != nil && !errors.As(err, &refusal) {
			return err
		}
		for i, k := range things {
			r, th := rows[i], &c.Things[k]
			r.Seeds++
			if len(byFrame) == 0 {
				r.Refused++
				r.Why[refusal.Error()]++
				continue
			}
			visible, seen := 0, 0
			for f := range n {
				marks := byFrame[f]
				isSeen := marks != nil && marks[i].Seen == sticker.Seen
				at, isVisible := th.at[f]
				if isVisible {
					visible++
				}
				if isSeen && th.goneIn(f) {
					r.Wrong++
					if verbose {
						s.wrong = append(s.wrong, fmt.Sprintf("%s, %s: seed in frame %d, in frame %d seen at %.1f, %.1f, where it is not", c.name, th.Name, from, f, marks[i].At.X, marks[i].At.Y))
					}
				}
				if isVisible && isSeen {
					seen++
					off := marks[i].At.Sub(at)
					u := math.Sqrt(variance(&marks[i]))
					d := off.Norm()
					r.Worst = max(r.Worst, d)
					if d > max(wrongSD*u, wrongPx, th.Rough) {
						r.Wrong++
						if verbose {
							s.wrong = append(s.wrong, fmt.Sprintf("%s, %s: seed in frame %d, in frame %d %.1f px off, at %.1f, %.1f, stated %.2f px", c.name, th.Name, from, f, d, marks[i].At.X, marks[i].At.Y, u))
						}
						continue
					}
					r.errors = append(r.errors, d)
				}
			}
			r.Visible += visible
			r.Seen += seen
			r.Least = min(r.Least, float64(seen)/float64(max(1, visible)))
		}
	}
	for _, r := range rows {
		if len(r.errors) > 0 {
			slices.Sort(r.errors)
			r.Median = r.errors[len(r.errors)/2]
		}
	}
	return nil
}

func (s *realStudy) print(out io.Writer) error {
	var b strings.Builder
	if len(s.Rows) > 0 {
		fmt.Fprintf(&b, "Real clips with a truth, seeds in one frame of %d\n\n", s.Every)
		fmt.Fprintf(&b, "%-14s%-10s%6s%8s%9s%9s%7s%7s%8s%10s%10s%8s\n%s\n", "clip", "thing", "seeds", "refused", "visible", "seen", "%", "least", "wrong", "median px", "worst px", "lost", strings.Repeat("-", 106))
	}
	for _, r := range s.Rows {
		fmt.Fprintf(&b, "%-14s%-10s%6d%8d%9d%9d%7.1f%7.1f%8d%10.2f%10.1f%8d\n", r.Clip, r.Thing, r.Seeds, r.Refused, r.Visible, r.Seen,
			percent(r.Seen, r.Visible), 100*r.Least, r.Wrong, r.Median, r.Worst, r.Visible-r.Seen)
	}
	if len(s.Agreed) > 0 {
		s.printAgreed(&b)
	}
	for _, w := range s.wrong {
		fmt.Fprintln(&b, w)
	}
	for _, r := range s.Rows {
		for why, n := range r.Why {
			fmt.Fprintf(&b, "%s, %s: %d seeds refused: %s\n", r.Clip, r.Thing, n, why)
		}
	}
	fmt.Fprintf(&b, `
visible  frames in which the truth has the thing, counted for each seed; lost: of these, not said to be seen
least    share seen from the seed that leads to least
wrong    said to be seen, and off by more than %d stated standard uncertainties, than %d px and than the truth may be
disagree seen in two runs, and apart by more than %d stated standard uncertainties of both together and than %d px

`, wrongSD, wrongPx, wrongSD, wrongPx)
	_, err := io.WriteString(out, b.String())
	return err
}
