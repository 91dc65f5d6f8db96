package reading

import (
	"errors"
	"fmt"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
)

// Damaged lists the runs of frames [first, last] in which the track's file is damaged.
func (t *Track) Damaged() (out [][2]int) {
	run := false
	for i := range t.Frames {
		switch f := &t.Frames[i]; {
		case !f.Damaged:
			run = false
		case run:
			out[len(out)-1][1] = f.Frame
		default:
			out, run = append(out, [2]int{f.Frame, f.Frame}), true
		}
	}
	return out
}

// damage names the damaged frames of a take; "" if there are none.
func (t *Take) damage() string { return FrameRuns(t.Damaged) }

// DamageCaution is the caution of a reading whose take is damaged; "" if it is not. peak: the reading is
// of a peak found in a clip.
func (t *Take) DamageCaution(peak bool) string {
	switch d := t.damage(); {
	case d == "":
		return ""
	case peak:
		return "The file is damaged at " + d + ": no sticker was looked for there, and the peak may have been there."
	default:
		return "The file is damaged at " + d + ": parts of the picture may be made up."
	}
}

// FrameRuns names runs of frames: "frame 12", "frames 12 to 15 and 40"; "" if there are none.
func FrameRuns(runs [][2]int) string {
	if len(runs) == 0 {
		return ""
	}
	const most = 4
	var words []string
	for i, r := range runs {
		if i == most && len(runs) > most+1 {
			words = append(words, fmt.Sprintf("%d other runs up to %d", len(runs)-i, runs[len(runs)-1][1]))
			break
		}
		w := fmt.Sprint(r[0])
		if r[1] > r[0] {
			w = fmt.Sprintf("%d to %d", r[0], r[1])
		}
		words = append(words, w)
	}
	if len(words) == 1 {
		if runs[0][0] == runs[0][1] {
			return "frame " + words[0]
		}
		return "frames " + words[0]
	}
	return "frames " + text.And(words)
}

// becauseDamaged returns the error of a peak that could not be read. If the track's file is damaged, its
// hint says so.
func (t *Track) becauseDamaged(err error) error {
	d := FrameRuns(t.Damaged())
	var e *fault.Error
	if d == "" || !errors.As(err, &e) {
		return err
	}
	return fault.New(e.Error(), fmt.Sprintf("the file is damaged at %s: copy the clip from the camera again, or read a single frame with %s N", d, fault.Option("at")))
}
