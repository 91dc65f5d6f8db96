package page

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// fillLens puts the lens that a row names into the work on its take: a file that was dropped with the
// list, or a lens of the page of that name. missing says that there is neither; it is "" if all is well.
func (s *Server) fillLens(k *Work, row *desk.ListRow, n *notes) (missing string) {
	if row.Ask.Lens == "" {
		return ""
	}
	file := lastPart(row.Ask.Lens)
	if id := n.Lenses[strings.ToLower(file)]; id != "" {
		k.Lens = id
		return ""
	}
	for _, l := range s.lenses.list() {
		if strings.EqualFold(l.Name, lensName(file)) {
			k.Lens = l.ID
			return ""
		}
	}
	return fmt.Sprintf("its lens file %q is not here: drop it", file)
}

// followColours follows the stickers of a row's colours through its take, and makes the peak the moment
// unless the row names another.
func (s *Server) followColours(id string, k *Work, row *desk.ListRow) error {
	q := &desk.Asked{Request: reading.Request{Options: geometry.Options{Leg: geometry.Leg(k.Leg), Side: geometry.Side(k.Side), Facing: geometry.Facing(k.Facing)}}}
	if err := s.config.Desk.Target(&q.Request, k.Skill, k.Measure); err != nil {
		return err
	}
	seeds, err := q.SeedsOfColours(row.Colours)
	if err != nil {
		return err
	}
	return s.follows.jobs.begin(id, func(ctx context.Context, tell func(event)) error {
		err := s.follows.follow(ctx, id, seeds, k.Facing, tell)
		if err == nil {
			err = s.moveToPeak(ctx, id)
		}
		if err != nil && ctx.Err() == nil { // the list says it, since nobody may have the take open
			err = errors.Join(err, s.notebook.change(func(n *notes) error {
				if n.List != nil {
					n.List.Notes = append(n.List.Notes, lineWords(row.Line)+": "+errorWords(err))
				}
				return nil
			}))
		}
		s.hub.tell("", event{Kind: "today"})
		return err
	})
}

// moveToPeak makes the peak of the track the moment of a take, if there is one.
func (s *Server) moveToPeak(ctx context.Context, id string) error {
	work, err := s.works.load(id)
	if err != nil || work.marked() > 0 { // somebody marked a moment meanwhile
		return err
	}
	track, err := s.follows.track(id)
	if err != nil || track == nil || len(track.Frames) == 0 {
		return err
	}
	q, err := s.request(ctx, id, work, track.Frames[0].Frame)
	if err != nil {
		return err
	}
	own := copied(track)
	samples, err := reading.Series(q.Request, own)
	if err != nil {
		return onPage(err)
	}
	peak, err := own.Peak(samples, smallest(q.Request))
	if err != nil { // the curve says why there is none
		return nil
	}
	mine := *work
	mine.Frame = peak.Frame
	if _, _, err := s.works.save(id, &mine); err != nil {
		return err
	}
	s.hub.tell(id, event{Kind: "work", Version: mine.Version + 1})
	return nil
}
