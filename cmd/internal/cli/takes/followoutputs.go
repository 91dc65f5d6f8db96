package takes

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

func (o *followOptions) print(w io.Writer, r *reading.Reading, q reading.Request, track *reading.Track) error {
	if o.JSON {
		return terminal.PrintJSON(w, r)
	}
	return printFollowed(w, r, q, track)
}

// addOutputs checks early that the files can be written.
func (o *followOptions) addOutputs() error {
	for _, f := range []struct{ flag, path, ending string }{{"csv", o.csv, ".csv"}, {"clip", o.clip, ".mp4"}} {
		if f.path != "" && !strings.EqualFold(filepath.Ext(f.path), f.ending) {
			return fault.New(fmt.Sprintf("%q does not end in %s", f.path, f.ending), fmt.Sprintf("give --%s a name such as leap%s", f.flag, f.ending))
		}
	}
	o.Files.From(o.Take, o.Priors, o.Lens, o.Keep.Journal)
	o.Files.From(o.seeds...)
	for _, path := range []string{o.Figure, o.curve} {
		if err := flags.AddPNG(&o.Files, path); err != nil {
			return err
		}
	}
	if err := o.Files.Add(o.csv, flags.TrackForm); err != nil {
		return err
	}
	return o.Files.Add(o.clip, output.Clip)
}

// report reads the peak and writes the files asked for: the track first, since it takes longest
// to make.
func (o *followOptions) report(ctx context.Context, s terminal.Streams, t *take.Take, q *desk.Asked, written *bool) (*reading.Reading, error) {
	track, asked := q.Track, q.Request
	r, err := q.ReadPeak(ctx)
	covers := func(int) []figure.Cover { return nil }
	if o.Cover.Asked() && (o.clip != "" || o.Figure != "") {
		at, headFound, err := o.Cover.Moving(track, asked.Measure.Name)
		if err != nil {
			return nil, err
		}
		if !headFound && o.clip != "" {
			fmt.Fprintln(s.Err, terminal.OneLine(t.Info().Name+": no frame tells where the head is; the circles that were given stay where they are in all of the clip"))
		}
		covers = at
	}
	if o.csv != "" {
		data, err := track.CSV()
		if err != nil {
			return nil, err
		}
		if err := o.Files.Write(ctx, o.csv, flags.TrackForm, flags.Writes(data)); err != nil {
			return nil, err
		}
		*written = true
	}
	if o.curve != "" {
		c := figure.Curve{Title: asked.Measure.Title, Who: o.shownName(t), Track: track, Jumps: track.Jumps()}
		if err == nil {
			c.Peak, c.Asked = r.Peak, r.Skill
		} else {
			c.Why = err.Error()
		}
		img, err := figure.DrawCurve(c, figure.Options{})
		if err != nil {
			return nil, err
		}
		if err := flags.WritePNG(ctx, &o.Files, o.curve, img); err != nil {
			return nil, err
		}
	}
	if o.clip != "" {
		progress, done := frameProgress(s, "drawing")
		err := o.writeClip(func(out *os.File) error {
			return desk.Annotate(ctx, out, o.clip, t, asked, track, covers, progress)
		})
		done()
		if err != nil {
			return nil, err
		}
	}
	if err != nil {
		return nil, err
	}
	if o.Figure != "" {
		f, err := t.Frame(ctx, r.Peak.Frame)
		if err != nil {
			return nil, err
		}
		if err := writeFigure(ctx, &o.Files, o.Figure, large.Of(f), r, covers(r.Peak.Frame)...); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// shownName returns the take's name for a drawing; "" if heads are covered, since it may be the athlete's.
func (o *followOptions) shownName(t *take.Take) string {
	if o.Cover.Asked() {
		return ""
	}
	return t.Info().Name
}

// writeClip writes the annotated clip.
func (o *followOptions) writeClip(write func(*os.File) error) error {
	f, err := o.Files.Create(o.clip, output.Clip)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := write(f.File()); err != nil {
		return err
	}
	return f.Commit()
}

// printFollowed prints the reading at the peak and how the movement was followed.
func printFollowed(w io.Writer, r *reading.Reading, q reading.Request, track *reading.Track) error {
	if err := terminal.PrintReading(w, r, q); err != nil {
		return err
	}
	var p terminal.Printer
	k := r.Peak
	p.Line("")
	p.Line("the movement")
	p.Wrap("  ", fmt.Sprintf("peak at %.4f s, by frame %d, from %d frames about it", k.TimeS, k.Frame, k.Frames))
	held := fmt.Sprintf("within %g° of it for %.3f s", k.HeldDeg, k.HeldS)
	if k.HeldCut {
		held += " at least: what was followed begins, ends or has a gap within that time"
	}
	p.Wrap("  ", held)
	for i, name := range track.Landmarks {
		if gaps := track.Lost(i); len(gaps) > 0 {
			p.Wrap("  ", fmt.Sprintf("%s was lost in frames %s", name, reading.Frames(gaps)))
		}
	}
	for _, j := range k.Jumps {
		p.Wrap("  ", j.String()+": something else may have been followed there")
	}
	return p.Print(w)
}
