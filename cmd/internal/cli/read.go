package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/vision/take"
)

// readOptions are what `ecart read` was asked.
type readOptions struct {
	take, marks    string
	skill, measure string
	at             string
	leg, facing    string
	side           string
	camera         string
	oblique        float64
	distance       string
	stature        string
	focal, lens    string
	confidence     float64
	priors, rules  string
	figure         string
	json           bool
	seed           uint64
}

func newRead(s streams) *cobra.Command {
	var o readOptions
	c := &cobra.Command{
		Use:   "read TAKE --marks FILE (--skill NAME | --measure NAME)",
		Short: "one reading from a take and a marks file",
		Long: `Reads one angle off one frame of a still or a clip.

The marks file says where each landmark was placed (schema ecart/marks/1):

  {"schema": "ecart/marks/1", "frame": 137, "facing": "right",
   "marks": [{"landmark": "hip", "x": 901.5, "y": 512.0},
             {"landmark": "front-ankle", "x": 1210, "y": 640},
             {"landmark": "back-ankle", "x": 598, "y": 655},
             {"landmark": "shoulder", "x": 910, "y": 330}]}

Pixels are those of the upright picture, the centre of the top-left one being
(0, 0). A landmark given several times was placed repeatedly: the mean is used,
and the scatter says how well it was placed. "facing" is the way the chest faces
in the picture.

Measures: ` + strings.Join(measureNames(), ", ") + `.`,
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap --camera by-eye --figure leap.png
  ecart read bridge.heic --marks bridge.marks.json --measure shoulder-flexion --facing left --stature 148cm --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			o.take = args[0]
			return readRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.marks, "marks", "", "marks `FILE` (ecart/marks/1)")
	f.StringVar(&o.skill, "skill", "", "compare with the skill `NAME` or BOOK/NAME; 'ecart rules' lists them")
	f.StringVar(&o.measure, "measure", "", "the measure `NAME`, with no skill")
	f.StringVar(&o.at, "at", "", "the frame `N`, or the moment 2.283s; else the marks file's frame")
	f.StringVar(&o.leg, "leg", "", "what stands for the leg: whole or thigh (default whole)")
	f.StringVar(&o.side, "side", "", "whose marks, where several sides are marked: left, right, front or back")
	f.StringVar(&o.facing, "facing", "", "the way the chest faces in the picture: left, right, up, down, camera or away")
	f.StringVar(&o.camera, "camera", "", "how the camera stood: squared, by-eye or unknown (default unknown)")
	f.Float64Var(&o.oblique, "oblique", 0, "how far the camera may be from square, as a standard deviation in `DEG`, in place of --camera")
	f.StringVar(&o.distance, "distance", "", "from the camera to the athlete, such as `5m`")
	f.StringVar(&o.focal, "focal", "", "the focal length, 35 mm equivalent, such as `26mm` (a still's own, where it says)")
	f.StringVar(&o.lens, "lens", "", "the lens `FILE` of this camera, made by 'ecart lens'")
	f.StringVar(&o.stature, "stature", "", "how tall the athlete is, such as `152cm`")
	f.Float64Var(&o.confidence, "confidence", 0.95, "the probability a decision takes")
	f.StringVar(&o.priors, "priors", "", "a `FILE` of figures of your own; 'ecart rules --priors' prints the built-in ones")
	addRulesDir(f, &o.rules)
	f.StringVar(&o.figure, "figure", "", "draw the reading into this PNG `FILE`")
	f.BoolVar(&o.json, "json", false, "print the reading as JSON (ecart/reading/1)")
	f.Uint64Var(&o.seed, "seed", 1, "of the random draws; the same seed gives the same bytes")
	return c
}

func measureNames() []string {
	var names []string
	for _, m := range geometry.Measures() {
		names = append(names, m.Name)
	}
	return names
}

