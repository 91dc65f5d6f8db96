package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"

	"github.com/goccy/go-yaml"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// leastFreedom is the fewest degrees of freedom from which a rater's figure is used:
// from 3 on Student's t has a finite variance.
const leastFreedom = 3

// ApplyRater replaces the usual placement figure of a reading by the rater's own, if the
// journal has one, and notes which figure is used. It goes into the priors, so that it is
// kept with the reading; marks with a figure of their own keep theirs. A rater named ""
// changes nothing.
func (d *Desk) ApplyRater(ctx context.Context, q *Asked, rater string) error {
	if rater == "" {
		return nil
	}
	file, sentence, err := d.ownPriors(ctx, rater, q.Sources.Priors)
	if err != nil {
		return err
	}
	d.opt.Note(sentence)
	if file == nil {
		return nil
	}
	q.Sources.Priors = file
	q.Request.Priors, err = reading.ParsePriors("of the rater "+strconv.Quote(rater), file)
	return err
}

// RaterWords says which placement figure a rater's readings use; "" for no rater.
func (d *Desk) RaterWords(ctx context.Context, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	_, sentence, err := d.ownPriors(ctx, name, nil)
	return sentence, err
}

// ownPriors returns the priors file, which may be empty, with the rater's own placement figure
// in it; nil if the journal has none that can be used. sentence says which figure is used.
func (d *Desk) ownPriors(ctx context.Context, name string, priors []byte) (file []byte, sentence string, err error) {
	var r journal.Rater
	err = d.InJournal(journal.Options{Read: true}, func(j *journal.Journal) (err error) {
		r, err = j.Rater(ctx, name)
		return err
	})
	switch {
	case errors.Is(err, journal.ErrAbsent):
		return nil, fmt.Sprintf("how well %s places marks is not known, and the usual figure is taken; "+fault.Operation("find out how well somebody places marks")+" finds it", name), nil
	case err != nil:
		return nil, "", err
	case r.Freedom < leastFreedom:
		return nil, fmt.Sprintf("too few placements say how well %s places marks, and the usual figure is taken; "+fault.Operation("find out how well somebody places marks")+" finds a better one", r.Name), nil
	}
	file, err = raterPriors(r, priors)
	return file, fmt.Sprintf("%s places marks to %.2g px, as found on %s", r.Name, r.SDPx, r.Day), err
}

// raterPriors returns the priors file, which may be empty, with the placement figure of
// a rater in it. The figure s was estimated from a scatter with f degrees of freedom, so
// that a placement follows Student's t, scaled by s: its standard deviation is
// s sqrt(f / (f - 2)) (JCGM 101:2008, 6.4.9).
func raterPriors(r journal.Rater, file []byte) ([]byte, error) {
	var all yaml.MapSlice
	if err := yaml.Unmarshal(file, &all); err != nil {
		return nil, err
	}
	if len(all) == 0 {
		all = yaml.MapSlice{{Key: "schema", Value: "ecart/priors/1"}}
	}
	mine := yaml.MapItem{Key: "placement", Value: yaml.MapSlice{
		{Key: "sd_px", Value: r.SDPx * math.Sqrt(r.Freedom/(r.Freedom-2))},
		{Key: "long_side_px", Value: r.LongSidePx},
		{Key: "why", Value: fmt.Sprintf("%s%s%s: %.4g px with %.4g degrees of freedom", r.Name, journal.RaterSentence, r.Day, r.SDPx, r.Freedom)},
		{Key: "provenance", Value: "measured"},
	}}
	for i := range all {
		if all[i].Key == "placement" {
			all[i] = mine
			return yaml.Marshal(all)
		}
	}
	return yaml.Marshal(append(all, mine))
}
