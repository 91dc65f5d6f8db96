package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// read makes the row's reading. progress is told how far a clip is followed.
func (j *squadJob) read(ctx context.Context, progress func(done, of, found int)) error {
	t, err := take.Open(ctx, j.o.take)
	if err != nil {
		return err
	}
	defer t.Close()
	info := t.Info()
	before := len(j.notes) // what was said of the rater and the rules is said anew each time
	for _, w := range info.Warnings {
		j.note(w)
	}
	if err := tellTake(ctx, &j.q, t); err != nil {
		return err
	}
	var r *reading.Reading
	if j.seeds != nil {
		j.o.raw.marks = nil // which were the seeds: the marks are those of the frame
		r, err = j.follow(ctx, t, progress)
	} else {
		r, err = j.moment(ctx, t)
	}
	if err != nil {
		return err
	}
	unfiled := keepOptions{}
	e, err := unfiled.entry("", &j.q, r, j.o.raw)
	if err != nil {
		return err
	}
	j.made = &squadMemory{Entry: *e, Told: dayOf(info), Notes: withoutName(j.notes[before:], info.Name), r: r}
	return nil
}

// moment reads one frame.
func (j *squadJob) moment(ctx context.Context, t *take.Take) (*reading.Reading, error) {
	var said strings.Builder
	done := func() {}
	r, err := readMoment(streams{err: &said}, t, &j.q, j.o.track, j.o.at, &done)
	j.note(said.String())
	if err != nil {
		return nil, err
	}
	f, err := t.Frame(ctx, r.Take.Frame)
	if err != nil {
		return nil, err
	}
	if f.Damaged {
		j.note(fmt.Sprintf("the file is damaged before frame %d: parts of its picture may be made up", r.Take.Frame))
	}
	return r, nil
}

// follow follows the stickers and reads the peak. Where the clip is cut, what was
// followed until then counts, if it peaks there.
func (j *squadJob) follow(ctx context.Context, t *take.Take, progress func(done, of, found int)) (*reading.Reading, error) {
	if err := seedsIn(t, j.q.Marks); err != nil {
		return nil, err
	}
	if err := served(&j.q, j.seeds); err != nil {
		return nil, err
	}
	track, err := followTake(ctx, t, j.seeds, j.q.Marks.Facing, progress, nil)
	var known *sticker.Error
	if cut := errors.As(err, &known) && known.Problem == sticker.Cut && len(track.Frames) > 0; err != nil && !cut {
		return nil, err
	}
	r, failed := readPeak(&j.q, track, readout(t.Info().Orientation))
	if failed != nil {
		return nil, failed
	}
	for _, jump := range r.Peak.Jumps {
		j.note(jump.String() + ": something else may have been followed there")
	}
	if d := damagedTrack("the clip", track); d != nil {
		j.note(d.Error())
	}
	if err != nil {
		j.note(fmt.Sprintf("%v; what is told is from frames %d to %d", err, track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame))
	}
	return r, nil
}

// date decides on which day the take was made: what the row or the flag says, else
// what the take says.
func (j *squadJob) date() {
	said, told := j.o.keep.day, j.made.Told
	if j.day = said; said == "" {
		j.day = told
	}
	if said != "" && told != "" && said != told {
		j.note(fmt.Sprintf("the take says that it was made on %s; %s is taken, as it was said", told, said))
	}
}
