package takes

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/lens"
	"ecart/cmd/internal/output"
	"ecart/vision/calibrate"
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
