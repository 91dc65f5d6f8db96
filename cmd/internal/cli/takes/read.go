// Package takes has the commands of one take: demo, read, follow, propose and lens.
package takes

import (
	"context"
	"fmt"
	"image"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

func NewRead(s terminal.Streams) *cobra.Command {
	var o flags.ReadOptions
	around := false
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

A damaged frame is named.

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
  "proposed": true             in a mark: it comes from 'ecart propose', and nobody
                               has looked at it; the reading is no measurement
  "confirmed": "each"          in a mark: a person confirmed the proposal, each
                               by itself or all at once
  "level": [[x, y], [x, y]]    two points on something level or plumb
  "plane": {"corners": [[x, y], ...], "width_m": 2.4, "height_m": 1.2}
                               a rectangle that stands in the plane of movement:
                               top left, top right, bottom right, bottom left
  "widest": {...}              as 'ecart propose' writes it: where the clip is widest
                               and how fast the angle falls there

Landmarks: hip, shoulder, elbow, wrist, knee, ankle, toe, ribs (the lowest at
the side), each with left-, right-, front- or back- before it where the body has
two. More marks show more: of a split the knees (which is bent) and the other
hip (front-hip or back-hip: whether the hips are open), of a shoulder the ribs
(how far the back arches), and a wrist (how long arm, trunk and leg are).

` + flags.CoverHelp + `

` + terminal.Wrapped("Measures: "+strings.Join(desk.MeasureNames(), ", ")+".", terminal.HelpWidth),
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --camera by-eye --figure leap.png --faceless
  ecart read bridge.heic --marks bridge.marks.json \
      --measure shoulder-flexion --facing left --stature 148cm --json
  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --keep Wren --side left --condition in-skill --state warm`,
		Args: flags.OneArg("take"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Take = args[0]
			return readRun(c.Context(), s, o, around)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.Marks, "marks", "", "marks `FILE`, the form of which is above, or the CSV of 'ecart follow'")
	f.BoolVar(&o.Confirm, "confirm", false, "the proposed marks were looked at and are right: they are marks from here on ('ecart propose')")
	f.StringVar(&o.At, "at", "", "the frame `N`, or the moment, such as 2.283s, or, of a track, its peak; else the frame of the marks file")
	f.BoolVar(&around, "around", false, "have the pose network look at half a second on both sides of the frame, so that the reading says what the frame missed of the widest moment ('make pose'; some ten seconds)")
	flags.AddReading(f, &o)
	f.StringVar(&o.Figure, "figure", "", "draw the reading into the PNG `FILE`")
	flags.AddCover(f, &o.Cover)
	flags.AddForce(f, &o.Files)
	f.BoolVar(&o.JSON, "json", false, "print the reading as JSON (ecart/reading/1), in full precision")
	flags.AddKeep(f, &o.Keep)
	return c
}

func readRun(ctx context.Context, s terminal.Streams, o flags.ReadOptions, around bool) error {
	d := o.Desk(s)
	if err := o.Keep.Check(d); err != nil {
		return err
	}
	if err := o.Cover.Needs(o.Figure != "", "--figure FILE"); err != nil {
		return err
	}
	q, err := d.Prepare(o.Ask)
	if err != nil {
		return err
	}
	if err := d.ApplyRater(ctx, q, o.Keep.Rater); err != nil {
		return err
	}
	covers, err := o.Cover.Frames(q)
	if err != nil {
		return err
	}
	o.Files.From(o.Take, o.Marks, o.Priors, o.Lens, o.Keep.Journal)
	if err := flags.AddPNG(&o.Files, o.Figure); err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	if err := o.Keep.SetDay(d, t.Info()); err != nil {
		return err
	}
	if around {
		if err := lookAround(ctx, s, d, t, q); err != nil {
			return err
		}
	}
	r, f, err := readTake(ctx, s, d, t, q)
	if err != nil {
		return err
	}
	if err := drawReading(ctx, &o, f, r, covers); err != nil {
		return err
	}
	if err := o.Keep.KeepReading(ctx, d, s.Err, q, r); err != nil {
		return err
	}
	if o.JSON {
		return terminal.PrintJSON(s.Out, r)
	}
	return terminal.PrintReading(s.Out, r, q.Request)
}

// openTake opens a take and prints its warnings.
func openTake(ctx context.Context, s terminal.Streams, d *desk.Desk, path string) (*take.Take, error) {
	t, err := d.Open(ctx, path)
	if err == nil {
		terminal.PrintWarnings(s.Err, t.Info())
	}
	return t, err
}

// readTake reads the frame or the peak asked for and prints damage there.
func readTake(ctx context.Context, s terminal.Streams, d *desk.Desk, t *take.Take, q *desk.Asked) (*reading.Reading, *take.Frame, error) {
	result, err := d.Read(ctx, t, q)
	if err != nil {
		return nil, nil, err
	}
	if result.Damage != "" {
		fmt.Fprintln(s.Err, terminal.OneLine(t.Info().Name+": "+result.Damage))
	}
	return result.Reading, result.Frame, nil
}

// drawReading draws a reading on its frame, with the head covered as asked, if a figure was asked for.
func drawReading(ctx context.Context, o *flags.ReadOptions, f *take.Frame, r *reading.Reading, covers func(frame int) []figure.Cover) error {
	if o.Figure == "" {
		return nil
	}
	if err := o.Cover.Inside(f.Bounds().Size()); err != nil {
		return err
	}
	return writeFigure(ctx, &o.Files, o.Figure, large.Of(f), r, covers(r.Take.Frame)...)
}

func writeFigure(ctx context.Context, files *output.Set, path string, img image.Image, r *reading.Reading, covers ...figure.Cover) error {
	drawn, err := figure.Frame(img, r, figure.Options{Covers: covers})
	if err != nil {
		return err
	}
	return flags.WritePNG(ctx, files, path, drawn)
}
