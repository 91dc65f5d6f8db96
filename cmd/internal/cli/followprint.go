package cli

import (
	"fmt"
	"io"

	"ecart/cmd/internal/reading"
)

// printFollowed prints the reading at the peak, and what following it found.
func printFollowed(w io.Writer, r *reading.Reading, q reading.Request, track *reading.Track) error {
	if err := printReading(w, r, q); err != nil {
		return err
	}
	var p printer
	k := r.Peak
	p.line("")
	p.line("the movement")
	p.wrap("  ", fmt.Sprintf("peak at %.4f s, by frame %d, from %d frames about it", k.TimeS, k.Frame, k.Frames))
	held := fmt.Sprintf("within %g° of it for %.3f s", k.HeldDeg, k.HeldS)
	if k.HeldCut {
		held += " at least: what was followed begins, ends or has a gap within that time"
	}
	p.wrap("  ", held)
	for i, name := range track.Landmarks {
		if gaps := track.Lost(i); len(gaps) > 0 {
			p.wrap("  ", fmt.Sprintf("%s was lost in frames %s", name, reading.Frames(gaps)))
		}
	}
	for _, j := range k.Jumps {
		p.wrap("  ", j.String()+": something else may have been followed there")
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}
