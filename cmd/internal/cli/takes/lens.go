package takes

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/lens"
	"ecart/cmd/internal/output"
	"ecart/geometry/uncertainty"
	"ecart/vision/calibrate"

	"github.com/spf13/cobra"
)

// lensOptions are the flags of `ecart lens`.
type lensOptions struct {
	pictures      []string
	board, square string
	out, figure   string
	print, paper  string
	json          bool
	files         output.Set
}

func NewLens(s terminal.Streams) *cobra.Command {
	var o lensOptions
	c := &cobra.Command{
		Use:   "lens (PICTURES... | CLIP) --board 9x6 --out FILE",
		Short: "work out a camera's lens from pictures of a checkerboard",
		Long: `Works out what a camera's lens does, from ten or so pictures of a printed
checkerboard or from one clip of it, and writes it to a file that 'ecart read'
takes with --lens. It prints how far off the corners are in each picture, which
to take again and why, and how well each figure of the lens is known.

  1. Print a board with --print, measure it, and stick it on something flat.
  2. Take ten or so pictures, with the camera and the setting that the athletes
     are filmed with (the same size of picture, the same zoom). Lean the board 20
     to 45 degrees, another way each time; bring it into the corners of the
     picture, near enough to fill a third of it. Hold still.
  3. Give the pictures here. For a clip, pause at each place.

A board is counted by the corners where four squares meet: 9x6 has 10 by 7
squares. A lens holds for one size of picture, scales to others of the same
shape, and is good for one camera at one zoom.`,
		Example: `  ecart lens --print board.pdf --board 9x6 --square 24mm
  ecart lens board*.jpg --board 9x6 --square 24mm --out phone.lens.json \
      --figure coverage.png
  ecart read leap.mp4 --marks leap.marks.json --skill split-leap \
      --lens phone.lens.json`,
		Args: func(c *cobra.Command, args []string) error {
			for _, a := range args {
				if a == "" {
					return flags.Usage(c, fmt.Sprintf("a picture given to '%s' has an empty name, %q", c.CommandPath(), a))
				}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			o.pictures = args
			if o.print != "" {
				return lensPrintRun(c.Context(), s, o)
			}
			return lensRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.board, "board", "", "the board's inner corners, `COLUMNSxROWS` such as 9x6")
	f.StringVar(&o.square, "square", "", "the side of a square, a `LENGTH` such as 24mm; the lens does not depend on it")
	f.StringVar(&o.out, "out", "", "write the lens to `FILE` (ecart/lens/1)")
	f.StringVar(&o.figure, "figure", "", "draw where the board has been and what the lens bends into the PNG `FILE`")
	f.StringVar(&o.print, "print", "", "write a board to print to `FILE`, a .pdf or a .png, in place of all this")
	f.StringVar(&o.paper, "paper", "a4", "the paper to print on, `SIZE` is a4, letter or a3")
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print as JSON, in full precision")
	return c
}

// boardAsked returns the board that the flags describe.
func (o *lensOptions) boardAsked() (calibrate.Board, error) { return lens.Board(o.board, o.square) }

// check checks the flags before any picture is opened.
func (o *lensOptions) check() error {
	if len(o.pictures) == 0 {
		return fault.New("no pictures of a board were given", "give ten or so, or one clip; 'ecart lens --print board.pdf --board 9x6' writes a board to print")
	}
	if o.out == "" {
		return fault.New("the lens has no file to go to", "name one with --out, such as --out phone.lens.json")
	}
	o.files.From(o.pictures...)
	if err := flags.AddPNG(&o.files, o.figure); err != nil {
		return err
	}
	return o.files.Add(o.out, flags.LensForm)
}

func lensRun(ctx context.Context, s terminal.Streams, o lensOptions) error {
	b, err := o.boardAsked()
	if err != nil {
		return err
	}
	if err := o.check(); err != nil {
		return err
	}
	p := terminal.NewTally(s.Err)
	r, file, err := lens.Make(ctx, o.pictures, b, p.Say)
	p.Wipe()
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := writeLensFigure(ctx, &o, r); err != nil {
			return err
		}
	}
	if err := o.files.Write(ctx, o.out, flags.LensForm, flags.Writes(file)); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, lens.NewReport(r, file))
	}
	return printLens(s.Out, o, r)
}

