package cli

import (
	"context"
	"fmt"
	"image"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"golang.org/x/term"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// parseColours reads hip=#d01ef0,front-ankle=#28dc28.
func parseColours(list string) ([]sticker.Seed, error) {
	const form = "write --colours hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff"
	var out []sticker.Seed
	for _, item := range strings.Split(list, ",") {
		name, hex, ok := strings.Cut(strings.TrimSpace(item), "=")
		if !ok {
			return nil, &inputError{fmt.Sprintf("--colours has %q, which is no landmark with a colour", item), form}
		}
		if known := geometry.Landmarks(); !slices.Contains(known, name) {
			hint := form
			if near := geometry.Nearest(name, known); near != "" {
				hint = fmt.Sprintf("did you mean %q? %s", near, form)
			}
			return nil, &inputError{fmt.Sprintf("--colours names the unknown landmark %q", name), hint}
		}
		for _, s := range out {
			if s.Name == name {
				return nil, &inputError{fmt.Sprintf("--colours names %q twice", name), form}
			}
		}
		c, err := sticker.ParseColour(hex)
		if err != nil {
			return nil, &inputError{fmt.Sprintf("--colours gives %q the colour %q: %v", name, hex, err), form}
		}
		out = append(out, sticker.Seed{Name: name, Colour: &c})
	}
	return out, nil
}

// seedsOf are the seeds of a marks file, one a landmark.
func seedsOf(m *reading.Marks) []sticker.Seed {
	var out []sticker.Seed
	seen := map[string]bool{}
	for _, p := range m.Marks {
		if !seen[p.Landmark] { // placed again: one place on a sticker will do
			seen[p.Landmark] = true
			out = append(out, sticker.Seed{Name: p.Landmark, At: geometry.Point{X: p.X, Y: p.Y}, Frame: m.Frame})
		}
	}
	return out
}

// seedsIn refuses seeds whose frame is not named or not in the clip. Seeds that are
// colours have no marks file, and no frame to name.
func seedsIn(t *take.Take, m *reading.Marks) error {
	if err := frameNamed(m, t.Info()); err != nil {
		return err
	}
	_, _, err := frameAsked(t, "", m.Frame)
	return err
}

// follow follows the seeds through the take, with a progress line. The track is
// what was followed, also where the error is not nil.
func follow(ctx context.Context, s streams, t *take.Take, seeds []sticker.Seed, facing string, also func(*reading.TrackFrame) error) (*reading.Track, error) {
	progress, done := s.frames("following")
	defer done()
	return followTake(ctx, t, seeds, facing, progress, also)
}

// followTake is follow with somebody else's progress; nil tells nobody. also is called with each frame as it
// comes, in order; nil where nobody wants it.
func followTake(ctx context.Context, t *take.Take, seeds []sticker.Seed, facing string, progress func(done, of, found int), also func(*reading.TrackFrame) error) (*reading.Track, error) {
	track := &reading.Track{Facing: facing}
	for _, seed := range seeds {
		track.Landmarks = append(track.Landmarks, seed.Name)
	}
	err := sticker.Follow(ctx, sticker.Of(t), seeds, sticker.Options{Progress: progress}, func(f sticker.Frame) error {
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
	})
	return track, err
}

// frames is a progress line with frames a second and the time left, on a
// terminal only.
func (s streams) frames(what string) (told func(done, of, found int), wipe func()) {
	f, ok := s.err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	start, last := time.Now(), time.Time{}
	told = func(done, of, found int) {
		now := time.Now()
		if now.Sub(last) < 200*time.Millisecond || done == 0 {
			return
		}
		last = now
		rate := float64(done) / now.Sub(start).Seconds()
		fmt.Fprintf(f, "\r\x1b[K%s: frame %d of %d, %d stickers, %.0f frames a second, %.0f s left", what, done, of, found, rate, float64(of-done)/rate)
	}
	return told, func() { fmt.Fprint(f, "\r\x1b[K") }
}

// writeClip writes the clip that was asked for.
func (o *followOptions) writeClip(write func(*os.File) error) error {
	f, err := o.files.Create(o.clip, output.Clip)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := write(f.File()); err != nil {
		return err
	}
	return f.Commit()
}

// annotate writes the clip with the fan in every frame, and the covers of each, into
// an empty file; name is what errors call it.
func annotate(ctx context.Context, out *os.File, name string, t *take.Take, q reading.Request, track *reading.Track, covers func(frame int) []figure.Cover, progress func(done, of, found int)) error {
	first, last := track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame
	stand := q.Marks
	return drawClip(ctx, out, name, t, first, last, func(f *take.Frame) (image.Image, error) {
		var r *reading.Reading
		why := "not followed"
		if i, ok := track.At(f.Index); ok {
			if m, ok := track.MarksAt(i); ok {
				one := q
				m.Level, m.Plane = stand.Level, stand.Plane
				one.Marks = m
				one.Take.Frame = f.Index
				var err error
				if r, err = reading.Sketch(one); err != nil {
					r, why = nil, "the angle cannot be read here" // a mark outside the picture, say
				}
			} else if why = "a sticker is not seen"; track.Frames[i].Damaged {
				why = "the file is damaged here"
			}
		}
		if progress != nil {
			progress(f.Index-first+1, last-first+1, len(track.Landmarks))
		}
		return figure.Overlay(large.Of(f), r, why, covers(f.Index)...)
	})
}
