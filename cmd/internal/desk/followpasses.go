package desk

import (
	"context"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/vision/take"
)

// TrackPasses cuts what was followed into passes, and reads each leap in them at its peak.
func (d *Desk) TrackPasses(ctx context.Context, t *take.Take, q *Asked, track *reading.Track) ([]Pass, error) {
	var out []Pass
	smallest := q.Request.Skill != nil && q.Request.Skill.AtMost
	parts := track.Passes()
	if len(parts) == 0 {
		return nil, fault.New("no sticker is seen in any frame", "look at the clip, and name the stickers by their colours")
	}
	for i, part := range parts {
		pass := newPass(t, i+1, part.Frames[0].Frame, part.Frames[len(part.Frames)-1].Frame)
		leaps, smaller, most, err := part.Leaps(q.Request, smallest)
		if err != nil {
			pass.fail(Optioned(err))
			out = append(out, pass)
			continue
		}
		if smaller > 0 {
			pass.Notes = append(pass.Notes, smallerWords(smaller, most))
		}
		for k, leap := range leaps {
			one := pass
			one.Leap, one.Leaps, one.Track = k+1, len(leaps), leap
			asked := *q
			asked.Track = leap
			r, err := asked.ReadPeak(ctx)
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			if err != nil {
				one.Leap, one.Track = 0, nil
				if unseen := neverSeen(part); unseen != "" {
					err = fault.New("in this pass no sticker is found at "+unseen, "name the stickers by their colours, or cut this pass out of the clip and point at its stickers there")
				}
				one.fail(err)
			} else {
				one.read(r)
				one.MomentS = &r.Peak.TimeS
				one.Marks = asked.Request.Marks
			}
			out = append(out, one)
		}
	}
	return out, nil
}

// neverSeen are the landmarks that no frame of a track shows, in words.
func neverSeen(t *reading.Track) string {
	var names []string
	for k, l := range t.Landmarks {
		if !slices.ContainsFunc(t.Frames, func(f reading.TrackFrame) bool { return f.Marks[k].Seen == reading.Found }) {
			names = append(names, "the "+strings.ReplaceAll(l, "-", " "))
		}
	}
	return text.And(names)
}
