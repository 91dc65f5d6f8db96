package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/take"
)

func newRead(s streams) *cobra.Command {
	var o readOptions
	c := &cobra.Command{
		Use:   "read TAKE --marks FILE (--skill NAME | --measure NAME)",
		Short: "one reading from a take and a marks file",
		Long: `Reads one angle off one frame of a still (JPEG, PNG, WebP, HEIC) or a clip (MP4,
MOV; H.264, HEVC): the angle and its interval, how probable it is that the skill
is met and each deduction band applies, and what would make the reading better.

The interval holds the angle in the frame 95 times in 100 as far as the figures that
are taken for granted are right ('ecart rules --priors'): how well landmarks are
found, how bodies are built, how a camera stands. The program's own study of it
shares these figures, and no athlete was measured by a second instrument.

The marks file says where each landmark was placed:

  {"schema": "ecart/marks/1", "frame": 137, "facing": "right",
   "marks": [{"landmark": "hip", "x": 901.5, "y": 512.0},
             {"landmark": "front-ankle", "x": 1210, "y": 640},
             {"landmark": "back-ankle", "x": 598, "y": 655},
             {"landmark": "shoulder", "x": 910, "y": 330}]}

Pixels are those of the upright picture; the centre of the top-left one is
(0, 0). Frames count from 0. A landmark given several times was placed
repeatedly: the mean is used, and the scatter says how well it was placed.
"facing" is the way the chest faces in the picture. Optional are
  "sd_px": 1.5                 in a mark: how well it was placed
  "found": "sticker"           in a mark, or once for all: how the landmark was
                               found: seen (in the picture), felt (with the
                               fingers, before the take) or sticker (felt, and
                               a sticker put on it); not said counts as seen
  "level": [[x, y], [x, y]]    two points on something level or plumb
  "plane": {"corners": [[x, y], ...], "width_m": 2.4, "height_m": 1.2}
                               a rectangle that stands in the plane of movement:
                               top left, top right, bottom right, bottom left

Landmarks: hip, shoulder, elbow, wrist, knee, ankle, toe, each with left-,
right-, front- or back- before it where the body has two.

` + coverHelp + `

` + wrapped("Measures: "+strings.Join(measureNames(), ", ")+".", helpWidth),
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --camera by-eye --figure leap.png --faceless
  ecart read bridge.heic --marks bridge.marks.json \
      --measure shoulder-flexion --facing left --stature 148cm --json
  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --keep Wren --side left --condition in-skill --state warm`,
		Args: oneArg("take"),
		RunE: func(c *cobra.Command, args []string) error {
			o.take = args[0]
			o.obliqueGiven = c.Flags().Changed("oblique")
			return readRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.marks, "marks", "", "marks `FILE`, the form of which is above, or the CSV of 'ecart follow'")
	f.StringVar(&o.at, "at", "", "the frame `N`, or the moment, such as 2.283s, or, of a track, its peak; else the frame of the marks file")
	addReadingFlags(f, &o)
	f.StringVar(&o.figure, "figure", "", "draw the reading into the PNG `FILE`")
	addCoverFlags(f, &o.cover)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print the reading as JSON (ecart/reading/1), in full precision")
	addKeep(f, &o.keep)
	return c
}

// addReadingFlags adds what every command that reads an angle is told alike.
func addReadingFlags(f *pflag.FlagSet, o *readOptions) {
	f.StringVar(&o.skill, "skill", "", "compare with the skill `NAME` or BOOK/NAME; 'ecart rules' lists them")
	f.StringVar(&o.measure, "measure", "", "the measure `NAME`, with no skill to compare with")
	f.StringVar(&o.leg, "leg", "", "what stands for the leg: `PART` is whole (to the ankle, as is usual) or thigh (to the knee)")
	f.StringVar(&o.side, "side", "", "whose marks count where several sides are marked: `SIDE` is left, right, front or back")
	f.StringVar(&o.facing, "facing", "", "the way the chest faces in the picture: `WAY` is left, right, up, down, camera or away; else that of the marks file")
	f.StringVar(&o.found, "found", "", "how the landmarks were found whose marks do not say it: `HOW` is seen (in the picture), felt (with the fingers, before the take) or sticker (felt, and a sticker put on it); else that of the marks file, of followed stickers sticker, else seen")
	f.BoolVar(&o.beyond, "beyond", false, "the angle is meant, though it is outside what bodies are known to reach")
	f.StringVar(&o.camera, "camera", "", "how the camera was set square to the movement: `HOW` is squared (measured along the floor), by-eye or unknown (default unknown)")
	f.Float64Var(&o.oblique, "oblique", 0, "in place of --camera, how far it may be from square, as a standard deviation in `DEG`")
	f.StringVar(&o.distance, "distance", "", "from the camera to the athlete, a `LENGTH` such as 5m")
	f.StringVar(&o.focal, "focal", "", "the focal length, 35 mm equivalent, a `LENGTH` such as 26mm; else a still's own, where it says")
	f.StringVar(&o.lens, "lens", "", "the lens `FILE` of this camera, made by 'ecart lens'")
	f.StringVar(&o.stature, "stature", "", "how tall the athlete is, a `LENGTH` such as 152cm")
	f.Float64Var(&o.confidence, "confidence", 0.95, "the probability that a decision takes, `P` between 0.5 and 1")
	f.StringVar(&o.priors, "priors", "", "a `FILE` of figures of your own; 'ecart rules --priors' prints those built in")
	addRulesDir(f, &o.rules)
	f.Uint64Var(&o.seed, "seed", 1, "of the random draws, any whole number `N`; the same seed gives the same bytes")
}

func readRun(ctx context.Context, s streams, o readOptions) error {
	if err := o.keep.check(); err != nil {
		return err
	}
	if err := o.cover.needs(o.figure != "", "--figure FILE"); err != nil {
		return err
	}
	q, err := o.request(s.err)
	if err != nil {
		return err
	}
	if err := o.keep.applyRater(ctx, &q, &o.raw, s.err); err != nil {
		return err
	}
	covers, err := o.covers(q)
	if err != nil {
		return err
	}
	o.files.From(o.take, o.marks, o.priors, o.lens, o.keep.journal)
	if err := addPNG(&o.files, o.figure); err != nil {
		return err
	}
	r, f, err := readTakeOnce(ctx, s, &q, o.track, o.take, o.at, o.seen(s.err))
	if err != nil {
		return inFlags(err)
	}
	if o.figure != "" {
		if err := o.cover.inside(f.Bounds().Size()); err != nil {
			return err
		}
		if err := writeFigure(ctx, &o.files, o.figure, large.Of(f), r, covers(r.Take.Frame)...); err != nil {
			return err
		}
	}
	if err := o.keepReading(ctx, s.err, &q, r); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printReading(s.out, r, q)
}

// covers are those of the frame that is read, known before the work: of a track,
// for each of its frames.
func (o *readOptions) covers(q reading.Request) (func(frame int) []figure.Cover, error) {
	if o.track == nil || !o.cover.asked() || len(o.cover.at) > 0 {
		still, err := o.cover.still(q.Marks.Marks, q.Measure.Name)
		return func(int) []figure.Cover { return still }, err
	}
	at, _, err := o.cover.moving(o.track, q.Measure.Name)
	return at, err
}

// readTake opens the take at path and reads the frame asked for; at is as for
// frameAsked, and track what was followed, if anything was. It completes q, so
// that by itself it makes the reading.
func readTake(ctx context.Context, s streams, q *reading.Request, track *reading.Track, path, at string) (*reading.Reading, *take.Frame, error) {
	return readTakeOnce(ctx, s, q, track, path, at, func(take.Info) error { return nil })
}

// readTakeOnce is readTake, which goes on only once seen finds no fault with the
// take.
func readTakeOnce(ctx context.Context, s streams, q *reading.Request, track *reading.Track, path, at string, seen func(take.Info) error) (*reading.Reading, *take.Frame, error) {
	done := s.working(fmt.Sprintf("opening %q", path))
	defer func() { done() }()
	t, err := take.Open(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	defer t.Close()
	info := t.Info()
	done()
	printWarnings(s.err, info)
	if err := seen(info); err != nil {
		return nil, nil, err
	}
	if err := tellTake(ctx, q, t); err != nil {
		return nil, nil, err
	}
	r, err := readMoment(s, t, q, track, at, &done)
	if err != nil {
		return nil, nil, err
	}
	r, f, damage, err := frameOf(ctx, t, q, r)
	if err == nil && damage != "" {
		done()
		fmt.Fprintln(s.err, oneLine(info.Name+": "+damage))
	}
	return r, f, err
}

// frameOf is the frame of a reading. Where it is damaged and the reading does not know it, the
// reading is made again and has it among its cautions; damage then says it as well.
func frameOf(ctx context.Context, t *take.Take, q *reading.Request, r *reading.Reading) (_ *reading.Reading, f *take.Frame, damage string, err error) {
	n := r.Take.Frame
	if f, err = t.Frame(ctx, n); err != nil || !f.Damaged {
		return r, f, "", err
	}
	if len(q.Take.Damaged) == 0 {
		q.Take.Damaged = [][2]int{{n, n}}
		again, err := reading.Read(*q)
		if err != nil {
			return nil, nil, "", err
		}
		again.Peak, r = r.Peak, again
	}
	return r, f, fmt.Sprintf("the file is damaged before frame %d: parts of its picture may be made up", n), nil
}

// tellTake tells the request what the take says of itself. It waits for the hash of its file; the error is that
// of ctx.
func tellTake(ctx context.Context, q *reading.Request, t *take.Take) error {
	sum, err := t.SHA256(ctx)
	if err != nil {
		return err
	}
	info := t.Info()
	q.Still = info.Still
	if f := info.FocalLength35; q.FocalMm == 0 && f >= 8 && f <= 1000 { // a still that says something else says nothing
		q.FocalMm = f
	}
	q.Take = reading.Take{Name: info.Name, SHA256: sum, WidthPx: info.Width, HeightPx: info.Height}
	return nil
}

// readMoment reads the frame asked for, or the peak of a track. done is called
// before anything is printed, and replaced by that of the work that follows.
func readMoment(s streams, t *take.Take, q *reading.Request, track *reading.Track, at string, done *func()) (*reading.Reading, error) {
	info := t.Info()
	if at == atPeak {
		if track == nil {
			return nil, &inputError{fmt.Sprintf("--at peak asks for the peak of one frame's marks in %q", info.Name), "give --marks the CSV that 'ecart follow --csv' wrote"}
		}
		if last := track.Frames[len(track.Frames)-1].Frame; last >= info.Frames {
			return nil, &inputError{fmt.Sprintf("the track has a frame %d, and %q has %d frames", last, info.Name, info.Frames), "give the track that was followed through this clip"}
		}
		*done = s.working(fmt.Sprintf("reading the peak of %q", info.Name))
		return readPeak(q, track, readout(info.Orientation))
	}
	if at == "" {
		if err := frameNamed(q.Marks, info); err != nil {
			return nil, err
		}
	}
	n, note, err := frameAsked(t, at, q.Marks.Frame)
	if err != nil {
		return nil, err
	}
	if track != nil {
		if err := marksOfTrack(q, track, n); err != nil {
			return nil, err
		}
	} else if note != "" && !q.Marks.NoFrame {
		fmt.Fprintln(s.err, oneLine(note))
	}
	*done = s.working(fmt.Sprintf("reading frame %d of %q", n, info.Name))
	q.Take.Frame, q.Take.TimeS = n, t.Time(n).Seconds()
	if track != nil {
		q.Moment = reading.MissedBeside(*q, track, n)
	}
	return reading.Read(*q)
}

// readPeak reads the peak of a track and leaves in q what makes the reading again
// without the track.
func readPeak(q *reading.Request, track *reading.Track, readout [2]float64) (*reading.Reading, error) {
	at, p, err := reading.PeakRequest(*q, track, readout)
	if err != nil {
		return nil, err
	}
	*q = at
	r, err := reading.Read(at)
	if err != nil {
		return nil, err
	}
	r.Peak = &p
	return r, nil
}

// marksOfTrack takes the marks of a frame out of a track.
func marksOfTrack(q *reading.Request, track *reading.Track, n int) error {
	i, ok := track.At(n)
	if !ok {
		return &inputError{fmt.Sprintf("the track has no frame %d", n), fmt.Sprintf("it has frames %d to %d; --at peak reads its peak", track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame)}
	}
	m, ok := track.MarksAt(i)
	if !ok {
		return &inputError{fmt.Sprintf("a sticker is lost in frame %d of the track", n), "read another frame, or --at peak"}
	}
	q.Marks = m
	return nil
}

// inFlags words what a measure wants to be told as flags.
func inFlags(err error) error {
	var o *geometry.OptionError
	if !errors.As(err, &o) {
		return err
	}
	hint := strings.Replace(o.Hint(), "give "+o.Option+" as ", "give --"+o.Option+" as ", 1)
	if o.Option == "facing" {
		hint += ", or \"facing\" in the marks file"
	}
	return &inputError{o.Error(), hint}
}

func writeFigure(ctx context.Context, files *output.Set, path string, img image.Image, r *reading.Reading, covers ...figure.Cover) error {
	drawn, err := figure.Frame(img, r, figure.Options{Covers: covers})
	if err != nil {
		return err
	}
	return writePNG(ctx, files, path, drawn)
}

func printJSON(w io.Writer, v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(output.EscapeJSON(b.Bytes()))
	return err
}

// printWarnings writes what a take says of itself, a line each.
func printWarnings(w io.Writer, info take.Info) {
	for _, warning := range info.Warnings {
		fmt.Fprintln(w, oneLine(info.Name+": "+warning))
	}
}
