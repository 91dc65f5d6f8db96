package reading

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
)

// Gap is a run of frames of a track, both ends included, in which a mark was not seen.
type Gap struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// Frames names the frames of gaps: "3 to 6, 59"; of many, the first six.
func Frames(gaps []Gap) string {
	const most = 6
	var out []string
	for i, g := range gaps {
		switch {
		case i == most:
			return strings.Join(out, ", ") + fmt.Sprintf(" and %d more stretches", len(gaps)-most)
		case g.From == g.To:
			out = append(out, fmt.Sprint(g.From))
		default:
			out = append(out, fmt.Sprintf("%d to %d", g.From, g.To))
		}
	}
	return strings.Join(out, ", ")
}

// Jump is a movement of a mark between two frames that is far larger than those before and after:
// something else was followed on one side of it, or two marks were exchanged.
type Jump struct {
	Landmark string  `json:"landmark"`
	From     int     `json:"from"` // the last frame before it in which the mark was seen
	To       int     `json:"to"`
	Px       float64 `json:"px"`
}

// String describes the jump in words.
func (j Jump) String() string {
	return fmt.Sprintf("%s jumps by %.0f px between frames %d and %d", j.Landmark, j.Px, j.From, j.To)
}

// Gaps lists the runs of frames in which some mark was not seen or the frame is missing, between the
// first and the last frame of the track.
func (t *Track) Gaps() []Gap { return t.gaps((*TrackFrame).whole) }

// Lost lists the gaps of one landmark, given by its index.
func (t *Track) Lost(k int) []Gap {
	return t.gaps(func(f *TrackFrame) bool { return f.Marks[k].Seen == Found })
}

func (t *Track) gaps(known func(*TrackFrame) bool) []Gap {
	var out []Gap
	add := func(from, to int) {
		if n := len(out); n > 0 && out[n-1].To == from-1 {
			out[n-1].To = to
			return
		}
		out = append(out, Gap{from, to})
	}
	for i := range t.Frames {
		f := &t.Frames[i]
		if i > 0 && t.Frames[i-1].Frame < f.Frame-1 {
			add(t.Frames[i-1].Frame+1, f.Frame-1)
		}
		if !known(f) {
			add(f.Frame, f.Frame)
		}
	}
	return out
}

// whole reports whether all marks were seen.
func (f *TrackFrame) whole() bool {
	return !slices.ContainsFunc(f.Marks, func(m Tracked) bool { return m.Seen != Found })
}

const (
	// jumpTimes is the largest difference of a step from the median of the steps around it, as a multiple
	// of their median length, that is not a jump. A body that stops or starts within one frame (a ball at
	// a wall, a kick) differs by no more than once that length.
	jumpTimes = 1.5

	// jumpFloor is the smallest jump, px: encoding artefacts move a mark by a few.
	jumpFloor = 8

	// jumpAbout is the number of steps before and after with which a step is compared.
	jumpAbout = 2

	// spikeFrames is the largest number of frames of an excursion: a mark that is back within it was
	// elsewhere in those frames only; a later return is a second jump.
	spikeFrames = 3
)

// step is the displacement of a mark between consecutive frames in which it was seen.
type step struct {
	a, b   int     // indices of the frames in the track
	x, y   float64 // px
	frames float64
}

func (s step) px() float64 { return math.Hypot(s.x, s.y) }

