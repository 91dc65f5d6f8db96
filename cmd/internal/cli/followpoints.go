package cli

import (
	"context"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// pointsForm is how a point is written.
const pointsForm = "write --points hand=812,344@20: a name, a place in pixels, and the frame; or --points hand=#d01ef0"

// withPoints are the flags that go with --points.
var withPoints = []string{"points", "csv", "figure", "clip", "cover", "force", "json"}

// pointsAlone refuses what belongs to a measure beside --points.
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

// parsePoints reads hand=812,344@20 and hand=#d01ef0.
func parsePoints(list []string) ([]sticker.Seed, error) {
	var out []sticker.Seed
	for _, item := range list {
		name, where, ok := strings.Cut(strings.TrimSpace(item), "=")
		if !ok {
			return nil, fault.New(fmt.Sprintf("--points %q has no name and place", item), pointsForm)
		}
		if !isPointName(name) {
			return nil, fault.New(fmt.Sprintf("--points names a point %q: a name has up to 40 letters, digits and hyphens", name), pointsForm)
		}
		for _, s := range out {
			if s.Name == name {
				return nil, fault.New(fmt.Sprintf("--points names %q twice", name), "give each point a name of its own")
			}
		}
		seed := sticker.Seed{Name: name}
		if strings.HasPrefix(where, "#") {
			c, err := sticker.ParseColour(where)
			if err != nil {
				return nil, fault.New(fmt.Sprintf("--points gives %q the colour %q: %v", name, where, err), pointsForm)
			}
			seed.Colour = &c
		} else if seed.At, seed.Frame, ok = parsePlace(where); !ok {
			return nil, fault.New(fmt.Sprintf("--points gives %q the place %q", name, where), pointsForm)
		}
		out = append(out, seed)
	}
	return out, nil
}

func isPointName(s string) bool {
	const most = 40
	return s != "" && utf8.RuneCountInString(s) <= most &&
		!strings.ContainsFunc(s, func(r rune) bool { return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// parsePlace reads 812,344@20; the frame is 0 where there is none.
func parsePlace(s string) (at geometry.Point, frame int, ok bool) {
	place, number, framed := strings.Cut(s, "@")
	x, y, two := strings.Cut(place, ",")
	var okX, okY bool
	if at.X, okX = desk.Decimal(strings.TrimSpace(x)); !okX {
		return at, 0, false
	}
	if at.Y, okY = desk.Decimal(strings.TrimSpace(y)); !okY || !two || strings.Contains(y, ",") {
		return at, 0, false
	}
	if framed {
		n, err := strconv.Atoi(number)
		if err != nil || n < 0 || number[0] == '+' {
			return at, 0, false
		}
		frame = n
	}
	return at, frame, true
}

// pointsRun follows points that are no landmarks of a body.
func pointsRun(ctx context.Context, s streams, o followOptions) error {
	if err := o.cover.Needs(o.figure != "" || o.clip != "", "--figure FILE or --clip FILE"); err != nil {
		return err
	}
	seeds, err := parsePoints(o.points)
	if err != nil {
		return err
	}
	covers, err := o.cover.Placed()
	if err != nil {
		return err
	}
	if err := o.addOutputs(); err != nil {
		return err
	}
	t, err := openTake(ctx, s, o.desk(s), o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	info := t.Info()
	if err := o.cover.Inside(image.Pt(info.Width, info.Height)); err != nil {
		return err
	}
	track, part, stopped, err := o.follow(ctx, s, t, seeds, "")
	if err != nil {
		return err
	}
	written := false
	defer func() { part.tell(s.err, written) }()
	if stopped != nil && len(track.Frames) == 0 {
		return stopped
	}
	if errors.Is(stopped, context.Canceled) {
		stopped = stoppedAt(track.Frames[len(track.Frames)-1].Frame, info.Frames)
	}
	if desk.Motionless(stopped) {
		stopped = nil // a path may well stand still, and the words below say so
	}
	if err := o.writePaths(context.WithoutCancel(ctx), s, t, track, seeds, covers, &written); err != nil {
		return err
	}
	paths := pathsOf(info, track)
	if o.json {
		err = printJSON(s.out, paths)
	} else {
		err = paths.print(s.out)
	}
	if err != nil {
		return err
	}
	if stopped != nil {
		return stopped
	}
	return desk.DamagedTrack(info.Name, track)
}

// writePaths writes the files that were asked for, the table first.
func (o *followOptions) writePaths(ctx context.Context, s streams, t *take.Take, track *reading.Track, seeds []sticker.Seed, covers []figure.Cover, written *bool) error {
	if o.csv != "" {
		data, err := track.CSV()
		if err != nil {
			return err
		}
		if err := o.files.Write(ctx, o.csv, trackForm, writes(data)); err != nil {
			return err
		}
		*written = true
	}
	first, last := track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame
	jumps := track.Jumps()
	if o.figure != "" {
		n := min(max(seeds[0].Frame, first), last)
		f, err := t.Frame(ctx, n)
		if err != nil {
			return err
		}
		img, err := figure.DrawPaths(large.Of(f), figure.Paths{Track: track, From: first, To: last, At: n, Jumps: jumps}, covers...)
		if err != nil {
			return err
		}
		if err := writePNG(ctx, &o.files, o.figure, img); err != nil {
			return err
		}
	}
	if o.clip == "" {
		return nil
	}
	progress, done := s.frames("drawing")
	defer done()
	return o.writeClip(func(out *os.File) error {
		return desk.DrawClip(ctx, out, o.clip, t, first, last, func(f *take.Frame) (image.Image, error) {
			if progress != nil {
				progress(f.Index-first+1, last-first+1, len(track.Landmarks))
			}
			return figure.DrawPaths(large.Of(f), figure.Paths{Track: track, From: f.Index - trail(t), To: f.Index, At: f.Index, Jumps: jumps}, covers...)
		})
	})
}

// trail is how many frames of a path a frame of the clip shows: a second of them.
func trail(t *take.Take) int { return int(max(10, math.Round(t.Info().NominalRate))) }

// paths is what following points found, for people and as JSON.
type paths struct {
	Schema string         `json:"schema"`
	Take   string         `json:"take"`
	First  int            `json:"first_frame"`
	Last   int            `json:"last_frame"`
	FromS  float64        `json:"from_s"`
	ToS    float64        `json:"to_s"`
	Points []pathPoint    `json:"points"`
	Jumps  []reading.Jump `json:"jumps"`
}

// pathPoint is one point; places are pixels, x right and y down.
type pathPoint struct {
	Name   string        `json:"name"`
	Seen   int           `json:"seen_frames"`
	Gaps   []reading.Gap `json:"gaps"`     // frames in which it was not seen
	Left   *pathPlace    `json:"leftmost"` // null where it was never seen
	Right  *pathPlace    `json:"rightmost"`
	Top    *pathPlace    `json:"highest"`
	Bottom *pathPlace    `json:"lowest"`
}

type pathPlace struct {
	Frame int     `json:"frame"`
	TimeS float64 `json:"time_s"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
}

// pathsSchema names the form of the JSON.
const pathsSchema = "ecart/paths/1"

func pathsOf(info take.Info, t *reading.Track) *paths {
	n := len(t.Frames)
	p := &paths{Schema: pathsSchema, Take: info.Name, First: t.Frames[0].Frame, Last: t.Frames[n-1].Frame,
		FromS: t.Frames[0].TimeS, ToS: t.Frames[n-1].TimeS, Jumps: append([]reading.Jump{}, t.Jumps()...)}
	for k, name := range t.Landmarks {
		one := pathPoint{Name: name, Gaps: append([]reading.Gap{}, t.Lost(k)...)}
		for _, f := range t.Frames {
			m := f.Marks[k]
			if m.Seen != reading.Found {
				continue
			}
			one.Seen++
			at := &pathPlace{f.Frame, f.TimeS, m.X, m.Y}
			for _, e := range []struct {
				to   **pathPlace
				more func(a, b *pathPlace) bool
			}{
				{&one.Left, func(a, b *pathPlace) bool { return a.X < b.X }},
				{&one.Right, func(a, b *pathPlace) bool { return a.X > b.X }},
				{&one.Top, func(a, b *pathPlace) bool { return a.Y < b.Y }},
				{&one.Bottom, func(a, b *pathPlace) bool { return a.Y > b.Y }},
			} {
				if *e.to == nil || e.more(at, *e.to) {
					*e.to = at
				}
			}
		}
		p.Points = append(p.Points, one)
	}
	return p
}

// print is for a phone's screen.
func (p *paths) print(w io.Writer) error {
	var b printer
	many := fmt.Sprintf("the paths of %d points", len(p.Points))
	if len(p.Points) == 1 {
		many = "the path of one point"
	}
	b.wrap("écart  ", many)
	b.wrap("", fmt.Sprintf("%s, frames %d to %d, %.3f to %.3f s", p.Take, p.First, p.Last, p.FromS, p.ToS))
	for _, o := range p.Points {
		b.line("")
		b.line("%s", printable(o.Name))
		b.wrap("  ", fmt.Sprintf("seen in %d of %d frames", o.Seen, p.Last-p.First+1))
		if len(o.Gaps) > 0 {
			b.wrap("  ", "not seen in frames "+reading.Frames(o.Gaps))
		}
		if o.Seen == 0 {
			continue
		}
		wide, high := o.Right.X-o.Left.X, o.Bottom.Y-o.Top.Y
		b.wrap("  ", fmt.Sprintf("moves over %.0f px across and %.0f px up and down", wide, high))
		b.wrap("  ", fmt.Sprintf("highest at (%.0f, %.0f), frame %d, %.3f s", o.Top.X, o.Top.Y, o.Top.Frame, o.Top.TimeS))
		b.wrap("  ", fmt.Sprintf("lowest at (%.0f, %.0f), frame %d, %.3f s", o.Bottom.X, o.Bottom.Y, o.Bottom.Frame, o.Bottom.TimeS))
	}
	if len(p.Jumps) > 0 {
		b.line("")
	}
	for _, j := range p.Jumps {
		b.wrap("caution: ", j.String()+": something else may have been followed there")
	}
	_, err := io.WriteString(w, b.b.String())
	return err
}
