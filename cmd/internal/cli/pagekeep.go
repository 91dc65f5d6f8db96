package cli

import (
	"context"
	"fmt"

	"ecart/cmd/internal/page"
)

// pageKeeper keeps readings of the page in the journal, as 'ecart read --keep' does.
type pageKeeper struct{ journal string }

// Rater is the rater's own placement figure, as 'ecart read --rater' uses it.
func (p pageKeeper) Rater(ctx context.Context, name string) (priors []byte, err error) {
	priors, _, err = ownPriors(ctx, p.journal, name, nil)
	return priors, err
}

func (p pageKeeper) Keep(ctx context.Context, k page.Kept) (where string, err error) {
	o := keepOptions{athlete: k.Athlete, state: k.State, condition: k.Condition, setup: k.Setup, rater: k.Rater, note: k.Note}
	e, err := o.entry(k.Day, &k.Request, k.Reading, asRead{priors: k.Priors})
	if err != nil {
		return "", err
	}
	kept, err := keepEntry(ctx, p.journal, e)
	if err != nil {
		return "", err
	}
	where = fmt.Sprintf("in the journal, as reading %d", kept.id)
	if kept.near != "" {
		where += fmt.Sprintf("; %s is new there, and there is a %s", kept.name, kept.near)
	}
	return where, nil
}
