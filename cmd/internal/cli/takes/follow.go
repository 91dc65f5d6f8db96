package takes

import (
	"context"
	"errors"
	"fmt"
	"image"
	"time"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
	"ecart/vision/take"

	"github.com/spf13/cobra"
)

// followOptions are the flags of `ecart follow`.
type followOptions struct {
	flags.ReadOptions
	seeds            []string
	colours          string
	athlete          string
	proposed         bool
	points           []string
	csv, curve, clip string
	out              string
	passes           passOptions
}

func NewFollow(s terminal.Streams) *cobra.Command {
	var o followOptions
	c := &cobra.Command{
		Use:   "follow CLIP ((--seeds FILE | --colours LIST) (--skill NAME | --measure NAME) | --proposed | --points NAME=X,Y@FRAME)",
		Short: "follow stickers through a clip: the angle over time, the moment it peaks, or their paths",
		Long: `Follows coloured stickers through a clip, works out the angle in every frame,
and reads it at its peak, between the frames. The widest split is not at the top
of the flight, so the moment is taken from the angle.

Seeds say which sticker is which: a marks file with one point on each sticker in
one frame, or their colours. Stickers that cannot be seen are lost, not guessed:
their marks are predicted for a tenth of a second, then they stop. A peak never
rests on a frame beside such a gap, nor on a mark that jumps.

If a sticker stays lost though it is in the picture, point at it there too: give
--seeds again, with a marks file of that frame. It is then followed from both.
Where the two ways contradict each other, it is lost.

--points follows any number of points, one is enough, and reads no angle: each
has a name of its own, a place on it in pixels, and the frame it was looked up
in (0 where none is given), or a colour in place of both. The same name with
another frame is the same point there. --csv, --figure and --clip then hold their
paths.

While it works, the table of --csv leap.csv grows in leap.part.csv, which
'ecart read' opens too; should the work be ended, it is still there.

` + flags.CoverHelp + ` In a
clip the cover moves with the marks, and grows where they are lost; circles
that were given stay where they are, beside it.

--proposed follows no sticker: the angle comes from landmarks that a network
proposes (see 'ecart propose'), at the moments that it looks at. That is no
measurement.

With --passes several athletes with stickers of the same colours come by: the
clip is cut where the stickers are lost and found anew, and each leap is read at
its peak. --out FOLDER then holds the track and a figure of each, and a list for
'ecart squad'.

Ctrl-C stops, and keeps what is done.`,
		Example: `  ecart follow leap.mp4 --seeds leap.marks.json --skill split-leap \
      --camera by-eye --curve curve.png --csv leap.csv
  ecart follow leap.mp4 --colours hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff \
      --measure hip-split --clip annotated.mp4 --faceless
  ecart follow leap.mp4 --seeds leap.marks.json --seeds later.marks.json --measure hip-split
  ecart follow leap.mp4 --proposed --measure hip-split --curve curve.png
  ecart follow swing.mp4 --points hand=812,344@20 --points bar=#d01ef0 \
      --csv paths.csv --figure paths.png`,
		Args: flags.OneArg("clip"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Take = args[0]
			if len(o.points) > 0 {
				if err := pointsAlone(c); err != nil {
					return err
				}
				return pointsRun(c.Context(), s, o)
			}
			if err := o.passes.check(o.out, o.Figure); err != nil {
				return err
			}
			if o.passes.on && o.proposed {
				return fault.New("--passes and --proposed were both given", "give 'ecart propose CLIP --passes'")
			}
			for _, one := range []struct{ flag, value string }{{"csv", o.csv}, {"curve", o.curve}, {"clip", o.clip}} {
				if o.passes.on && one.value != "" {
					return fault.New(fmt.Sprintf("--%s is of one reading, and --passes was given", one.flag), "leave it out: --out FOLDER holds the track and a figure of each leap")
				}
			}
			if o.passes.on && o.Keep.Athlete != "" {
				return fault.New("--keep files one reading, and --passes was given", "give the list that it writes to 'ecart squad --keep'")
			}
			if o.proposed {
				return followProposed(c.Context(), s, o)
			}
			if o.out != "" && !o.passes.on {
				return fault.New("--out is the folder of --passes, which was not given", "give --passes, or name the table with --csv")
			}
			if o.athlete != "" {
				return fault.New("--athlete-at says who is meant, and --proposed was not given", "give --proposed, or leave it out")
			}
			return followRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringArrayVar(&o.seeds, "seeds", nil, "marks `FILE` with one point on each sticker in one frame; may be given again, for other frames")
	f.StringVar(&o.colours, "colours", "", "in place of --seeds, the stickers' colours: `LIST` is such as hip=#d01ef0,front-ankle=#28dc28")
	f.StringArrayVar(&o.points, "points", nil, "follow a point and read no angle: `POINT` is such as hand=812,344@20 or hand=#d01ef0; may be given again")
	f.BoolVar(&o.proposed, "proposed", false, "in place of stickers, landmarks that the picture suggests: the angle over time as it is proposed")
	f.StringVar(&o.athlete, "athlete-at", "", "with --proposed, who is meant: `PLACE` is such as 812,344@20")
	o.passes.add(f)
	f.StringVar(&o.out, "out", "", "with --passes, the `FOLDER` for what is read")
	flags.AddReading(f, &o.ReadOptions)
	f.StringVar(&o.csv, "csv", "", "write every frame's marks and angle into the CSV `FILE`, which 'ecart read --marks FILE --at peak' reads")
	f.StringVar(&o.curve, "curve", "", "draw the angle over time into the PNG `FILE`")
	f.StringVar(&o.Figure, "figure", "", "draw the reading at the peak, or the paths, into the PNG `FILE`")
	f.StringVar(&o.clip, "clip", "", "write the annotated clip into the MP4 `FILE`")
	flags.AddCover(f, &o.Cover)
	flags.AddForce(f, &o.Files)
	f.BoolVar(&o.JSON, "json", false, "print the reading at the peak as JSON (ecart/reading/1), in full precision")
	flags.AddKeep(f, &o.Keep)
	return c
}

func followRun(ctx context.Context, s terminal.Streams, o followOptions) error {
	if err := o.Cover.Needs(o.passes.on || o.Figure != "" || o.clip != "", "--figure FILE or --clip FILE"); err != nil {
		return err
	}
	d := o.Desk(s)
	if err := o.Keep.Check(d); err != nil {
		return err
	}
	q, seeds, err := d.PrepareFollow(o.Ask, o.seeds, o.colours)
	if err != nil {
		return err
	}
	if err := o.addOutputs(); err != nil {
		return err
	}
	var folder *passFolder
	if o.passes.on {
		if folder, err = newPassFolder(&o.Files, o.out, o.Take); err != nil {
			return err
		}
		defer folder.close()
	}
	if err := d.ApplyRater(ctx, q, o.Keep.Rater); err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	info := t.Info()
	if err := o.Keep.SetDay(d, info); err != nil {
		return err
	}
	if err := q.DescribeTake(ctx, t); err != nil {
		return err
	}
	if err := o.Cover.Coverable(seeds, q.Request.Measure.Name, image.Pt(info.Width, info.Height)); err != nil {
		return err
	}
	if err := q.CheckSeeds(t); err != nil {
		return err
	}
	for k := range seeds {
		seeds[k].Again = o.passes.on
	}
	track, part, stopped, err := o.follow(ctx, s, t, seeds, q.Request.Marks.Facing)
	if err != nil {
		return err
	}
	written := false
	defer func() { part.report(s.Err, written) }()
	if stopped != nil && (track == nil || len(track.Frames) == 0) {
		return stopped
	}
	// keep what was followed even if the rest failed or was stopped: go on without the signal
	q.Track = track
	if o.passes.on {
		passes, err := d.TrackPasses(context.WithoutCancel(ctx), t, q, track)
		if err == nil {
			err = reportPasses(context.WithoutCancel(ctx), s, &o.ReadOptions, o.passes.names, folder, t, q, passes)
		}
		if stopped != nil && !desk.Motionless(stopped) {
			return stopped
		}
		return err
	}
	r, err := o.report(context.WithoutCancel(ctx), s, t, q, &written)
	if stopped != nil {
		last := track.Frames[len(track.Frames)-1].Frame
		fmt.Fprintln(s.Err, terminal.OneLine(fmt.Sprintf("%s: what is told here is from frames %d to %d", info.Name, track.Frames[0].Frame, last)))
		if errors.Is(stopped, context.Canceled) {
			stopped = stoppedAt(last, info.Frames)
		}
		if err == nil && !desk.Motionless(stopped) {
			if err := o.print(s.Out, r, q.Request, track); err != nil {
				return err
			}
		}
		return stopped
	}
	if err != nil {
		return err
	}
	if err := o.print(s.Out, r, q.Request, track); err != nil {
		return err
	}
	if err := o.Keep.KeepReading(ctx, d, s.Err, q, r); err != nil {
		return err
	}
	return desk.DamagedTrack(info.Name, track)
}

// follow follows the seeds and writes every frame into the partial table if --csv was given.
// stopped is the error that ended it early; the track holds what was followed until then.
func (o *followOptions) follow(ctx context.Context, s terminal.Streams, t *take.Take, seeds []sticker.Seed, facing string) (track *reading.Track, part *partFile, stopped, err error) {
	if o.csv != "" {
		var names []string
		for _, k := range seeds {
			names = append(names, k.Name)
		}
		if part, err = newPart(o.csv, names); err != nil {
			return nil, nil, nil, err
		}
	}
	progress, done := frameProgress(s, "following")
	track, stopped = desk.Follow(ctx, t, seeds, facing, progress, part.add)
	done()
	if words := desk.LeftOut(seeds, track); words != "" {
		fmt.Fprintln(s.Err, terminal.OneLine(t.Info().Name+": "+words))
	}
	return track, part, stopped, nil
}

// stoppedAt returns the error of work that was stopped.
func stoppedAt(last, frames int) error {
	return fault.Stopped(fmt.Sprintf("stopped at frame %d of %d; what was followed until then is kept", last, frames), "run it again to follow the whole clip")
}

// frameProgress shows frames a second and the time left on a terminal.
func frameProgress(s terminal.Streams, what string) (update func(done, of, found int), clearLine func()) {
	line, start := terminal.NewTally(s.Err), time.Now()
	update = func(done, of, found int) {
		if done > 0 {
			rate := float64(done) / time.Since(start).Seconds()
			line.Say(fmt.Sprintf("%s: frame %d of %d, %d stickers, %.0f frames a second, %.0f s left", what, done, of, found, rate, float64(of-done)/rate))
		}
	}
	return update, line.Wipe
}