// Jumps lists the jumps of all marks, ordered by frame.
func (t *Track) Jumps() []Jump {
	var out []Jump
	for k, name := range t.Landmarks {
		steps := t.steps(k)
		for i, s := range steps {
			if t.jumps(k, steps, i) {
				out = append(out, Jump{name, t.Frames[s.a].Frame, t.Frames[s.b].Frame, s.px()})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Jump) int { return a.From - b.From })
	return out
}

func (t *Track) steps(k int) []step {
	var out []step
	last := -1
	for i := range t.Frames {
		m := &t.Frames[i].Marks[k]
		if m.Seen != Found {
			continue
		}
		if last >= 0 {
			o := &t.Frames[last].Marks[k]
			out = append(out, step{last, i, m.X - o.X, m.Y - o.Y, float64(t.Frames[i].Frame - t.Frames[last].Frame)})
		}
		last = i
	}
	return out
}

// jumps reports whether step i differs from the median of the steps around it by more than jumpTimes
// and jumpFloor allow and the marks' uncertainties explain.
func (t *Track) jumps(k int, steps []step, i int) bool {
	var x, y, length []float64 // px per frame
	for j := max(0, i-jumpAbout); j <= min(len(steps)-1, i+jumpAbout); j++ {
		if j != i {
			o := steps[j]
			x, y, length = append(x, o.x/o.frames), append(y, o.y/o.frames), append(length, o.px()/o.frames)
		}
	}
	if len(length) == 0 {
		return false
	}
	s := steps[i]
	off := math.Hypot(s.x-s.frames*median(x), s.y-s.frames*median(y))
	noise := 0.0
	for _, at := range []int{s.a, s.b} {
		c := t.Frames[at].Marks[k].Covariance
		noise += c[0][0] + c[1][1]
	}
	return off > max(jumpFloor, 3*math.Sqrt(noise))+jumpTimes*median(length)*s.frames
}

// median sorts v and returns its median.
func median(v []float64) float64 {
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

// parts divides the track into stretches of consecutive frames without a gap or a jump. part is the number
// of each frame's stretch, -1 if a mark was not seen or was on an excursion; doubt reports for each stretch
// whether it begins or ends at a jump, so that something else may have been followed in it.
func (t *Track) parts() (part []int, doubt []bool) {
	broken := map[int]bool{} // indices of frames at which a jump ends
	spike := map[int]bool{}  // indices of frames in which a mark was on an excursion
	for k := range t.Landmarks {
		steps := t.steps(k)
		for i := 0; i < len(steps); i++ {
			if !t.jumps(k, steps, i) {
				continue
			}
			if j := t.returns(k, steps, i); j > i {
				for p := steps[i].b; p <= steps[j].a; p++ {
					spike[p] = true
				}
				i = j
				continue
			}
			broken[steps[i].b] = true
		}
	}
	part = make([]int, len(t.Frames))
	last := -1
	for i := range t.Frames {
		part[i] = -1
		if !t.Frames[i].whole() || spike[i] {
			continue
		}
		afterGap := last < 0 || t.Frames[i].Frame != t.Frames[last].Frame+1
		jumped := false
		for p := last + 1; p <= i; p++ {
			jumped = jumped || broken[p]
		}
		if afterGap || jumped {
			doubt = append(doubt, jumped && last >= 0)
			if jumped && last >= 0 {
				doubt[part[last]] = true
			}
		}
		part[i] = len(doubt) - 1
		last = i
	}
	return part, doubt
}

// returns is the step by which a mark that jumped in step i comes back near its earlier position within
// spikeFrames; i if there is none.
func (t *Track) returns(k int, steps []step, i int) int {
	from := &t.Frames[steps[i].a].Marks[k]
	for j := i + 1; j < len(steps) && steps[j].b-steps[i].a <= spikeFrames+1; j++ {
		back := &t.Frames[steps[j].b].Marks[k]
		if t.jumps(k, steps, j) && math.Hypot(back.X-from.X, back.Y-from.Y) < steps[i].px()/2 {
			return j
		}
	}
	return i
}

// stillPx is the largest movement of a mark, px, in a clip in which nothing moves: encoding artefacts
// are smaller.
const stillPx = 1

// Still reports whether no mark of the track moves by more than its uncertainty explains; there is then
// no peak to find.
func (t *Track) Still() bool {
	for k := range t.Landmarks {
		lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
		sd, n := 0.0, 0
		for i := range t.Frames {
			m := &t.Frames[i].Marks[k]
			if m.Seen != Found {
				continue
			}
			n++
			lo, hi = [2]float64{min(lo[0], m.X), min(lo[1], m.Y)}, [2]float64{max(hi[0], m.X), max(hi[1], m.Y)}
			sd = max(sd, math.Sqrt(max(m.Covariance[0][0], m.Covariance[1][1])))
		}
		// of a thousand normal draws the lowest and the highest are 6.5 standard deviations apart
		if n > 1 && max(hi[0]-lo[0], hi[1]-lo[1]) > max(stillPx, 6.5*sd) {
			return false
		}
	}
	return true
}

// unseen says in words for how many of a track's frames the angle is not known.
func (t *Track) unseen(part []int) []string {
	first, last := t.Frames[0].Frame, t.Frames[len(t.Frames)-1].Frame
	all, known := last-first+1, 0
	for _, p := range part {
		if p >= 0 {
			known++
		}
	}
	if known == all {
		return nil
	}
	return []string{fmt.Sprintf("the angle in %d of %d frames, in which a sticker is not seen", all-known, all)}
}

// Damaged lists the runs of frames [first, last] in which the track's file is damaged.
func (t *Track) Damaged() (out [][2]int) {
	run := false
	for i := range t.Frames {
		switch f := &t.Frames[i]; {
		case !f.Damaged:
			run = false
		case run:
			out[len(out)-1][1] = f.Frame
		default:
			out, run = append(out, [2]int{f.Frame, f.Frame}), true
		}
	}
	return out
}

// damage names the damaged frames of a take; "" if there are none.
func (t *Take) damage() string { return FrameRuns(t.Damaged) }

// DamageCaution is the caution of a reading whose take is damaged; "" if it is not. peak: the reading is
// of a peak found in a clip.
func (t *Take) DamageCaution(peak bool) string {
	switch d := t.damage(); {
	case d == "":
		return ""
	case peak:
		return "The file is damaged at " + d + ": no sticker was looked for there, and the peak may have been there."
	default:
		return "The file is damaged at " + d + ": parts of the picture may be made up."
	}
}

// FrameRuns names runs of frames: "frame 12", "frames 12 to 15 and 40"; "" if there are none.
func FrameRuns(runs [][2]int) string {
	if len(runs) == 0 {
		return ""
	}
	const most = 4
	var words []string
	for i, r := range runs {
		if i == most && len(runs) > most+1 {
			words = append(words, fmt.Sprintf("%d other runs up to %d", len(runs)-i, runs[len(runs)-1][1]))
			break
		}
		w := fmt.Sprint(r[0])
		if r[1] > r[0] {
			w = fmt.Sprintf("%d to %d", r[0], r[1])
		}
		words = append(words, w)
	}
	if len(words) == 1 {
		if runs[0][0] == runs[0][1] {
			return "frame " + words[0]
		}
		return "frames " + words[0]
	}
	return "frames " + text.And(words)
}

// becauseDamaged returns the error of a peak that could not be read. If the track's file is damaged, its
// hint says so.
func (t *Track) becauseDamaged(err error) error {
	d := FrameRuns(t.Damaged())
	var e *fault.Error
	if d == "" || !errors.As(err, &e) {
		return err
	}
	return fault.New(e.Error(), fmt.Sprintf("the file is damaged at %s: copy the clip from the camera again, or read a single frame with %s N", d, fault.Option("at")))
}
