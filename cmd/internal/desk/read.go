package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/take"
)

// Result is the result of reading a take.
type Result struct {
	Reading *reading.Reading
	Frame   *take.Frame // that was read
	Damage  string      // what is wrong with its picture, "" if nothing is
}

// Open opens a take.
func (d *Desk) Open(ctx context.Context, path string) (*take.Take, error) {
	d.opt.Doing(fmt.Sprintf("opening %q", path))
	defer d.opt.Doing("")
	return take.Open(ctx, path)
}

// Read reads the frame or the peak that was asked for.
func (d *Desk) Read(ctx context.Context, t *take.Take, q *Asked) (*Result, error) {
	defer d.opt.Doing("")
	if err := q.DescribeTake(ctx, t); err != nil {
		return nil, err
	}
	if err := d.choose(t, q); err != nil {
		return nil, Optioned(err)
	}
	out := &Result{}
	var err error
	out.Reading, out.Damage, err = q.Read(ctx, func(ctx context.Context, n int) (damaged bool, err error) {
		if out.Frame, err = t.Frame(ctx, n); err != nil {
			return false, err
		}
		return out.Frame.Damaged, nil
	})
	return out, err
}

// choose chooses the frame asked for, or the peak of a track.
func (d *Desk) choose(t *take.Take, q *Asked) error {
	info := t.Info()
	if q.At == AtPeak {
		if q.Track == nil {
			return fault.New(fmt.Sprintf("%s peak asks for the peak of one frame's marks in %q", fault.Option("at"), info.Name), "give "+fault.Option("marks")+" the CSV that "+fault.Operation("follow stickers")+" wrote")
		}
		if last := q.Track.Frames[len(q.Track.Frames)-1].Frame; last >= info.Frames {
			return fault.New(fmt.Sprintf("the track has a frame %d, and %q has %d frames", last, info.Name, info.Frames), "give the track that was followed through this clip")
		}
		d.opt.Doing(fmt.Sprintf("reading the peak of %q", info.Name))
		return q.SetPeak()
	}
	if q.At == "" {
		if err := FrameNamed(q.Request.Marks, info); err != nil {
			return err
		}
	}
	n, note, err := frameAsked(t, q.At, q.Request.Marks.Frame)
	if err != nil {
		return err
	}
	if q.Track == nil && note != "" && !q.Request.Marks.NoFrame {
		d.opt.Note(note)
	}
	if err := q.SetMarks(n, t.Time(n)); err != nil {
		return err
	}
	q.setMoment()
	d.opt.Doing(fmt.Sprintf("reading frame %d of %q", n, info.Name))
	return nil
}

// DescribeTake is Describe, which waits for the hash of the take's file. The error is that
// of ctx.
func (q *Asked) DescribeTake(ctx context.Context, t *take.Take) error {
	sum, err := t.SHA256(ctx)
	if err == nil {
		q.Describe(t.Info(), sum)
	}
	return err
}

// Describe puts the metadata of the take into the request.
func (q *Asked) Describe(info take.Info, sha256 string) {
	q.readout = readout(info.Orientation)
	q.Request.Still = info.Still
	if f := info.FocalLength35; q.Request.FocalMm == 0 && f >= 8 && f <= 1000 { // values outside this range in a file are wrong
		q.Request.FocalMm = f
	}
	q.Request.Take = reading.Take{Name: info.Name, SHA256: sha256, WidthPx: info.Width, HeightPx: info.Height, Unjudged: info.Unjudged}
}

