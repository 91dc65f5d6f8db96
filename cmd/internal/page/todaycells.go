package page

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
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

// fillWork puts a row's cells and its marks into the work on its take. left is what the page
// cannot take over.
func (s *Server) fillWork(k *Work, row *desk.ListRow, marks []*reading.Marks) (left []string, err error) {
	a := &row.Ask
	a.Confidence = 0.95 // a list has none
	if err := a.Check(); err != nil {
		return nil, err
	}
	if a.Skill != "" || a.Measure != "" {
		var q reading.Request
		if err := s.config.Desk.Target(&q, a.Skill, a.Measure); err != nil {
			return nil, err
		}
		k.Skill, k.Measure = "", q.Measure.Name
		if q.Skill != nil {
			k.Skill = q.Skill.Rulebook + "/" + q.Skill.Name
		}
	}
	for _, x := range []struct {
		to   *string
		from string
	}{{&k.Leg, a.Leg}, {&k.Side, a.Side}, {&k.Facing, a.Facing}, {&k.Rater, row.Filing.Rater}} {
		if x.from != "" {
			*x.to = x.from
		}
	}
	for _, x := range []struct {
		option, text string
		unit         float64 // mm
		to           *float64
	}{{"stature", a.Stature, 10, &k.StatureCm}, {"distance", a.Distance, 1000, &k.DistanceM}, {"focal", a.Focal, 1, &k.FocalMm}} {
		v, err := desk.Length(x.option, x.text, x.unit)
		if err != nil {
			return left, err
		}
		if v > 0 {
			*x.to = v
		}
	}
	if a.Camera != "" || a.ObliqueGiven { // both say how square the camera is
		k.Camera, k.ObliqueDeg = a.Camera, a.Oblique
	}
	if k.marked() > 0 { // marks of the page stay
		return left, k.check()
	}
	at := a.At
	if len(marks) > 1 { // each has its own frame
		at = ""
	}
	for _, m := range slices.Backward(marks) { // the first one's frame is then shown
		more, err := k.place(m, at, len(row.Seeds) > 0)
		if err != nil {
			return left, err
		}
		left = append(left, more...)
	}
	return left, k.check()
}

// place puts the marks of a file on their frame. left is what the page cannot take over.
func (k *Work) place(m *reading.Marks, at string, seeds bool) (left []string, err error) {
	frame := m.Frame
	if at != "" && at != desk.AtPeak {
		n, err := strconv.Atoi(at)
		if err != nil {
			return []string{"its cell under \"at\" is not read here; the marks stand on their own frame"}, nil
		}
		frame = n
	}
	p := &Placed{Rounds: []map[string]reading.Pixel{}, Seeds: seeds, Level: []reading.Pixel{}, Corners: []reading.Pixel{}}
	times := map[string]int{}
	own := false
	for _, one := range m.Marks {
		i := times[one.Landmark]
		times[one.Landmark]++
		if i == len(p.Rounds) {
			p.Rounds = append(p.Rounds, map[string]reading.Pixel{})
		}
		p.Rounds[i][one.Landmark] = reading.Pixel{one.X, one.Y}
		own = own || one.SDPx != nil || one.Covariance != nil || one.Found != reading.NotSaid
	}
	if own {
		left = append(left, "its marks say each for itself how well they stand or were found, which is not read here")
	}
	if m.Level != nil {
		p.Level = m.Level[:]
	}
	if m.Plane != nil {
		p.Corners, p.WidthM, p.HeightM = m.Plane.Corners[:], m.Plane.WidthM, m.Plane.HeightM
	}
	if m.Facing != "" {
		k.Facing = m.Facing
	}
	if m.Found != reading.NotSaid {
		k.Found = m.Found
	}
	frames := map[int]*Placed{frame: p}
	for n, q := range k.Frames {
		if n != frame {
			frames[n] = q
		}
	}
	k.Frames, k.Frame = frames, frame
	return left, nil
}
