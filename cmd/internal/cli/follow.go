package cli

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// followOptions are what `ecart follow` was asked.
type followOptions struct {
	readOptions
	seeds, colours   string
	points           []string
	csv, curve, clip string
}

func newFollow(s streams) *cobra.Command {
	var o followOptions
	c := &cobra.Command{
		Use:   "follow CLIP ((--seeds FILE | --colours LIST) (--skill NAME | --measure NAME) | --points NAME=X,Y@FRAME)",
		Short: "follow stickers through a clip: the angle over time, the moment it peaks, or their paths",
		Long: `Follows coloured stickers through a clip, works out the angle in every frame,
and reads it at its peak, between the frames. The widest split is not at the top
of the flight, so the moment is taken from the angle.

Seeds say which sticker is which: a marks file with one point on each sticker in
one frame, or their colours. Stickers that cannot be seen are lost, not guessed:
their marks are predicted for a tenth of a second, then they stop. A peak never
rests on a frame beside such a gap, nor on a mark that jumps.

--points follows any number of points, one is enough, and reads no angle: each
has a name of its own, a place on it in pixels, and the frame it was looked up
in (0 where none is given), or a colour in place of both. --csv, --figure and
--clip then hold their paths.

While it works, the table of --csv leap.csv grows in leap.part.csv, which
'ecart read' opens too; should the work be ended, it is still there.

` + coverHelp + ` In a
clip the cover moves with the marks, and grows where they are lost; circles
that were given stay where they are, beside it.

Ctrl-C stops, and keeps what is done.`,
		Example: `  ecart follow leap.mp4 --seeds leap.marks.json --skill split-leap \
      --camera by-eye --curve curve.png --csv leap.csv
  ecart follow leap.mp4 --colours hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff \
      --measure hip-split --clip annotated.mp4 --faceless
  ecart follow swing.mp4 --points hand=812,344@20 --points bar=#d01ef0 \
      --csv paths.csv --figure paths.png`,
		Args: oneArg("clip"),
		RunE: func(c *cobra.Command, args []string) error {
			o.take = args[0]
			o.obliqueGiven = c.Flags().Changed("oblique")
			if len(o.points) > 0 {
				if err := pointsAlone(c); err != nil {
					return err
				}
				return pointsRun(c.Context(), s, o)
			}
			return followRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.seeds, "seeds", "", "marks `FILE` with one point on each sticker in one frame")
	f.StringVar(&o.colours, "colours", "", "in place of --seeds, the stickers' colours: `LIST` is such as hip=#d01ef0,front-ankle=#28dc28")
	f.StringArrayVar(&o.points, "points", nil, "follow a point and read no angle: `POINT` is such as hand=812,344@20 or hand=#d01ef0; may be given again")
	addReadingFlags(f, &o.readOptions)
	f.StringVar(&o.csv, "csv", "", "write every frame's marks and angle into the CSV `FILE`, which 'ecart read --marks FILE --at peak' reads")
	f.StringVar(&o.curve, "curve", "", "draw the angle over time into the PNG `FILE`")
	f.StringVar(&o.figure, "figure", "", "draw the reading at the peak, or the paths, into the PNG `FILE`")
	f.StringVar(&o.clip, "clip", "", "write the annotated clip into the MP4 `FILE`")
	addCoverFlags(f, &o.cover)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print the reading at the peak as JSON (ecart/reading/1), in full precision")
	addKeep(f, &o.keep)
	return c
}

func followRun(ctx context.Context, s streams, o followOptions) error {
	if err := o.cover.needs(o.figure != "" || o.clip != "", "--figure FILE or --clip FILE"); err != nil {
		return err
	}
	if err := o.keep.check(); err != nil {
		return err
	}
	q, seeds, err := o.prepare(s.err)
	if err != nil {
		return err
	}
	if err := o.keep.applyRater(ctx, &q, &o.raw, s.err); err != nil {
		return err
	}
	t, err := take.Open(ctx, o.take)
	if err != nil {
		return err
	}
	defer t.Close()
	info := t.Info()
	printWarnings(s.err, info)
	if err := o.seen(s.err)(info); err != nil {
		return err
	}
	if err := tellTake(ctx, &q, t); err != nil {
		return err
	}
	if err := o.coverable(seeds, q.Measure.Name, image.Pt(info.Width, info.Height)); err != nil {
		return err
	}
	if err := seedsIn(t, q.Marks); err != nil {
		return err
	}
	track, part, stopped, err := o.follow(ctx, s, t, seeds, q.Marks.Facing)
	if err != nil {
		return err
	}
	written := false
	defer func() { part.tell(s.err, written) }()
	if stopped != nil && (track == nil || len(track.Frames) == 0) {
		return stopped
	}
	// what was followed is worth having even where the rest failed or was
	// stopped, so the work goes on without the signal
	r, err := o.report(context.WithoutCancel(ctx), s, t, q, track, &written)
	if stopped != nil {
		last := track.Frames[len(track.Frames)-1].Frame
		fmt.Fprintln(s.err, oneLine(fmt.Sprintf("%s: what is told here is from frames %d to %d", info.Name, track.Frames[0].Frame, last)))
		if errors.Is(stopped, context.Canceled) {
			stopped = stoppedAt(last, info.Frames)
		}
		if err == nil && !motionless(stopped) {
			if err := o.print(s.out, r, q, track); err != nil {
				return err
			}
		}
		return stopped
	}
	if err != nil {
		return inFlags(err)
	}
	if err := o.print(s.out, r, q, track); err != nil {
		return err
	}
	if err := o.keepPeak(ctx, s.err, q, r, track, readout(info.Orientation)); err != nil {
		return err
	}
	return damagedTrack(info.Name, track)
}

// damagedTrack is the failure of a clip that was followed and is damaged, nil where it is not.
func damagedTrack(name string, t *reading.Track) error {
	d := reading.FrameRuns(t.Damaged())
	if d == "" {
		return nil
	}
	return &failure{fact: fmt.Sprintf("%q is damaged at %s: what was read is from the other frames", name, d), hint: "copy the clip from the camera again and follow it once more"}
}

func (o *followOptions) print(w io.Writer, r *reading.Reading, q reading.Request, track *reading.Track) error {
	if o.json {
		return printJSON(w, r)
	}
	return printFollowed(w, r, q, track)
}

// prepare reads all that is needed before the clip is opened.
func (o *followOptions) prepare(warn io.Writer) (reading.Request, []sticker.Seed, error) {
	if (o.seeds == "") == (o.colours == "") {
		return reading.Request{}, nil, &inputError{fmt.Sprintf("no stickers were named for %q", o.take), "give --seeds FILE with one point on each sticker, or --colours such as hip=#d01ef0,front-ankle=#28dc28; --points follows any point and reads no angle"}
	}
	var from []sticker.Seed
	var err error
	if o.colours != "" {
		if from, err = parseColours(o.colours); err != nil {
			return reading.Request{}, nil, err
		}
	}
	o.marks = o.seeds
	var none *reading.Marks
	if from != nil {
		none = &reading.Marks{Schema: reading.MarksSchema}
	}
	q, err := o.requestWith(warn, none)
	if err != nil {
		return q, nil, err
	}
	if from == nil {
		from = seedsOf(q.Marks)
	}
	if err := served(&q, from); err != nil {
		return q, nil, err
	}
	return q, from, o.addOutputs()
}

// served says whether the seeds are on what the measure needs.
func served(q *reading.Request, seeds []sticker.Seed) error {
	var names []string
	for _, s := range seeds {
		names = append(names, s.Name)
	}
	return inFlags(q.Measure.Serves(names, q.Options))
}

// addOutputs says early that a file cannot be written.
func (o *followOptions) addOutputs() error {
	for _, f := range []struct{ flag, path, ending string }{{"csv", o.csv, ".csv"}, {"clip", o.clip, ".mp4"}} {
		if f.path != "" && !strings.EqualFold(filepath.Ext(f.path), f.ending) {
			return &inputError{fmt.Sprintf("%q does not end in %s", f.path, f.ending), fmt.Sprintf("give --%s a name such as leap%s", f.flag, f.ending)}
		}
	}
	o.files.From(o.take, o.seeds, o.priors, o.lens, o.keep.journal)
	for _, path := range []string{o.figure, o.curve} {
		if err := addPNG(&o.files, path); err != nil {
			return err
		}
	}
	if err := o.files.Add(o.csv, trackForm); err != nil {
		return err
	}
	return o.files.Add(o.clip, output.Clip)
}

// follow follows the seeds, and keeps what comes in the part of the table that was asked for. stopped is
// what ended it early; the track holds what was followed until then.
func (o *followOptions) follow(ctx context.Context, s streams, t *take.Take, seeds []sticker.Seed, facing string) (track *reading.Track, part *partFile, stopped, err error) {
	if o.csv != "" {
		var names []string
		for _, k := range seeds {
			names = append(names, k.Name)
		}
		if part, err = newPart(o.csv, names); err != nil {
			return nil, nil, nil, err
		}
	}
	track, stopped = follow(ctx, s, t, seeds, facing, part.add)
	return track, part, seenOnce(stopped, track), nil
}

// stoppedAt is work that somebody stopped.
func stoppedAt(last, frames int) error {
	return &halted{fact: fmt.Sprintf("stopped at frame %d of %d; what was followed until then is kept", last, frames), hint: "run it again to follow the whole clip"}
}

// motionless reports whether the clip showed no movement.
func motionless(err error) bool {
	var e *sticker.Error
	return errors.As(err, &e) && e.Problem == sticker.Motionless
}

// seenOnce puts in place of "nothing moves" that a mark was seen in one frame alone, where that is so.
func seenOnce(err error, track *reading.Track) error {
	if !motionless(err) {
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
			return &inputError{fmt.Sprintf("%q was seen in frame %d alone: nothing like it is near there in the frames before and after", name, at),
				fmt.Sprintf("look at frames %d and %d: point at the sticker where it is sharp and whole", max(0, at-1), at+1)}
		}
	}
	return err
}

