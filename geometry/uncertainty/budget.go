package uncertainty

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// Row is one source of a budget: its standard uncertainty alone, in units of
// the output, and its share of the whole variance. Signed is negative only in
// the row of the interaction, where the sources together vary less than apart.
type Row struct {
	Source   string
	Standard float64
	Share    float64
}

// Interaction names the row for what the single sources do not add up to.
const Interaction = "interaction"

// budgetDraws a source, one batch: a standard deviation from so many
// independent draws would be good to 1/sqrt(2n), 0.7 per cent; a lattice's is
// better.
const budgetDraws = batchSize

// Budget takes each source alone, the others at their estimates, and returns
// the rows largest first, with a last row for the interaction:
// var(all) - sum var(alone), its Standard the signed root of it. Sources are
// the blocks' names; blocks of one name go together.
func Budget(blocks []Block, model Model, total Distribution, seed uint64) ([]Row, error) {
	var names []string
	for i := range blocks {
		if !slices.Contains(names, blocks[i].Source) {
			names = append(names, blocks[i].Source)
		}
	}
	rows := make([]Row, len(names))
	variance := total.SD * total.SD
	var wg sync.WaitGroup
	for s, name := range names {
		wg.Go(func() {
			sd := alone(blocks, model, name, seed, math.MaxUint64-uint64(s)) // far from the batches of the whole
			rows[s] = Row{name, sd, share(sd*sd, variance)}
		})
	}
	wg.Wait()
	rest := variance
	for _, r := range rows {
		if math.IsNaN(r.Standard) {
			return nil, ErrNotFinite
		}
		rest -= r.Standard * r.Standard
	}
	slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Compare(b.Standard, a.Standard) })
	return append(rows, Row{Interaction, math.Copysign(math.Sqrt(math.Abs(rest)), rest), share(rest, variance)}), nil
}

// alone is the standard deviation with one source drawn and the others at their
// estimates; NaN where the model gives no number.
func alone(blocks []Block, model Model, name string, seed, batch uint64) float64 {
	active := make([]bool, len(blocks))
	for i := range blocks {
		active[i] = blocks[i].Source == name
	}
	d := newDrawer(blocks)
	d.only(active)
	values := make([]float64, budgetDraws)
	d.fill(values, model, seed, batch)
	_, sd := meanSD(values)
	return sd
}

func share(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return part / whole
}
