package takes

import (
	"fmt"
	"io"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/reading"
)

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