// coverable says early that a head could not be covered: of stickers none of which
// is on a shoulder, or circles outside the picture.
func (o *followOptions) coverable(seeds []sticker.Seed, measure string, size image.Point) error {
	if !o.cover.asked() {
		return nil
	}
	placed, err := o.cover.placed()
	if err != nil {
		return err
	}
	if len(placed) > 0 {
		return o.cover.inside(size)
	}
	var marks []reading.Placement
	for i, s := range seeds { // where they are plays no part here, what they are on does
		marks = append(marks, reading.Placement{Landmark: s.Name, X: float64(i * i), Y: float64(7 * i)})
	}
	_, err = figure.HeadCover(marks, measure)
	return err
}

// report reads the peak and writes the files that were asked for: the track
// first, since it is what cannot be had again in a moment.
func (o *followOptions) report(ctx context.Context, s streams, t *take.Take, q reading.Request, track *reading.Track, written *bool) (*reading.Reading, error) {
	r, p, err := reading.ReadPeak(q, track, readout(t.Info().Orientation))
	covers := func(int) []figure.Cover { return nil }
	if o.cover.asked() && (o.clip != "" || o.figure != "") {
		at, told, err := o.cover.moving(track, q.Measure.Name)
		if err != nil {
			return nil, err
		}
		if !told && o.clip != "" {
			fmt.Fprintln(s.err, oneLine(t.Info().Name+": no frame tells where the head is; the circles that were given stay where they are in all of the clip"))
		}
		covers = at
	}
	if o.csv != "" {
		data, err := track.CSV()
		if err != nil {
			return nil, err
		}
		if err := o.files.Write(ctx, o.csv, trackForm, writes(data)); err != nil {
			return nil, err
		}
		*written = true
	}
	if o.curve != "" {
		c := figure.Curve{Title: q.Measure.Title, Who: t.Info().Name, Track: track, Jumps: track.Jumps()}
		if o.cover.asked() { // the take's name may be the athlete's
			c.Who = ""
		}
		if err == nil {
			c.Peak, c.Asked = &p, r.Skill
		} else {
			c.Why = err.Error()
		}
		img, err := figure.DrawCurve(c, figure.Options{})
		if err != nil {
			return nil, err
		}
		if err := writePNG(ctx, &o.files, o.curve, img); err != nil {
			return nil, err
		}
	}
	if o.clip != "" {
		progress, done := s.frames("drawing")
		err := o.writeClip(func(out *os.File) error {
			return annotate(ctx, out, o.clip, t, q, track, covers, progress)
		})
		done()
		if err != nil {
			return nil, err
		}
	}
	if err != nil {
		return nil, err
	}
	if o.figure != "" {
		f, err := t.Frame(ctx, p.Frame)
		if err != nil {
			return nil, err
		}
		if err := writeFigure(ctx, &o.files, o.figure, large.Of(f), r, covers(p.Frame)...); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// readout is the direction in the upright picture in which the sensor's rows
// are read, by the orientation as stored (EXIF numbering).
func readout(orientation int) [2]float64 {
	switch orientation {
	case 3, 4:
		return [2]float64{0, -1}
	case 5, 8:
		return [2]float64{1, 0}
	case 6, 7:
		return [2]float64{-1, 0}
	}
	return [2]float64{0, 1}
}
