package takes

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// withPoints are the flags that go with --points.
var withPoints = []string{"points", "csv", "figure", "clip", "cover", "force", "json"}

// pointsAlone refuses --points together with the flags of a measure.
func pointsAlone(c *cobra.Command) error {
	var bad error
	c.Flags().Visit(func(f *pflag.Flag) {
		if bad == nil && !slices.Contains(withPoints, f.Name) {
			bad = fault.New(fmt.Sprintf("--points reads no angle, and --%s is about one", f.Name), "leave one of them out; with --points go --csv, --figure, --clip, --cover and --json")
			if f.Name == "faceless" {
				bad = fault.New("--faceless works a head out from the landmarks of a body, and --points has none", "put a circle on the head with --cover X,Y,R, or leave --figure and --clip out")
			}
		}
	})
	return bad
}

// pointsRun follows any points, without an angle.
func pointsRun(ctx context.Context, s terminal.Streams, o followOptions) error {
	if err := o.Cover.Needs(o.Figure != "" || o.clip != "", "--figure FILE or --clip FILE"); err != nil {
		return err
	}
	seeds, err := desk.ParsePoints(o.points)
	if err != nil {
		return err
	}
	covers, err := o.Cover.Placed()
	if err != nil {
		return err
	}
	if err := o.addOutputs(); err != nil {
		return err
	}
	t, err := openTake(ctx, s, o.Desk(s), o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	info := t.Info()
	if err := o.Cover.Inside(image.Pt(info.Width, info.Height)); err != nil {
		return err
	}
	track, part, stopped, err := o.follow(ctx, s, t, seeds, "")
	if err != nil {
		return err
	}
	written := false
	defer func() { part.report(s.Err, written) }()
	if stopped != nil && len(track.Frames) == 0 {
		return stopped
	}
	if errors.Is(stopped, context.Canceled) {
		stopped = stoppedAt(track.Frames[len(track.Frames)-1].Frame, info.Frames)
	}
	if desk.Motionless(stopped) {
		stopped = nil // a point may stand still; what is printed says so
	}
	if err := o.writePaths(context.WithoutCancel(ctx), s, t, track, seeds, covers, &written); err != nil {
		return err
	}
	paths := desk.NewPaths(info, track)
	if o.JSON {
		err = terminal.PrintJSON(s.Out, paths)
	} else {
		err = printPaths(s.Out, paths)
	}
	if err != nil {
		return err
	}
	if stopped != nil {
		return stopped
	}
	return desk.DamagedTrack(info.Name, track)
}

// writePaths writes the files asked for, the table first.
func (o *followOptions) writePaths(ctx context.Context, s terminal.Streams, t *take.Take, track *reading.Track, seeds []sticker.Seed, covers []figure.Cover, written *bool) error {
	if o.csv != "" {
		data, err := track.CSV()
		if err != nil {
			return err
		}
		if err := o.Files.Write(ctx, o.csv, flags.TrackForm, flags.Writes(data)); err != nil {
			return err
		}
		*written = true
	}
	first, last := track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame
	jumps := track.Jumps()
	if o.Figure != "" {
		n := min(max(seeds[0].Frame, first), last)
		f, err := t.Frame(ctx, n)
		if err != nil {
			return err
		}
		img, err := figure.DrawPaths(large.Of(f), figure.Paths{Track: track, From: first, To: last, At: n, Jumps: jumps}, covers...)
		if err != nil {
			return err
		}
		if err := flags.WritePNG(ctx, &o.Files, o.Figure, img); err != nil {
			return err
		}
	}
	if o.clip == "" {
		return nil
	}
	progress, done := frameProgress(s, "drawing")
	defer done()
	return o.writeClip(func(out *os.File) error {
		return desk.DrawPaths(ctx, out, o.clip, t, track, covers, progress)
	})
}

// printPaths prints the paths, narrow enough for a phone.
func printPaths(w io.Writer, p *desk.Paths) error {
	var b terminal.Printer
	many := fmt.Sprintf("the paths of %d points", len(p.Points))
	if len(p.Points) == 1 {
		many = "the path of one point"
	}
	b.Wrap("écart  ", many)
	b.Wrap("", fmt.Sprintf("%s, frames %d to %d, %.3f to %.3f s", p.Take, p.First, p.Last, p.FromS, p.ToS))
	for _, o := range p.Points {
		b.Line("")
		b.Line("%s", terminal.Printable(o.Name))
		b.Wrap("  ", fmt.Sprintf("seen in %d of %d frames", o.Seen, p.Last-p.First+1))
		if len(o.Gaps) > 0 {
			b.Wrap("  ", "not seen in frames "+reading.Frames(o.Gaps))
		}
		if o.Seen == 0 {
			continue
		}
		wide, high := o.Right.X-o.Left.X, o.Bottom.Y-o.Top.Y
		b.Wrap("  ", fmt.Sprintf("moves over %.0f px across and %.0f px up and down", wide, high))
		b.Wrap("  ", fmt.Sprintf("highest at (%.0f, %.0f), frame %d, %.3f s", o.Top.X, o.Top.Y, o.Top.Frame, o.Top.TimeS))
		b.Wrap("  ", fmt.Sprintf("lowest at (%.0f, %.0f), frame %d, %.3f s", o.Bottom.X, o.Bottom.Y, o.Bottom.Frame, o.Bottom.TimeS))
	}
	if len(p.Jumps) > 0 {
		b.Line("")
	}
	for _, j := range p.Jumps {
		b.Wrap("caution: ", j.String()+": something else may have been followed there")
	}
	return b.Print(w)
}
