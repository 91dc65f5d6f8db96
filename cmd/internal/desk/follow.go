package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// PrepareFollow is Prepare for a clip that is to be followed: from seeds, marks files with
// one point on each sticker in one frame each, or from the stickers' colours, such as
// hip=#d01ef0,front-ankle=#28dc28. A sticker that is in several files is the same one in several frames.
func (d *Desk) PrepareFollow(a Ask, seeds []string, colours string) (*Asked, []sticker.Seed, error) {
	if (len(seeds) == 0) == (colours == "") {
		return nil, nil, fault.New(fmt.Sprintf("no stickers were named for %q", a.Take), "give "+fault.Option("seeds")+" FILE with one point on each sticker, or "+fault.Option("colours")+" such as hip=#d01ef0,front-ankle=#28dc28; "+fault.Option("points")+" follows any point and reads no angle")
	}
	var from []sticker.Seed
	var none *reading.Marks
	if colours != "" {
		var err error
		if from, err = parseColours(colours); err != nil {
			return nil, nil, err
		}
		none = &reading.Marks{Schema: reading.MarksSchema}
	}
	if len(seeds) > 0 {
		a.Marks = seeds[0]
	}
	q, err := d.PrepareWith(a, none)
	if err != nil {
		return nil, nil, err
	}
	if from == nil {
		for _, path := range seeds[1:] {
			m, err := marksFile(path)
			if err != nil {
				return nil, nil, err
			}
			q.furtherSeeds = append(q.furtherSeeds, m)
		}
		from = Seeds(append([]*reading.Marks{q.Request.Marks}, q.furtherSeeds...)...)
	}
	q.markOptional(from)
	return q, from, q.Serves(from)
}

// markOptional marks as optional each seed without which the measure can still be read. There need not be a sticker for it.
func (q *Asked) markOptional(seeds []sticker.Seed) {
	for k := range seeds {
		rest := slices.Delete(slices.Clone(seeds), k, k+1)
		seeds[k].Optional = len(rest) > 0 && q.Serves(rest) == nil
	}
}

// Serves returns an error if the seeds lack a landmark that the measure needs.
func (q *Asked) Serves(seeds []sticker.Seed) error {
	var names []string
	for _, s := range seeds {
		names = append(names, s.Name)
	}
	return Optioned(q.Request.Measure.Serves(names, q.Request.Options))
}

// parseColours reads hip=#d01ef0,front-ankle=#28dc28.
func parseColours(list string) ([]sticker.Seed, error) {
	colours := fault.Option("colours")
	form := "write " + colours + " hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff"
	var out []sticker.Seed
	for _, item := range strings.Split(list, ",") {
		name, hex, ok := strings.Cut(strings.TrimSpace(item), "=")
		if !ok {
			return nil, fault.New(fmt.Sprintf("%s has %q, which is no landmark with a colour", colours, item), form)
		}
		if known := geometry.Landmarks(); !slices.Contains(known, name) {
			hint := form
			if near := text.Nearest(name, known); near != "" {
				hint = fmt.Sprintf("did you mean %q? %s", near, form)
			}
			return nil, fault.New(fmt.Sprintf("%s names the unknown landmark %q", colours, name), hint)
		}
		for _, s := range out {
			if s.Name == name {
				return nil, fault.New(fmt.Sprintf("%s names %q twice", colours, name), form)
			}
		}
		c, err := sticker.ParseColour(hex)
		if err != nil {
			return nil, fault.New(fmt.Sprintf("%s gives %q the colour %q: %v", colours, name, hex, err), form)
		}
		out = append(out, sticker.Seed{Name: name, Colour: &c})
	}
	return out, nil
}

// Seed is a sticker that is pointed at, or a colour.
type Seed = sticker.Seed

// Seeds returns the seeds of marks files of several frames, one per landmark.
func Seeds(files ...*reading.Marks) (out []sticker.Seed) {
	for _, m := range files {
		seen := map[string]bool{}
		for _, p := range m.Marks {
			if !seen[p.Landmark] { // of several placements, one is enough to find the sticker
				seen[p.Landmark] = true
				out = addSeed(out, sticker.Seed{Name: p.Landmark, At: geometry.Point{X: p.X, Y: p.Y}, Frame: m.Frame})
			}
		}
	}
	return out
}