// SetMarks chooses frame n, with its time from the first frame. If there is a track, its marks
// in that frame are used.
func (q *Asked) SetMarks(n int, at time.Duration) error {
	q.Request.Take.Frame, q.Request.Take.TimeS = n, at.Seconds()
	if q.Track == nil {
		return nil
	}
	i, ok := q.Track.At(n)
	if !ok {
		return fault.New(fmt.Sprintf("the track has no frame %d", n), fmt.Sprintf("it has frames %d to %d; %s peak reads its peak", q.Track.Frames[0].Frame, q.Track.Frames[len(q.Track.Frames)-1].Frame, fault.Option("at")))
	}
	m, ok := q.Track.MarksAt(i)
	if !ok {
		return fault.New(fmt.Sprintf("a sticker is lost in frame %d of the track", n), "read another frame, or "+fault.Option("at")+" peak")
	}
	q.Request.Marks = reading.WithStand(m, q.Request.Marks)
	q.Sources.Marks = nil // the marks are those of the frame
	return nil
}

// setMoment computes by how much the chosen frame may have missed the peak of the track.
func (q *Asked) setMoment() {
	if q.Track != nil {
		q.Request.Moment = reading.MissedBeside(q.Request, q.Track, q.Request.Take.Frame)
	}
}

// SetPeak chooses the peak of the track. It writes the angle of every frame into the track.
func (q *Asked) SetPeak() error {
	at, p, err := reading.PeakRequest(q.Request, q.Track, q.readout)
	if err == nil {
		q.setPeak(at, p)
	}
	return err
}

// SetNear chooses the peak of the track if the frame that was chosen is the nearest to it. It
// writes the angle of every frame into the track.
func (q *Asked) SetNear() {
	if q.Track == nil {
		return
	}
	if at, p, err := reading.PeakRequest(q.Request, q.Track, q.readout); err == nil && p.Frame == q.Request.Take.Frame { // reading the frame reports an error
		q.setPeak(at, p)
		return
	}
	q.setMoment()
}

func (q *Asked) setPeak(at reading.Request, p reading.Peak) {
	q.Request, q.peak = at, &p
	q.Sources.Marks = nil // the marks are those of the frame
}

// Read reads what was chosen. damaged reports whether a frame of the take is damaged; it may
// be nil if that is known already. If the frame is damaged, damage says so, and the reading has
// it among its cautions.
func (q *Asked) Read(ctx context.Context, damaged func(ctx context.Context, n int) (bool, error)) (r *reading.Reading, damage string, err error) {
	if r, err = reading.Read(q.Request); err != nil {
		return nil, "", Optioned(err)
	}
	n := q.Request.Take.Frame
	if damaged != nil {
		is, err := damaged(ctx, n)
		if err != nil {
			return nil, "", err
		}
		if is {
			damage = fmt.Sprintf("the file is damaged before frame %d: parts of its picture may be made up", n)
			if len(q.Request.Take.Damaged) == 0 {
				q.Request.Take.Damaged = [][2]int{{n, n}}
				if r, err = reading.Read(q.Request); err != nil {
					return nil, "", Optioned(err)
				}
			}
		}
	}
	r.Peak = q.peak
	return r, damage, nil
}

// ReadPeak reads the peak of the track; see SetPeak.
func (q *Asked) ReadPeak(ctx context.Context) (*reading.Reading, error) {
	if err := q.SetPeak(); err != nil {
		return nil, Optioned(err)
	}
	r, _, err := q.Read(ctx, nil)
	return r, err
}

// Optioned marks the option in the error of a measure that needs it.
func Optioned(err error) error {
	var o *geometry.OptionError
	if !errors.As(err, &o) {
		return err
	}
	hint := "give " + fault.Option(o.Option) + " as " + o.Accepted()
	if o.Option == "facing" {
		hint += ", or \"facing\" in the marks file"
	}
	return fault.New(o.Error(), hint).Because(o)
}

// readout returns the direction in the upright picture in which the sensor's rows are read out,
// from the stored orientation (EXIF numbering).
func readout(orientation int) [2]float64 {
	switch orientation {
	case 3, 4:
		return [2]float64{0, -1}
	case 5, 8:
		return [2]float64{1, 0}
	case 6, 7:
		return [2]float64{-1, 0}
	}
	return [2]float64{0, 1}
}
