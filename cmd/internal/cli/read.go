package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
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

` + wrapped("Measures: "+strings.Join(desk.MeasureNames(), ", ")+".", helpWidth),
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --camera by-eye --figure leap.png --faceless
  ecart read bridge.heic --marks bridge.marks.json \
      --measure shoulder-flexion --facing left --stature 148cm --json
  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --keep Wren --side left --condition in-skill --state warm`,
		Args: oneArg("take"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Take = args[0]
			o.ObliqueGiven = c.Flags().Changed("oblique")
			return readRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.Marks, "marks", "", "marks `FILE`, the form of which is above, or the CSV of 'ecart follow'")
	f.StringVar(&o.At, "at", "", "the frame `N`, or the moment, such as 2.283s, or, of a track, its peak; else the frame of the marks file")
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
	f.StringVar(&o.Skill, "skill", "", "compare with the skill `NAME` or BOOK/NAME; 'ecart rules' lists them")
	f.StringVar(&o.Measure, "measure", "", "the measure `NAME`, with no skill to compare with")
	f.StringVar(&o.Leg, "leg", "", "what stands for the leg: `PART` is whole (to the ankle, as is usual) or thigh (to the knee)")
	f.StringVar(&o.Side, "side", "", "whose marks count where several sides are marked: `SIDE` is left, right, front or back")
	f.StringVar(&o.Facing, "facing", "", "the way the chest faces in the picture: `WAY` is left, right, up, down, camera or away; else that of the marks file")
	f.StringVar(&o.Found, "found", "", "how the landmarks were found whose marks do not say it: `HOW` is seen (in the picture), felt (with the fingers, before the take) or sticker (felt, and a sticker put on it); else that of the marks file, of followed stickers sticker, else seen")
	f.BoolVar(&o.Beyond, "beyond", false, "the angle is meant, though it is outside what bodies are known to reach")
	f.StringVar(&o.Camera, "camera", "", "how the camera was set square to the movement: `HOW` is squared (measured along the floor), by-eye or unknown (default unknown)")
	f.Float64Var(&o.Oblique, "oblique", 0, "in place of --camera, how far it may be from square, as a standard deviation in `DEG`")
	f.StringVar(&o.Distance, "distance", "", "from the camera to the athlete, a `LENGTH` such as 5m")
	f.StringVar(&o.Focal, "focal", "", "the focal length, 35 mm equivalent, a `LENGTH` such as 26mm; else a still's own, where it says")
	f.StringVar(&o.Lens, "lens", "", "the lens `FILE` of this camera, made by 'ecart lens'")
	f.StringVar(&o.Stature, "stature", "", "how tall the athlete is, a `LENGTH` such as 152cm")
	f.Float64Var(&o.Confidence, "confidence", 0.95, "the probability that a decision takes, `P` between 0.5 and 1")
	f.StringVar(&o.Priors, "priors", "", "a `FILE` of figures of your own; 'ecart rules --priors' prints those built in")
	addRulesDir(f, &o.rules)
	f.Uint64Var(&o.Seed, "seed", 1, "of the random draws, any whole number `N`; the same seed gives the same bytes")
}

// readOptions are what a reading was asked with, as typed.
type readOptions struct {
	desk.Ask
	files  output.Set // what is written
	rules  string
	figure string
	cover  desk.Cover
	json   bool
	keep   keepOptions
}

// desk is the one that these options ask for.
func (o *readOptions) desk(s streams) *desk.Desk { return s.desk(o.keep.journal, o.rules) }

func readRun(ctx context.Context, s streams, o readOptions) error {
	d := o.desk(s)
	if err := o.keep.check(d); err != nil {
		return err
	}
	if err := o.cover.Needs(o.figure != "", "--figure FILE"); err != nil {
		return err
	}
	q, err := d.Prepare(o.Ask)
	if err != nil {
		return err
	}
	if err := d.ApplyRater(ctx, q, o.keep.Rater); err != nil {
		return err
	}
	covers, err := o.cover.Frames(q)
	if err != nil {
		return err
	}
	o.files.From(o.Take, o.Marks, o.Priors, o.Lens, o.keep.journal)
	if err := addPNG(&o.files, o.figure); err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	if err := o.keep.setDay(d, t.Info()); err != nil {
		return err
	}
	r, f, err := readTake(ctx, s, d, t, q)
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := o.cover.Inside(f.Bounds().Size()); err != nil {
			return err
		}
		if err := writeFigure(ctx, &o.files, o.figure, large.Of(f), r, covers(r.Take.Frame)...); err != nil {
			return err
		}
	}
	if err := o.keep.keepReading(ctx, d, s.err, q, r); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printReading(s.out, r, q.Request)
}

// openTake opens a take and prints what it says of itself.
func openTake(ctx context.Context, s streams, d *desk.Desk, path string) (*take.Take, error) {
	t, err := d.Open(ctx, path)
	if err == nil {
		printWarnings(s.err, t.Info())
	}
	return t, err
}

// readTake reads what was asked for, and says where the take is damaged there.
func readTake(ctx context.Context, s streams, d *desk.Desk, t *take.Take, q *desk.Asked) (*reading.Reading, *take.Frame, error) {
	result, err := d.Read(ctx, t, q)
	if err != nil {
		return nil, nil, err
	}
	if result.Damage != "" {
		fmt.Fprintln(s.err, oneLine(t.Info().Name+": "+result.Damage))
	}
	return result.Reading, result.Frame, nil
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
