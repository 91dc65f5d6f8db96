package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/take"
)

// keepOptions are how a reading is filed in the journal, as typed.
type keepOptions struct {
	athlete, journal, day, session string
	state, condition               string
	rater, setup, note             string
}

// asRead are the files that a reading was asked with, as they were read.
type asRead struct {
	file         []byte // what --marks or --seeds named: marks or a track
	marks        []byte // the same where it is marks
	lens, priors []byte
}

// addKeep adds what says how a reading is kept.
func addKeep(f *pflag.FlagSet, k *keepOptions) {
	f.StringVar(&k.athlete, "keep", "", "keep the reading in the journal for the athlete `NAME`, a pseudonym if you like; one name is one athlete. --side then also says whose side it is filed as: of a split, that of the leg in front")
	f.StringVar(&k.day, "day", "", "with --keep, the `DATE` on which the take was made, such as 2026-03-21; else that of the take itself")
	f.StringVar(&k.state, "state", "", "with --keep, the `STATE` of the body: cold, warm or after (at the end of a session)")
	f.StringVar(&k.condition, "condition", "", "with --keep, who moved the limb: `HOW` is passive (a helper or gravity), active (own strength, held) or in-skill")
	f.StringVar(&k.setup, "setup", "", "with --keep, a `NAME` for where and how the camera stood; of readings with one name, what the camera adds to both is known to cancel")
	f.StringVar(&k.session, "session", "", "with --keep, a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.note, "note", "", "with --keep, a `TEXT` to remember it by")
	f.StringVar(&k.rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
	addJournal(f, &k.journal)
}

// check looks through what is known without the take, and whether the journal can
// be written, so that no work is done for nothing.
func (k *keepOptions) check() error {
	if k.athlete == "" {
		for _, f := range []struct{ flag, value string }{{"day", k.day}, {"state", k.state}, {"condition", k.condition}, {"setup", k.setup}, {"session", k.session}, {"note", k.note}} {
			if f.value != "" {
				return &inputError{fmt.Sprintf("--%s says how a reading is kept, and --keep was not given", f.flag), "give --keep NAME, or leave it out"}
			}
		}
		return nil
	}
	return k.checkFiling(true)
}

// checkFiling looks through how readings are filed; with the journal, whether it
// can be written.
func (k *keepOptions) checkFiling(withJournal bool) error {
	if err := oneOf("state", k.state, "cold", "warm", "after"); err != nil {
		return err
	}
	if err := oneOf("condition", k.condition, "passive", "active", "in-skill"); err != nil {
		return err
	}
	if d, err := parseDay("day", k.day); err != nil {
		return err
	} else if ahead(d) {
		return &inputError{fmt.Sprintf("--day %s lies ahead of today", k.day), "give the day the take was made; if it is right, set this machine's clock"}
	}
	e := journal.Entry{Athlete: k.athlete, Session: k.session, Rater: k.rater, Setup: k.setup, Note: k.note}
	if err := e.CheckNames(); err != nil || !withJournal {
		return err
	}
	return usable(k.journal)
}

// usable says early that a journal cannot be written. One that is not there is made
// when there is something to keep.
func usable(given string) error {
	j, err := openJournal(given, journal.Options{})
	if errors.Is(err, journal.ErrAbsent) {
		return nil
	}
	if err != nil {
		return err
	}
	return j.Close()
}

// entry is a reading as it is kept: q made it, of the files raw.
func (k *keepOptions) entry(date string, q *reading.Request, r *reading.Reading, raw asRead) (*journal.Entry, error) {
	marks := bytes.TrimPrefix(raw.marks, []byte("\xef\xbb\xbf"))
	if marks == nil {
		var err error
		if marks, err = json.Marshal(q.Marks); err != nil {
			return nil, err
		}
	}
	side := string(q.Options.Side)
	if side == "" {
		side = sideOf(r)
	}
	e := &journal.Entry{Athlete: k.athlete, Day: date, Session: k.session, State: k.state, Condition: k.condition, Side: side,
		Rater: k.rater, Setup: k.setup, Note: k.note, Tool: version(),
		Marks: marks, Request: journal.NewRequest(q, raw.lens, raw.priors)}
	return e, e.SetReading(r)
}

// sideOf is the side of the body that the lines are of, where they are of one.
func sideOf(r *reading.Reading) string {
	found := map[string]bool{}
	for _, l := range r.Lines {
		for _, name := range []string{l.From, l.To} {
			for _, side := range []string{"left", "right"} {
				if strings.HasPrefix(name, side+"-") {
					found[side] = true
				}
			}
		}
	}
	if len(found) == 1 {
		for side := range found {
			return side
		}
	}
	return ""
}

// seen finds out, of a reading that is to be kept, on which day the take was made.
func (o *readOptions) seen(warn io.Writer) func(take.Info) error {
	return func(info take.Info) (err error) {
		if o.keep.athlete != "" {
			o.date, err = o.keep.date(info, warn)
		}
		return err
	}
}

// keepReading puts a reading into the journal, if that was asked, and says where.
// q makes it by itself.
func (o *readOptions) keepReading(ctx context.Context, warn io.Writer, q *reading.Request, r *reading.Reading) error {
	if o.keep.athlete == "" {
		return nil
	}
	e, err := o.keep.entry(o.date, q, r, o.raw)
	if err != nil {
		return err
	}
	k, err := keepEntry(ctx, o.keep.journal, e)
	if err != nil {
		return err
	}
	k.say(warn)
	return nil
}

// keepPeak is keepReading for the peak of what was followed.
func (o *readOptions) keepPeak(ctx context.Context, warn io.Writer, q reading.Request, r *reading.Reading, track *reading.Track, readout [2]float64) error {
	if o.keep.athlete == "" {
		return nil
	}
	at, _, err := reading.PeakRequest(q, track, readout)
	if err != nil {
		return err
	}
	o.raw.marks = nil // which were the seeds: the marks are those of the frame
	return o.keepReading(ctx, warn, &at, r)
}

// keptAt is where a reading went.
type keptAt struct {
	id         int64
	name, path string
	day        string
	near       string // where the athlete is new: another whose name is nearly the same
}

// say says where a reading went, and that the name may be mistyped.
func (k *keptAt) say(w io.Writer) {
	fmt.Fprintln(w, oneLine(fmt.Sprintf("kept as reading %d of %s, %s, in %q", k.id, k.name, k.day, k.path)))
	if k.near != "" {
		fmt.Fprintln(w, oneLine(fmt.Sprintf("%s is new in the journal; if %s was meant: ecart journal move --reading %d %q", k.name, k.near, k.id, k.near)))
	}
}

// keepEntry puts an entry into the journal, which is made where it is missing.
func keepEntry(ctx context.Context, given string, e *journal.Entry) (_ *keptAt, err error) {
	j, err := openJournal(given, journal.Options{Create: true})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	before, err := j.Athletes(ctx)
	if err != nil {
		return nil, err
	}
	id, err := j.Keep(ctx, e)
	if err != nil {
		return nil, err
	}
	k := &keptAt{id: id, name: e.Athlete, day: e.Day, path: j.Path()}
	var others []string
	for _, a := range before {
		if strings.EqualFold(a.Name, e.Athlete) {
			return k, nil
		}
		others = append(others, a.Name)
	}
	k.near = geometry.Nearest(e.Athlete, others)
	return k, nil
}