// addSeed adds a seed, or another place to that of its name.
func addSeed(seeds []sticker.Seed, s sticker.Seed) []sticker.Seed {
	for k := range seeds {
		if seeds[k].Name == s.Name {
			seeds[k].Also = append(seeds[k].Also, sticker.Pointing{At: s.At, Frame: s.Frame})
			return seeds
		}
	}
	return append(seeds, s)
}

// CheckSeeds returns an error if a marks file of the seeds names no frame, or one that is not in the clip.
func (q *Asked) CheckSeeds(t *take.Take) error {
	for _, m := range append([]*reading.Marks{q.Request.Marks}, q.furtherSeeds...) {
		if err := FrameNamed(m, t.Info()); err != nil {
			return err
		}
		if _, _, err := frameAsked(t, "", m.Frame); err != nil {
			return err
		}
	}
	return nil
}

// SeedsFor returns the seeds of marks files, for what is asked.
func (q *Asked) SeedsFor(files ...*reading.Marks) []sticker.Seed {
	seeds := Seeds(files...)
	q.markOptional(seeds)
	return seeds
}

// SeedsOfColours returns the seeds of a list of colours, such as hip=#d01ef0,front-ankle=#28dc28, for what
// is asked.
func (q *Asked) SeedsOfColours(colours string) ([]sticker.Seed, error) {
	seeds, err := parseColours(colours)
	if err != nil {
		return nil, err
	}
	q.markOptional(seeds)
	return seeds, q.Serves(seeds)
}

// LeftOut says for which seeds no sticker was found, so that the track lacks their landmarks; "" for none.
func LeftOut(seeds []sticker.Seed, track *reading.Track) string {
	var names []string
	for _, s := range seeds {
		if !slices.Contains(track.Landmarks, s.Name) {
			names = append(names, "the "+strings.ReplaceAll(s.Name, "-", " "))
		}
	}
	if names == nil {
		return ""
	}
	return "no sticker is followed at " + text.And(names) + ", without which the angle can be read"
}

// Follow follows the seeds through the clip, forwards and backwards. progress is called with the number
// of frames done, of all frames, and of stickers found in the last one; also is called with each frame
// in order, with a mark for each seed; both may be nil. The track leaves out optional seeds that are on
// no sticker (LeftOut). If there is an error, the track has what was followed until then.
func Follow(ctx context.Context, t *take.Take, seeds []sticker.Seed, facing string, progress func(done, of, found int), also func(*reading.TrackFrame) error) (*reading.Track, error) {
	track := &reading.Track{Facing: facing}
	for _, seed := range seeds {
		track.Landmarks = append(track.Landmarks, seed.Name)
	}
	each := func(f sticker.Frame) error {
		row := reading.TrackFrame{Frame: f.Index, TimeS: f.TrueTime.Seconds(), AngleDeg: math.NaN(), SDDeg: math.NaN()}
		row.Damaged = f.Damaged
		for _, m := range f.Marks {
			if f.Damaged {
				m = sticker.Mark{Seen: sticker.Lost}
			}
			row.Marks = append(row.Marks, tracked(m))
		}
		track.Frames = append(track.Frames, row)
		if also != nil {
			return also(&row)
		}
		return nil
	}
	err := seenOnce(sticker.Follow(ctx, sticker.Of(t), seeds, sticker.Options{Progress: progress}, each), track)
	for _, s := range seeds {
		if s.Optional && len(track.Frames) > 0 {
			track.DropUnseen(s.Name)
		}
	}
	return track, err
}

// tracked converts a followed sticker for a track.
func tracked(m sticker.Mark) reading.Tracked {
	seen := map[sticker.State]reading.Seen{sticker.Seen: reading.Found, sticker.Predicted: reading.Predicted, sticker.Lost: reading.Lost}[m.Seen]
	return reading.Tracked{X: m.At.X, Y: m.At.Y, Covariance: m.Cov, Seen: seen}
}

