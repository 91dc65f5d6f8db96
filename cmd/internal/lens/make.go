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

// Make works a lens out from pictures of a board, or from one clip of it; file is the lens
// file. say hears how far it is, often, and may be nil.
func Make(ctx context.Context, paths []string, b calibrate.Board, say func(line string)) (r *calibrate.Result, file []byte, err error) {
	if say == nil {
		say = func(string) {}
	}
	seen, err := pictures(ctx, paths, b, func(format string, a ...any) { say(fmt.Sprintf(format, a...)) })
	if err != nil {
		return nil, nil, err
	}
	if r, err = calibrate.Estimate(seen, b); err != nil {
		return nil, nil, err
	}
	file, err = r.Lens.File(r.ResidualPx, r.Count())
	return r, file, err
}

// pictures looks for the board in stills, or in the frames of one clip.
func pictures(ctx context.Context, paths []string, b calibrate.Board, say func(string, ...any)) ([]calibrate.Picture, error) {
	var child see.Child
	defer child.Close()
	var out []calibrate.Picture
	for i, path := range paths {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		say("looking for the board in picture %d of %d", i+1, len(paths))
		t, err := take.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		if info := t.Info(); !info.Still {
			defer t.Close()
			if len(paths) > 1 {
				return nil, fault.New(fmt.Sprintf("%q is a clip, and other files were given with it", path), "give one clip, or pictures")
			}
			return clip(ctx, &child, say, t, b)
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
	return out, wrongCount(ctx, &child, say, paths, out, b)
}

// How many frames of a clip are looked at: so many a second, and at most so
// many, evenly spread.
const (
	looksPerSecond = 6
	mostLooks      = 400
)

// clip chooses frames of a clip in which the board is sharp, rests and is in
// another place.
func clip(ctx context.Context, child *see.Child, say func(string, ...any), t *take.Take, b calibrate.Board) ([]calibrate.Picture, error) {
	info := t.Info()
	every := max(1, int(info.TrueRate/looksPerSecond), (info.Frames+mostLooks-1)/mostLooks)
	var seen []calibrate.Moment
	found := 0
	err := t.Stream(ctx, 0, func(f *take.Frame) error {
		if f.Index%every != 0 || f.Damaged {
			return nil
		}
		say("looking for the board in frame %d of %d: found in %d", f.Index, info.Frames, found)
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

// wrongCount says, where no picture has the board, that they have one with one
// corner less each way: squares were counted in place of corners.
func wrongCount(ctx context.Context, child *see.Child, say func(string, ...any), paths []string, seen []calibrate.Picture, b calibrate.Board) error {
	for _, s := range seen {
		if s.Corners != nil {
			return nil
		}
	}
	less := calibrate.Board{Columns: b.Columns - 1, Rows: b.Rows - 1}
	if min(less.Columns, less.Rows) < 3 {
		return nil
	}
	const few = 3
	for _, path := range paths[:min(few, len(paths))] {
		say("looking for a board of %s", less)
		t, err := take.Open(ctx, path)
		if err != nil {
			return err
		}
		f, err := t.Frame(ctx, 0)
		t.Close()
		if err != nil {
			return err
		}
		if s, err := calibrate.Glance(ctx, child, path, large.Of(f), less); err == nil && s.Corners != nil {
			return fault.New(fmt.Sprintf("no picture shows a board of %s inner corners; %q shows one of %s", b, path, less),
				fmt.Sprintf("count the corners where four squares meet, not the squares: give "+fault.Option("board")+" %s", less))
		}
	}
	return nil
}
