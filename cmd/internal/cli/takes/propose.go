package takes

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

// proposeOptions are the flags of `ecart propose`.
type proposeOptions struct {
	flags.ReadOptions
	out, athlete string
	passes       passOptions
}

func NewPropose(s terminal.Streams) *cobra.Command {
	var o proposeOptions
	c := &cobra.Command{
		Use:   "propose TAKE --measure NAME --out FILE",
		Short: "suggest marks from the picture, and of a clip the widest moment",
		Long: `Looks for the athlete in a still or a clip with a network that was trained on
photographs of people, and writes a marks file: of a clip on the frame in which
the angle is widest.

What it writes is a proposal, not a measurement. Its marks say "proposed": true
and carry the uncertainty of such proposals. A reading from them says so, has no
verdict, and is not kept. Look at the marks ('--figure' draws them), correct those
that are off and delete their "proposed"; or, where all are right, read them with
'ecart read --confirm'.

The network is not part of this program: 'make pose' fetches it once. It runs on
this machine, and nothing is sent anywhere. Where two people move, say who is
meant with --athlete-at.

With --passes the camera stands and athletes come by one after the other, for up
to five minutes: a pass lasts while one person is in the picture and moves. Each
leap in it is proposed by itself: a peak from which the angle falls on both sides
by more than its uncertainty. --out FOLDER then holds marks and a figure of each,
and a list that 'ecart squad' reads once the marks are confirmed.`,
		Example: `  ecart propose leap.mp4 --measure hip-split --out leap.proposed.json \
      --figure proposed.png
  ecart read leap.mp4 --marks leap.proposed.json --skill split-leap --confirm
  ecart propose row.mp4 --passes --athletes Wren,Lio,Iris --measure hip-split \
      --out row`,
		Args: flags.OneArg("take"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Take = args[0]
			return proposeRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.out, "out", "", "write the proposed marks into the marks `FILE`; with --passes, into a folder")
	f.StringVar(&o.athlete, "athlete-at", "", "who is meant: `PLACE` is such as 812,344@20, a place on the athlete in pixels and the frame (0 where none is given); else whoever moves most")
	o.passes.add(f)
	flags.AddReading(f, &o.ReadOptions)
	f.StringVar(&o.Figure, "figure", "", "draw the proposed marks and the angle between them into the PNG `FILE`")
	flags.AddCover(f, &o.Cover)
	flags.AddForce(f, &o.Files)
	f.BoolVar(&o.JSON, "json", false, "print the reading from the proposals as JSON (ecart/reading/1), in full precision")
	return c
}

func proposeRun(ctx context.Context, s terminal.Streams, o proposeOptions) error {
	d := o.Desk(s)
	if err := o.passes.check(o.out, o.Figure); err != nil {
		return err
	}
	if o.passes.on && o.athlete != "" {
		return fault.New("--athlete-at says who is meant in one pass, and --passes was given", "leave one of them out")
	}
	if o.out == "" {
		return fault.New("no file was named for the proposed marks", "give --out FILE, such as leap.proposed.json")
	}
	q, athlete, err := askProposal(d, &o.ReadOptions, o.athlete, o.passes.on)
	if err != nil {
		return err
	}
	if o.passes.on {
		return proposePasses(ctx, s, d, &o, q)
	}
	form := output.JSON(reading.MarksSchema)
	if err := o.Files.Add(o.out, form); err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	p, r, f, covers, err := propose(ctx, s, d, t, q, athlete, &o.Cover)
	if err != nil {
		return err
	}
	data, err := json.MarshalIndent(p.Marks, "", " ")
	if err != nil {
		return err
	}
	if err := o.Files.Write(ctx, o.out, form, flags.Writes(append(data, '\n'))); err != nil {
		return err
	}
	if err := drawReading(ctx, &o.ReadOptions, f, r, covers); err != nil {
		return err
	}
	if o.JSON {
		return terminal.PrintJSON(s.Out, r)
	}
	return printProposed(s.Out, r, q.Request, p)
}

// besideNetwork is how much memory Go may use, in bytes, before the collector runs more often while ecart-see runs
// the network: that program takes 230 MB, and both together may take 600 MB. With the usual 400 MB a still of
// 40 megapixels took 690 MB in all, with 120 MB 540 MB, in the same time.
const besideNetwork = 120 << 20

// makeRoom sets besideNetwork unless GOMEMLIMIT sets another limit.
func makeRoom() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(besideNetwork)
	}
}

// lookAround runs the network on the frames around the one that is read, with progress on a terminal.
func lookAround(ctx context.Context, s terminal.Streams, d *desk.Desk, t *take.Take, q *desk.Asked) error {
	makeRoom()
	line := terminal.NewTally(s.Err)
	defer line.Wipe()
	return d.LookAround(ctx, t, q, func(part float64) {
		line.Say(fmt.Sprintf("looking at the frames around in %s: %.0f %%", terminal.OneLine(t.Info().Name), 100*part))
	})
}

