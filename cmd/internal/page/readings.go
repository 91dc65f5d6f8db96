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
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// asked is the body of a request for a reading: the work as it stands in the
// window, stored or not.
func (s *Server) asked(w http.ResponseWriter, r *http.Request) (q reading.Request, along *track, err error) {
	q, along, rater, err := s.unrated(w, r)
	if err == nil {
		_, err = s.rated(r.Context(), &q, rater)
	}
	return q, along, err
}

// unrated is asked without the rater's own figure, which is in the journal and says
// nothing of the angle itself.
func (s *Server) unrated(w http.ResponseWriter, r *http.Request) (q reading.Request, along *track, rater string, err error) {
	var work Work
	if err := s.receive(w, r, mostWork, &work); err != nil {
		return q, nil, "", err
	}
	if err := work.check(); err != nil {
		return q, nil, "", err
	}
	q, along, err = s.request(r.Context(), r.PathValue("id"), &work, work.Frame)
	return q, along, work.Rater, err
}

// quick sends the angle alone with its fan, while a mark is being dragged.
func (s *Server) quick(w http.ResponseWriter, r *http.Request) {
	q, _, _, err := s.unrated(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	angle, err := reading.Quick(q)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	answer(w, http.StatusOK, map[string]any{"angle_deg": angle, "shown": minus(fmt.Sprintf("%.1f", angle)) + "°", "fan": quickFan(q, angle)})
}

// reading sends the full reading: the Reading itself, and the sheet's words and
// drawings for it.
func (s *Server) reading(w http.ResponseWriter, r *http.Request) {
	q, along, err := s.asked(w, r)
	var got *reading.Reading
	if err == nil {
		got, _, err = s.readOne(r.Context(), q, along)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, map[string]any{"reading": got, "sheet": s.sheetOf(got, q)})
}

// readOne reads, one at a time: the draws of one keep a processor busy. Where the
// frame is that of the peak of the track along, the reading is of the peak, which
// lies between frames. made is the request that makes the reading by itself.
func (s *Server) readOne(ctx context.Context, q reading.Request, along *track) (got *reading.Reading, made reading.Request, err error) {
	select {
	case s.read <- struct{}{}:
		defer func() { <-s.read }()
	case <-ctx.Done():
		return nil, q, ctx.Err()
	}
	if ctx.Err() != nil {
		return nil, q, ctx.Err()
	}
	made = q
	var peak *reading.Peak
	if along != nil {
		at, p, err := reading.PeakRequest(q, copied(along.Track), along.readout)
		if err == nil && p.Frame == q.Take.Frame { // else the reading of the frame says what is wrong
			made, peak = at, &p
		} else {
			made.Moment = reading.MissedBeside(q, copied(along.Track), q.Take.Frame)
		}
	}
	if len(made.Take.Damaged) == 0 { // a peak knows the damage in its track
		if made.Take.Damaged, err = s.damagedAt(ctx, made.Take.SHA256, made.Take.Frame); err != nil {
			return nil, made, err
		}
	}
	if got, err = reading.Read(made); err != nil {
		return nil, made, onPage(err)
	}
	got.Peak = peak
	return got, made, nil
}

// damagedAt is the frame n of a take as [reading.Take.Damaged] has it, nil where the frame is sound.
func (s *Server) damagedAt(ctx context.Context, id string, n int) ([][2]int, error) {
	done, err := s.turn(ctx, false)
	if err != nil {
		return nil, err
	}
	defer done()
	f, err := s.decoded(ctx, id, n)
	if err != nil || !f.Broken() {
		return nil, err
	}
	return [][2]int{{n, n}}, nil
}

// stored is the reading of a frame from what is stored.
func (s *Server) stored(r *http.Request) (*reading.Reading, reading.Request, error) {
	id := r.PathValue("id")
	n, err := frameNumber(r)
	if err != nil {
		return nil, reading.Request{}, err
	}
	work, err := s.works.load(id)
	if err != nil {
		return nil, reading.Request{}, err
	}
	q, along, err := s.request(r.Context(), id, work, n)
	if err == nil {
		_, err = s.rated(r.Context(), &q, work.Rater)
	}
	if err != nil {
		return nil, q, err
	}
	got, _, err := s.readOne(r.Context(), q, along)
	return got, q, err
}

// readingJSON is a reading as the command line prints it.
func readingJSON(r *reading.Reading) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(r)
	return bidi.EscapeJSON(b.Bytes()), err
}

// onPage words what a reading wants to be told as the sheet's own parts, where
// the command line has flags.
func onPage(err error) error {
	var known hinted
	if err == nil || !errors.As(err, &known) {
		return err
	}
	f := fault{http.StatusUnprocessableEntity, unflagged(known.Error()), unflagged(known.Hint())}
	if o := new(geometry.OptionError); errors.As(err, &o) && o.Option == "facing" {
		return &unfaced{f, o.Choices}
	}
	if beyond := new(reading.BeyondBodies); errors.As(err, &beyond) {
		return &unconfirmed{&f, beyond.AngleDeg}
	}
	return &f
}

// quickFan is the fan while a mark is dragged: the two lines and the angle
// between them, without an interval. It is nil where they cannot be drawn.
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
		r.Lines[i] = reading.Line{From: names[l.From], To: name, FromX: from.X, FromY: -from.Y, ToX: to.X, ToY: -to.Y, Fixed: l.To < 0}
	}
	f := fanOf(&r)
	return &f
}
