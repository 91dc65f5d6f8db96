package page

import (
	"cmp"
	"context"
	"fmt"
	"net/http"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// request is the reading that the work on a frame asks for. It is put together
// as the command line does with the same marks and setup, so that the same
// Reading comes of it.
func (s *Server) request(ctx context.Context, id string, work *Work, frame int) (reading.Request, error) {
	q := reading.Request{
		Marks: work.marks(frame), Camera: work.Camera, StatureMm: work.StatureCm * 10, DistanceM: work.DistanceM, FocalMm: work.FocalMm,
		Options:    geometry.Options{Leg: geometry.Leg(work.Leg), Side: geometry.Side(work.Side), Facing: geometry.Facing(work.Facing)},
		Confidence: 0.95, Seed: 1,
	}
	name := work.Measure
	if work.Skill != "" {
		skill, err := s.config.Skills.Find(work.Skill)
		if err != nil {
			return q, err
		}
		q.Skill = &skill
		name = cmp.Or(name, skill.Measure)
	}
	m, ok := geometry.Lookup(name)
	if !ok {
		return q, refuse(http.StatusUnprocessableEntity, "neither a skill nor a measure was chosen", "choose what is to be read")
	}
	q.Measure = m
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return q, err
	}
	defer done()
	a, err := s.store.about(id)
	if err != nil {
		return q, err
	}
	i := t.Info()
	if frame < 0 || frame >= i.Frames {
		return q, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q has no frame %d: it has %d", a.Name, frame, i.Frames), "choose another moment")
	}
	q.Still = i.Still
	if f := i.FocalLength35; q.FocalMm == 0 && f >= 8 && f <= 1000 { // a still that says something else says nothing
		q.FocalMm = f
	}
	q.Take = reading.Take{Name: a.Name, SHA256: id, Frame: frame, TimeS: t.Time(frame).Seconds(), WidthPx: i.Width, HeightPx: i.Height}
	return q, nil
}
