package uncertainty

import (
	"cmp"
	"math"
	"slices"
	"sync"
)

// Row is one source of a budget: the standard uncertainty from this source alone, in
// units of the output, and its share of the total variance. Both are negative only in
// the interaction's row, if all sources together give less variance than the sum of
// the single ones.
type Row struct {
	Source   string
	Standard float64
	Share    float64
}

// Interaction names the row for the difference between the total variance and the sum
// over the single sources.
const Interaction = "interaction"

// budgetDraws is the number of draws per source, one batch. A standard deviation from n
// independent draws has the relative standard uncertainty 1/sqrt(2n), 0.7 per cent
// here; a lattice's is smaller.
const budgetDraws = batchSize

// Budget varies each source alone, with the others at their means, and returns the rows
// in descending order, followed by a row for the interaction: var(all) - sum var(alone),
// whose Standard is the square root with the same sign. Blocks with the same Source
// name are one source.
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
			sd := singleSource(blocks, model, name, seed, math.MaxUint64-uint64(s)) // a batch number that MonteCarlo does not reach
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

// singleSource returns the standard deviation with one source drawn and the others at
// their means; NaN if the model returns NaN or an infinity.
func singleSource(blocks []Block, model Model, name string, seed, batch uint64) float64 {
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
