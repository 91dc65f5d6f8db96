package cli

import (
	"fmt"
	"io"
	"strings"

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
		if gaps := lostRuns(track, i); len(gaps) > 0 {
			p.wrap("  ", fmt.Sprintf("%s was lost in frames %s", name, strings.Join(gaps, ", ")))
		}
	}
	for _, j := range k.Jumps {
		p.wrap("  ", j.String()+": something else may have been followed there")
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// lostRuns are the runs of frames in which a landmark was not seen.
func lostRuns(t *reading.Track, k int) []string {
	var out []string
	for i := 0; i < len(t.Frames); i++ {
		if t.Frames[i].Marks[k].Seen == reading.Found {
			continue
		}
		from := i
		for i+1 < len(t.Frames) && t.Frames[i+1].Marks[k].Seen != reading.Found {
			i++
		}
		run := fmt.Sprint(t.Frames[from].Frame)
		if i > from {
			run = fmt.Sprintf("%d to %d", t.Frames[from].Frame, t.Frames[i].Frame)
		}
		out = append(out, run)
	}
	return out
}