// CutOff reports whether following ended because the file of the clip is cut off, with a track of
// the frames before that.
func CutOff(err error, track *reading.Track) bool {
	return hasProblem(err, sticker.Cut) && track != nil && len(track.Frames) > 0
}

// LostBeforeEnd reports whether a sticker was lost and not found again; what was followed until then is good.
func LostBeforeEnd(err error, track *reading.Track) bool {
	return hasProblem(err, sticker.NeverFound) && track != nil && len(track.Frames) > 0
}

// Motionless reports whether the clip showed no movement.
func Motionless(err error) bool {
	return hasProblem(err, sticker.Motionless)
}

func hasProblem(err error, p sticker.Problem) bool {
	var e *sticker.Error
	return errors.As(err, &e) && e.Problem == p
}

// seenOnce replaces the error "nothing moves" if a mark was seen in one frame alone, which is the
// likelier cause.
func seenOnce(err error, track *reading.Track) error {
	if !Motionless(err) {
		return err
	}
	for k, name := range track.Landmarks {
		at, n := 0, 0
		for _, f := range track.Frames {
			if f.Marks[k].Seen == reading.Found {
				at = f.Frame
				n++
			}
		}
		if n == 1 {
			return fault.New(fmt.Sprintf("%q was seen in frame %d alone: nothing like it is near there in the frames before and after", name, at),
				fmt.Sprintf("look at frames %d and %d: point at the sticker where it is sharp and whole", max(0, at-1), at+1))
		}
	}
	return err
}

// DamagedTrack returns an error if the clip that was followed is damaged.
func DamagedTrack(name string, t *reading.Track) error {
	d := reading.FrameRuns(t.Damaged())
	if d == "" {
		return nil
	}
	return fault.Failed(fmt.Sprintf("%q is damaged at %s: what was read is from the other frames", name, d), "copy the clip from the camera again and follow it once more", nil)
}

// TrackPasses cuts what was followed into passes, and reads each leap in them at its peak.
func (d *Desk) TrackPasses(ctx context.Context, t *take.Take, q *Asked, track *reading.Track) ([]Pass, error) {
	var out []Pass
	smallest := q.Request.Skill != nil && q.Request.Skill.AtMost
	parts := track.Passes()
	if len(parts) == 0 {
		return nil, fault.New("no sticker is seen in any frame", "look at the clip, and name the stickers by their colours")
	}
	for i, part := range parts {
		pass := newPass(t, i+1, part.Frames[0].Frame, part.Frames[len(part.Frames)-1].Frame)
		leaps, smaller, most, err := part.Leaps(q.Request, smallest)
		if err != nil {
			pass.fail(Optioned(err))
			out = append(out, pass)
			continue
		}
		if smaller > 0 {
			pass.Notes = append(pass.Notes, smallerWords(smaller, most))
		}
		for k, leap := range leaps {
			one := pass
			one.Leap, one.Leaps, one.Track = k+1, len(leaps), leap
			asked := *q
			asked.Track = leap
			r, err := asked.ReadPeak(ctx)
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if err != nil {
				one.Leap, one.Track = 0, nil
				if unseen := neverSeen(part); unseen != "" {
					err = fault.New("in this pass no sticker is found at "+unseen, "name the stickers by their colours, or cut this pass out of the clip and point at its stickers there")
				}
				one.fail(err)
			} else {
				one.read(r)
				one.MomentS = &r.Peak.TimeS
				one.Marks = asked.Request.Marks
			}
			out = append(out, one)
		}
	}
	return out, nil
}

// neverSeen returns the landmarks that no frame of a track shows, in words.
func neverSeen(t *reading.Track) string {
	var names []string
	for k, l := range t.Landmarks {
		if !slices.ContainsFunc(t.Frames, func(f reading.TrackFrame) bool { return f.Marks[k].Seen == reading.Found }) {
			names = append(names, "the "+strings.ReplaceAll(l, "-", " "))
		}
	}
	return text.And(names)
}
