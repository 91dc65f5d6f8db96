package lens

import (
	"context"
	"fmt"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/large"
	"ecart/vision/calibrate"
	"ecart/vision/see"
	"ecart/vision/take"
)

// Make estimates a lens from pictures of a board, or from one clip of it; file is the lens file.
// progress is called with a line of words for each picture or frame, and may be nil.
func Make(ctx context.Context, paths []string, b calibrate.Board, progress func(line string)) (r *calibrate.Result, file []byte, err error) {
	if progress == nil {
		progress = func(string) {}
	}
	seen, err := fromPictures(ctx, paths, b, func(format string, a ...any) { progress(fmt.Sprintf(format, a...)) })
	if err != nil {
		return nil, nil, err
	}
	if r, err = calibrate.Estimate(seen, b); err != nil {
		return nil, nil, err
	}
	file, err = r.Lens.File(r.ResidualPx, r.Count())
	return r, file, err
}

// fromPictures looks for the board in stills, or in the frames of one clip.
func fromPictures(ctx context.Context, paths []string, b calibrate.Board, progress func(string, ...any)) ([]calibrate.Picture, error) {
	var child see.Child
	defer child.Close()
	var out []calibrate.Picture
	for i, path := range paths {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		progress("looking for the board in picture %d of %d", i+1, len(paths))
		t, err := take.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		if info := t.Info(); !info.Still {
			defer t.Close()
			if len(paths) > 1 {
				return nil, fault.New(fmt.Sprintf("%q is a clip, and other files were given with it", path), "give one clip, or pictures")
			}
			return fromClip(ctx, &child, progress, t, b)
		}
		f, err := t.Frame(ctx, 0)
		if err == nil {
			var seen calibrate.Picture
			seen, err = calibrate.Look(ctx, &child, path, large.Of(f), b)
			out = append(out, seen)
		}
		t.Close()
		if err != nil {
			return nil, err
		}
	}
	return out, wrongCount(ctx, &child, progress, paths, out, b)
}

// How many frames of a clip are searched, evenly spread: so many a second, and in all.
const (
	looksPerSecond = 6
	mostLooks      = 400
)

// fromClip chooses frames of a clip in which the board is sharp, at rest and each time at another place.
func fromClip(ctx context.Context, child *see.Child, progress func(string, ...any), t *take.Take, b calibrate.Board) ([]calibrate.Picture, error) {
	info := t.Info()
	every := max(1, int(info.TrueRate/looksPerSecond), (info.Frames+mostLooks-1)/mostLooks)
	var seen []calibrate.Moment
	found := 0
	err := t.Stream(ctx, 0, func(f *take.Frame) error {
		if f.Index%every != 0 || f.Damaged {
			return nil
		}
		progress("looking for the board in frame %d of %d: found in %d", f.Index, info.Frames, found)
		name := fmt.Sprintf("frame %d, %.2f s", f.Index, f.Time.Seconds())
		pic, err := calibrate.Glance(ctx, child, name, large.Of(f), b)
		if err != nil {
			return err
		}
		if pic.Corners != nil {
			found++
		}
		seen = append(seen, calibrate.Moment{Picture: pic, Time: t.TrueTime(f.Index)})
		return nil
	})
	if err != nil {
		return nil, err
	}
	out := calibrate.Choose(seen, b)
	if len(out) == 0 {
		return nil, fault.New(fmt.Sprintf("a board of %s inner corners is found in none of the %d frames of %q looked at", b, len(seen), info.Name),
			fmt.Sprintf("show all of it, flat and sharp; %s counts inner corners, for a board of %d by %d squares", b, b.Columns+1, b.Rows+1))
	}
	return out, nil
}

// wrongCount returns an error if no picture has the board, but one has a board with one corner less each
// way: squares were counted in place of corners.
func wrongCount(ctx context.Context, child *see.Child, progress func(string, ...any), paths []string, seen []calibrate.Picture, b calibrate.Board) error {
	for _, s := range seen {
		if s.Corners != nil {
			return nil
		}
	}
	smaller := calibrate.Board{Columns: b.Columns - 1, Rows: b.Rows - 1}
	if min(smaller.Columns, smaller.Rows) < 3 {
		return nil
	}
	const few = 3
	for _, path := range paths[:min(few, len(paths))] {
		progress("looking for a board of %s", smaller)
		t, err := take.Open(ctx, path)
		if err != nil {
			return err
		}
		f, err := t.Frame(ctx, 0)
		t.Close()
		if err != nil {
			return err
		}
		if s, err := calibrate.Glance(ctx, child, path, large.Of(f), smaller); err == nil && s.Corners != nil {
			return fault.New(fmt.Sprintf("no picture shows a board of %s inner corners; %q shows one of %s", b, path, smaller),
				fmt.Sprintf("count the corners where four squares meet, not the squares: give "+fault.Option("board")+" %s", smaller))
		}
	}
	return nil
}
