package page

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"

	"ecart/cmd/internal/bidi"
	"ecart/cmd/internal/desk"
	faults "ecart/cmd/internal/fault"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// asked returns the reading that the body of a request asks for. The body is the work as the
// window shows it, stored or not.
func (s *Server) asked(w http.ResponseWriter, r *http.Request) (*desk.Asked, error) {
	q, rater, err := s.unrated(w, r)
	if err != nil {
		return nil, err
	}
	return q, s.config.Desk.ApplyRater(r.Context(), q, rater)
}

// unrated is asked without the rater's own placement figure, which is in the journal and
// does not change the angle. It returns the rater too.
func (s *Server) unrated(w http.ResponseWriter, r *http.Request) (q *desk.Asked, rater string, err error) {
	var work Work
	if err := s.receive(w, r, mostWork, &work); err != nil {
		return nil, "", err
	}
	if err := work.check(); err != nil {
		return nil, "", err
	}
	q, err = s.request(r.Context(), r.PathValue("id"), &work, work.Frame)
	return q, work.Rater, err
}

// quick sends the angle alone with its fan, while a mark is being dragged.
func (s *Server) quick(w http.ResponseWriter, r *http.Request) {
	q, _, err := s.unrated(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	angle, err := reading.Quick(q.Request)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	answer(w, http.StatusOK, map[string]any{"angle_deg": angle, "shown": minus(fmt.Sprintf("%.1f", angle)) + "°", "fan": quickFan(q.Request, angle)})
}

// reading sends the full reading: the Reading itself, and the sheet's words and
// drawings for it.
func (s *Server) reading(w http.ResponseWriter, r *http.Request) {
	q, rater, err := s.unrated(w, r)
	words := ""
	if err == nil {
		err = s.config.Desk.ApplyRater(r.Context(), q, rater)
	}
	if err == nil {
		words, err = s.config.Desk.RaterWords(r.Context(), rater)
	}
	var got *reading.Reading
	if err == nil {
		got, err = s.readOne(r.Context(), q)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, map[string]any{"reading": got, "sheet": s.sheetOf(got, q.Request), "rater": faults.Worded(words, door)})
}

// readOne reads, one at a time: the draws of a reading keep a processor busy. If the frame
// is the nearest to the peak of the track, the reading is of the peak, which lies between
// frames. q is completed, so that it alone gives the same reading.
func (s *Server) readOne(ctx context.Context, q *desk.Asked) (*reading.Reading, error) {
	select {
	case s.read <- struct{}{}:
		defer func() { <-s.read }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	q.SetNear()
	id := q.Request.Take.SHA256
	got, _, err := q.Read(ctx, func(ctx context.Context, n int) (bool, error) { return s.damaged(ctx, id, n) })
	if a, missing := s.store.About(id); got != nil && missing == nil {
		got.Take.SHA256 = a.Sum()
	}
	return got, onPage(err)
}

// stored reads the frame in the address by its stored marks.
func (s *Server) stored(r *http.Request) (*reading.Reading, *desk.Asked, error) {
	n, err := frameNumber(r)
	if err != nil {
		return nil, nil, err
	}
	return s.readAt(r.Context(), r.PathValue("id"), n)
}

// readAt reads a frame by the stored marks.
func (s *Server) readAt(ctx context.Context, id string, n int) (*reading.Reading, *desk.Asked, error) {
	work, err := s.works.load(id)
	if err != nil {
		return nil, nil, err
	}
	q, err := s.request(ctx, id, work, n)
	if err != nil {
		return nil, nil, err
	}
	if err := s.config.Desk.ApplyRater(ctx, q, work.Rater); err != nil {
		return nil, nil, err
	}
	got, err := s.readOne(ctx, q)
	return got, q, err
}

// readingJSON returns a reading as the command line prints it.
func readingJSON(r *reading.Reading) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(r)
	return bidi.EscapeJSON(b.Bytes()), err
}

// wanted says what a measure needs to be told, by option.
var wanted = map[string]string{"facing": "say which way the chest faces", "leg": "say what stands for the leg", "side": "say whose marks count"}

// onPage words an error for the page.
func onPage(err error) error {
	var own *fault
	var there *folder.Error
	var known hinted
	if err == nil || errors.As(err, &own) || errors.As(err, &there) || !errors.As(err, &known) {
		return err
	}
	what, do := faults.Words(err, door)
	f := fault{http.StatusUnprocessableEntity, what, do}
	if o := new(geometry.OptionError); errors.As(err, &o) {
		f.do = wanted[o.Option] + ": " + o.Accepted()
		if o.Option == "facing" {
			return &unfaced{f, o.Choices}
		}
	}
	if beyond := new(reading.BeyondBodies); errors.As(err, &beyond) {
		return &unconfirmed{&f, beyond.AngleDeg}
	}
	return &f
}

// quickFan returns the fan while a mark is dragged: the two lines and the angle
// between them, without an interval; nil if they cannot be drawn.
func quickFan(q reading.Request, angle float64) *fan {
	at := map[string]geometry.Point{}
	n := map[string]float64{}
	for _, m := range q.Marks.Marks { // the mean of a landmark's placements
		n[m.Landmark]++
		p := at[m.Landmark]
		at[m.Landmark] = geometry.Point{X: p.X + (m.X-p.X)/n[m.Landmark], Y: p.Y + (-m.Y-p.Y)/n[m.Landmark]}
	}
	bound, err := q.Measure.Bind(at, q.Options)
	if err != nil {
		return nil
	}
	r := reading.Reading{AngleDeg: angle, PictureAngleDeg: angle, IntervalDeg: [2]float64{math.NaN(), math.NaN()}, Turn: -bound.Turn()}
	names := bound.Landmarks()
	for i, l := range bound.Lines() {
		from := at[names[l.From]]
		to, name := from.Add(l.Fixed), "level"
		if l.To >= 0 {
			to, name = at[names[l.To]], names[l.To]
		}
		if l.Mirrored {
			to.X = 2*from.X - to.X
		}
		r.Lines[i] = reading.Line{From: names[l.From], To: name, FromX: from.X, FromY: -from.Y, ToX: to.X, ToY: -to.Y, Fixed: l.To < 0 || l.Mirrored}
	}
	f := fanOf(&r)
	return &f
}

// request returns the reading that the work on a frame asks for. It is put together
// as the command line does it from the same marks and setup, so that both give the
// same Reading.
//
// If nothing is marked on the frame by hand and stickers were followed through it,
// their marks are read, and Track is set.
func (s *Server) request(ctx context.Context, id string, work *Work, frame int) (*desk.Asked, error) {
	q := &desk.Asked{Request: reading.Request{
		Marks: work.marks(frame), Camera: work.Camera, ObliqueDeg: work.ObliqueDeg, StatureMm: work.StatureCm * 10, DistanceM: work.DistanceM, FocalMm: work.FocalMm,
		Options:    geometry.Options{Leg: geometry.Leg(work.Leg), Side: geometry.Side(work.Side), Facing: geometry.Facing(work.Facing)},
		Confidence: 0.95, Seed: 1,
	}}
	if work.Confidence != 0 {
		q.Request.Confidence = work.Confidence
	}
	if work.Lens != "" {
		data, name, err := s.lenses.file(work.Lens)
		if err != nil {
			return nil, err
		}
		q.Sources.Lens = data
		if q.Request.Lens, err = desk.ParseLens(name, data); err != nil {
			return nil, err
		}
	}
	if work.Skill == "" && !desk.IsMeasure(work.Measure) {
		return nil, refuse(http.StatusUnprocessableEntity, "neither a skill nor a measure was chosen", "choose what is to be read")
	}
	if err := s.config.Desk.Target(&q.Request, work.Skill, work.Measure); err != nil {
		return nil, err
	}
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return nil, err
	}
	defer done()
	a, err := s.store.About(id)
	if err != nil {
		return nil, err
	}
	i := t.Info()
	if frame < 0 || frame >= i.Frames {
		return nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%q has no frame %d: it has %d", a.Name, frame, i.Frames), "choose another moment")
	}
	i.Name = a.Name
	q.Describe(i, id)
	if !work.byHand(frame) {
		if q.Track, err = s.followed(id, frame); err != nil {
			return nil, err
		}
	}
	if err := q.SetMarks(frame, t.Time(frame)); err != nil {
		return nil, err
	}
	if p := work.Frames[frame]; p != nil && p.BeyondDeg != 0 {
		a, err := reading.Quick(q.Request) // reading it reports the error
		q.Request.Beyond = err == nil && math.Abs(a-p.BeyondDeg) <= sameAngle
	}
	return q, nil
}

// followed returns a copy of the track of a clip if all of its stickers are seen in a frame,
// else nil.
func (s *Server) followed(id string, frame int) (*reading.Track, error) {
	t, err := s.follows.track(id)
	if err != nil || t == nil {
		return nil, err
	}
	i, ok := t.At(frame)
	if !ok {
		return nil, nil
	}
	if _, ok := t.MarksAt(i); !ok {
		return nil, nil
	}
	return copied(t), nil
}