// lensPrintRun writes a board to print.
func lensPrintRun(ctx context.Context, s terminal.Streams, o lensOptions) error {
	if len(o.pictures) > 0 {
		return fault.New(fmt.Sprintf("--print writes a board, and pictures were given too: %q", o.pictures), "give one or the other")
	}
	for _, f := range []struct{ flag, value string }{{"out", o.out}, {"figure", o.figure}} {
		if f.value != "" {
			return fault.New(fmt.Sprintf("--print and --%s do not go together: a board is no lens", f.flag), fmt.Sprintf("leave --%s out", f.flag))
		}
	}
	b, err := o.boardAsked()
	if err != nil {
		return err
	}
	paper, err := calibrate.ParsePaper(o.paper)
	if err != nil {
		return err
	}
	p, err := calibrate.NewPrint(b, paper)
	if err != nil {
		return err
	}
	var write func(io.Writer) error
	switch ext := strings.ToLower(filepath.Ext(o.print)); ext {
	case ".pdf":
		write = p.WritePDF
	case ".png":
		write = p.WritePNG
	default:
		return fault.New(fmt.Sprintf("the board %q ends in neither .pdf nor .png", o.print), fmt.Sprintf("name it %q", strings.TrimSuffix(o.print, filepath.Ext(o.print))+".pdf"))
	}
	if err := o.files.Write(ctx, o.print, output.Figure, write); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, map[string]any{"file": o.print, "board": p.Board.String(), "square_mm": p.Board.SquareMm, "paper": paper.Name})
	}
	var say terminal.Printer
	say.Wrap("", fmt.Sprintf("a board of %s inner corners, squares of %g mm, on %s: %s", p.Board, p.Board.SquareMm, paper.Name, o.print))
	say.Wrap("", "Print it at 100 %, not fitted to the page. Two lines on it are 100 mm long: measure them. Stick it on something flat and stiff.")
	return say.Print(s.Out)
}

// parameterWords describes the parameters.
var parameterWords = map[string]string{
	"fx": "focal length", "fy": "", "cx": "centre", "cy": "", "k1": "bend", "k2": "", "p1": "decentred", "p2": "", "k3": "bend",
}

// printLens prints a lens, narrow enough for a phone.
func printLens(w io.Writer, o lensOptions, r *calibrate.Result) error {
	var p terminal.Printer
	p.Wrap("écart  ", fmt.Sprintf("lens, %d of %d pictures, %d x %d px", r.Count(), len(r.Pictures), r.Lens.Width, r.Lens.Height))
	p.Line("")
	p.Line("how far its corners are off, and how it leans")
	for _, v := range r.Pictures {
		name := []rune(filepath.Base(v.Name))
		const room = 26
		if len(name) > room {
			name = append([]rune("…"), name[len(name)-room+1:]...)
		}
		switch {
		case v.Stopped:
			p.Line("  %-*s %16s", room, string(name), "not searched")
		case v.Corners == nil:
			p.Line("  %-*s %16s", room, string(name), "no board")
		case math.IsNaN(v.ResidualPx):
			p.Line("  %-*s %16s", room, string(name), "not used")
		default:
			p.Line("  %-*s %7.2f px %4.0f°", room, string(name), v.ResidualPx, v.Tilt.Degrees())
		}
		if retake := lens.RetakeWords(&v); retake != "" {
			p.Wrap("    again: ", retake)
		}
	}
	for _, line := range lens.FitWords(r) {
		p.Wrap("  ", line)
	}
	p.Line("")
	p.Line("the lens, with standard uncertainties (k = 1)")
	untold := false
	for _, q := range r.Parameters {
		v, u := uncertainty.Format(q.Value, q.Standard)
		note := ""
		if !q.Told {
			note, untold = "  not told", true
		}
		p.Line("  %-13s %-3s %10s ± %s %s%s", parameterWords[q.Name], q.Name, v, u, q.Unit, note)
	}
	if untold {
		p.Wrap("  ", "not told: these pictures say little of it, and it leans on what lenses usually have")
	}
	p.Line("")
	for _, a := range r.Advice {
		p.Wrap("do next: ", a)
	}
	p.Wrap("written: ", o.out)
	if o.figure != "" {
		p.Wrap("drawn:   ", o.figure)
	}
	return p.Print(w)
}

// writeLensFigure draws a lens.
func writeLensFigure(ctx context.Context, o *lensOptions, r *calibrate.Result) error {
	img, err := figure.DrawLens(lens.Figure(strings.TrimSuffix(filepath.Base(o.out), ".lens.json"), r), figure.Options{})
	if err != nil {
		return err
	}
	return flags.WritePNG(ctx, &o.files, o.figure, img)
}