func readRun(ctx context.Context, s streams, o readOptions) error {
	q, err := o.request(s.err)
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := writable(o.figure); err != nil {
			return err
		}
	}
	t, err := take.Open(ctx, o.take)
	if err != nil {
		return err
	}
	defer t.Close()
	r, img, err := readTake(ctx, s.err, t, q, o.at)
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := writeFigure(o.figure, img, r); err != nil {
			return err
		}
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printReading(s.out, r, q)
}

// request is the part of the reading that needs no take.
func (o *readOptions) request(warn io.Writer) (reading.Request, error) {
	q := reading.Request{Camera: o.camera, ObliqueDeg: o.oblique, Confidence: o.confidence, Seed: o.seed,
		Options: geometry.Options{Leg: geometry.Leg(o.leg), Side: geometry.Side(o.side), Facing: geometry.Facing(o.facing)}}
	if o.camera != "" && o.oblique != 0 {
		return q, &inputError{"--camera and --oblique say the same thing twice", "give one of them"}
	}
	if o.marks == "" {
		return q, &inputError{fmt.Sprintf("no marks for %q", o.take), "give a marks file with --marks FILE; 'ecart read --help' shows its form"}
	}
	data, err := readSmall("marks file", o.marks)
	if err != nil {
		return q, err
	}
	if q.Marks, err = reading.ParseMarks(o.marks, data); err != nil {
		return q, err
	}
	if o.priors != "" {
		data, err := readSmall("priors file", o.priors)
		if err != nil {
			return q, err
		}
		if q.Priors, err = reading.ParsePriors(o.priors, data); err != nil {
			return q, err
		}
	}
	if q.StatureMm, err = length("stature", o.stature, 1); err != nil {
		return q, err
	}
	if q.DistanceM, err = length("distance", o.distance, 1000); err != nil {
		return q, err
	}
	if q.FocalMm, err = length("focal length", o.focal, 1); err != nil {
		return q, err
	}
	if o.lens != "" {
		data, err := readSmall("lens file", o.lens)
		if err != nil {
			return q, err
		}
		if q.Lens, err = camera.ParseLens(o.lens, data); err != nil {
			return q, err
		}
	}
	return q, o.target(&q, warn)
}

// target finds the skill and the measure.
func (o *readOptions) target(q *reading.Request, warn io.Writer) error {
	if o.skill == "" && o.measure == "" {
		return &inputError{"neither a skill nor a measure was named", "give --skill NAME ('ecart rules' lists them) or --measure NAME (" + strings.Join(measureNames(), ", ") + ")"}
	}
	name := o.measure
	if o.skill != "" {
		lib, err := library(o.rules, warn)
		if err != nil {
			return err
		}
		skill, err := lib.Find(o.skill)
		if err != nil {
			return err
		}
		q.Skill = &skill
		if name == "" {
			name = skill.Measure
		}
	}
	m, ok := geometry.Lookup(name)
	if !ok {
		hint := "known are " + strings.Join(measureNames(), ", ")
		if near := geometry.Nearest(name, measureNames()); near != "" {
			hint = fmt.Sprintf("did you mean %q? %s", near, hint)
		}
		return &inputError{fmt.Sprintf("there is no measure %q", name), hint}
	}
	q.Measure = m
	return nil
}

// readTake reads the frame asked for.
func readTake(ctx context.Context, warn io.Writer, t *take.Take, q reading.Request, at string) (*reading.Reading, image.Image, error) {
	info := t.Info()
	for _, w := range info.Warnings {
		fmt.Fprintf(warn, "%s: %s\n", info.Name, w)
	}
	n, note, err := frameAsked(t, at, q.Marks.Frame)
	if err != nil {
		return nil, nil, err
	}
	if note != "" {
		fmt.Fprintln(warn, note)
	}
	q.Still = info.Still
	if f := info.FocalLength35; q.FocalMm == 0 && f >= 8 && f <= 1000 { // a still that says something else says nothing
		q.FocalMm = f
	}
	q.Take = reading.Take{Name: info.Name, SHA256: info.SHA256, Frame: n, TimeS: t.Time(n).Seconds(), WidthPx: info.Width, HeightPx: info.Height}
	r, err := reading.Read(q)
	if err != nil {
		return nil, nil, err
	}
	f, err := t.Frame(ctx, n)
	if err != nil {
		return nil, nil, err
	}
	return r, f.Image(), nil
}