// askProposal checks for what marks are proposed, and that the figure can be written. drawn: figures are drawn even if
// none is named.
func askProposal(d *desk.Desk, o *flags.ReadOptions, athlete string, drawn bool) (q *desk.Asked, a desk.Athlete, err error) {
	makeRoom()
	if err = o.Cover.Needs(drawn || o.Figure != "", "--figure FILE"); err != nil {
		return nil, a, err
	}
	if a, err = desk.ParseAthlete(athlete); err != nil {
		return nil, a, err
	}
	if q, err = d.PrepareWith(o.Ask, &reading.Marks{Schema: reading.MarksSchema}); err != nil {
		return nil, a, err
	}
	o.Files.From(o.Take, o.Priors, o.Lens)
	return q, a, flags.AddPNG(&o.Files, o.Figure)
}

// propose runs the network on the take, with progress on a terminal, and reads the angle between the proposed marks.
// covers returns the covers of the head in a frame.
func propose(ctx context.Context, s terminal.Streams, d *desk.Desk, t *take.Take, q *desk.Asked, a desk.Athlete, cover *desk.Cover) (p *desk.Proposal, r *reading.Reading, f *take.Frame, covers func(frame int) []figure.Cover, err error) {
	line := terminal.NewTally(s.Err)
	p, err = d.Propose(ctx, t, q, a, func(part float64) {
		line.Say(fmt.Sprintf("looking for the athlete in %s: %.0f %%", terminal.OneLine(t.Info().Name), 100*part))
	})
	line.Wipe()
	if err != nil {
		return nil, nil, nil, nil, err
	}
	if err = p.Faces(q); err != nil {
		return nil, nil, nil, nil, err
	}
	q.Request.Marks = p.Marks
	if covers, err = cover.Frames(q); err != nil {
		return nil, nil, nil, nil, err
	}
	r, f, err = readTake(ctx, s, d, t, q)
	return p, r, f, covers, err
}

// printProposed prints what is proposed, and the reading from it.
func printProposed(w io.Writer, r *reading.Reading, q reading.Request, p *desk.Proposal) error {
	if err := terminal.PrintReading(w, r, q); err != nil {
		return err
	}
	var out terminal.Printer
	out.Line("")
	out.Line("proposed, not confirmed")
	if !q.Still {
		out.Wrap("  ", fmt.Sprintf("widest at %.3f s ± %.3f s, by frame %d", p.MomentS, 2*p.MomentSDS, p.Marks.Frame))
	}
	if p.Outlines > 0 {
		out.Wrap("  ", fmt.Sprintf("%d of 2 legs by their outline before the still ground, the rest by the network", p.Outlines))
	}
	for _, m := range p.Marks.Marks {
		c := m.Covariance
		out.Wrap("  ", fmt.Sprintf("%s at %.0f, %.0f, good to %.0f px", m.Landmark, m.X, m.Y, math.Sqrt(max(c[0][0], c[1][1]))))
	}
	return out.Print(w)
}

// followProposed is `ecart follow --proposed`: the angle over time, from proposed marks.
func followProposed(ctx context.Context, s terminal.Streams, o followOptions) error {
	for _, f := range []struct {
		flag  string
		given bool
	}{{"seeds", o.seeds != nil}, {"colours", o.colours != ""}, {"csv", o.csv != ""}, {"clip", o.clip != ""}, {"keep", o.Keep.Athlete != ""}} {
		if f.given {
			return fault.New(fmt.Sprintf("--proposed follows no stickers, and --%s was given", f.flag), "leave one of them out: proposals are not kept, and a table of them is written by no command")
		}
	}
	d := o.Desk(s)
	q, athlete, err := askProposal(d, &o.ReadOptions, o.athlete, false)
	if err != nil {
		return err
	}
	if err := flags.AddPNG(&o.Files, o.curve); err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	if t.Info().Still {
		return fault.New(fmt.Sprintf("%q is a still, and has no movement", t.Info().Name), "propose its marks with 'ecart propose'")
	}
	p, r, f, covers, err := propose(ctx, s, d, t, q, athlete, &o.Cover)
	if err != nil {
		return err
	}
	if o.curve != "" {
		c := figure.Curve{Title: q.Request.Measure.Title + ", " + reading.ProposedWords, Who: o.shownName(t), Track: p.Track(r), Why: reading.ProposedWords}
		img, err := figure.DrawCurve(c, figure.Options{})
		if err != nil {
			return err
		}
		if err := flags.WritePNG(ctx, &o.Files, o.curve, img); err != nil {
			return err
		}
	}
	if err := drawReading(ctx, &o.ReadOptions, f, r, covers); err != nil {
		return err
	}
	if o.JSON {
		return terminal.PrintJSON(s.Out, r)
	}
	if err := printProposed(s.Out, r, q.Request, p); err != nil {
		return err
	}
	return printProposedCurve(s.Out, p)
}

// printProposedCurve prints the proposed angle of each moment on which the network was run.
func printProposedCurve(w io.Writer, p *desk.Proposal) error {
	var out terminal.Printer
	out.Line("")
	out.Line("the movement, %s", reading.ProposedWords)
	for _, c := range p.Curve {
		angle := "not known"
		if c.AngleDeg == c.AngleDeg {
			angle = fmt.Sprintf("%.0f°", c.AngleDeg)
		}
		out.Line("  %8.3f s  frame %5d  %s", c.TimeS, c.Frame, angle)
	}
	return out.Print(w)
}