// frameAsked is the frame that --at names, else the marks file's.
func frameAsked(t *take.Take, at string, marked int) (n int, note string, err error) {
	info := t.Info()
	last := t.Time(info.Frames - 1)
	past := func(what string) error {
		fact := fmt.Sprintf("%s is past the end of %q: it has %d frames, 0 to %d, and lasts %.3f s", what, info.Name, info.Frames, info.Frames-1, info.Duration.Seconds())
		if info.Still {
			fact = fmt.Sprintf("%s is not in %q: it is a still, whose one frame is 0", what, info.Name)
		}
		return &inputError{fact, fmt.Sprintf("name a frame up to %d or a moment up to %.3fs", info.Frames-1, last.Seconds())}
	}
	if at == "" {
		if marked < 0 || marked >= info.Frames {
			return 0, "", past(fmt.Sprintf("frame %d of the marks file", marked))
		}
		return marked, "", nil
	}
	if seconds, ok := strings.CutSuffix(at, "s"); ok {
		v, err := strconv.ParseFloat(seconds, 64)
		if err != nil || math.IsNaN(v) || v < 0 || v > 1e6 {
			return 0, "", &inputError{fmt.Sprintf("--at %q is no moment", at), "write it as 2.283s, or give a frame as 137"}
		}
		d := time.Duration(math.Round(v * 1e9))
		if d > info.Duration && d > last {
			return 0, "", past("the moment " + at)
		}
		n = t.FrameAt(d)
	} else if n, err = strconv.Atoi(at); err != nil || n < 0 {
		return 0, "", &inputError{fmt.Sprintf("--at %q is neither a frame nor a moment", at), "give a frame as 137 or a moment as 2.283s"}
	}
	if n >= info.Frames {
		return 0, "", past(fmt.Sprintf("frame %d", n))
	}
	if n != marked {
		note = fmt.Sprintf("the marks file is for frame %d; its marks are read on frame %d, as --at asks", marked, n)
	}
	return n, note, nil
}

// length reads 152cm, 1.52m or 1520mm, in millimetres divided by unit.
func length(what, s string, unit float64) (float64, error) {
	if s == "" {
		return 0, nil
	}
	text := strings.ReplaceAll(strings.TrimSpace(s), " ", "")
	for _, u := range []struct {
		suffix string
		mm     float64
	}{{"mm", 1}, {"cm", 10}, {"m", 1000}} {
		if number, ok := strings.CutSuffix(text, u.suffix); ok {
			if v, err := strconv.ParseFloat(number, 64); err == nil && v > 0 && !math.IsInf(v, 1) {
				return v * u.mm / unit, nil
			}
			break
		}
	}
	return 0, &inputError{fmt.Sprintf("the %s %q is no length", what, s), "write it with its unit, such as 152cm or 5m"}
}

func writeFigure(path string, img image.Image, r *reading.Reading) error {
	drawn, err := figure.Frame(img, r, figure.Options{})
	if err != nil {
		return err
	}
	return writeFile(path, func(w io.Writer) error { return figure.EncodePNG(w, drawn) })
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// library loads the built-in rule books and those in dir, saying what is wrong
// with the user's own.
func library(dir string, warn io.Writer) (*rulebook.Library, error) {
	if dir == "" {
		if config, err := os.UserConfigDir(); err == nil {
			dir = filepath.Join(config, "ecart", "rules")
		}
	}
	lib, err := rulebook.Load(dir, isMeasure)
	if err != nil {
		return nil, err
	}
	for _, w := range lib.Warnings() {
		fmt.Fprintln(warn, w.Error())
	}
	return lib, nil
}

func isMeasure(name string) bool {
	_, ok := geometry.Lookup(name)
	return ok
}
