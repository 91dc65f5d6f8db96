package change

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
)

// oneMovementS is the least time between two movements of one athlete, s: a flight of 0.3 s, which rises 0.11 m, and 0.2 s
// on the floor. Frames of one take that are nearer to each other show the same movement.
const oneMovementS = 0.5

// sameMovement reports whether two readings are of one picture, or of two frames of one movement.
func sameMovement(a, b *Reading) bool {
	return a.Picture != "" && a.Picture == b.Picture || a.Take != "" && a.Take == b.Take && math.Abs(a.AtS-b.AtS) < oneMovementS
}

// onePerPicture merges the readings of one picture into one reading, and those of neighbouring frames of one clip: marking it
// again, or a frame beside it, repeats the same movement, camera and body, so only the placement error averages
// out. Readings by different raters are merged too, since how much of their other errors
// they share is not known. Readings of unknown pictures are kept as they are. Several leaps in one clip stay several readings.
//
// The result has the mean angle; its uncertainty is that of the first reading with
// the placement's variance divided by the number of readings. It returns a note for
// each picture that was marked more than once.
func onePerPicture(rs []Reading) (out []Reading, notes []string) {
	index := map[string][]int{} // groups of the same traits
	groups := [][]Reading{}
	for _, r := range rs {
		key := groupKey(&r, []trait{byDefinition, bySide, byVariant, byCondition, byState}) + session(&r)
		k := slices.IndexFunc(index[key], func(i int) bool { return sameMovement(&groups[i][0], &r) })
		if k < 0 {
			index[key] = append(index[key], len(groups))
			groups = append(groups, []Reading{r})
			continue
		}
		i := index[key][k]
		groups[i] = append(groups[i], r)
	}
	for _, g := range groups {
		r := g[0]
		if n := float64(len(g)); n > 1 {
			r.AngleDeg = 0
			r.IDs = nil
			for i := range g {
				r.AngleDeg += g[i].AngleDeg / n
				r.IDs = append(r.IDs, g[i].ID)
			}
			slices.Sort(r.IDs)
			placement := math.Min(r.Sources[reading.SourcePlacement], r.StandardDeg) // no more than the total
			variance := r.StandardDeg * r.StandardDeg
			less := placement * placement * (1 - 1/n)
			shrink := math.Sqrt(1 - less/variance)
			r.Sources = cloneSources(r.Sources)
			r.Sources[reading.SourcePlacement] = placement / math.Sqrt(n)
			r.StandardDeg *= shrink
			shift := r.AngleDeg - g[0].AngleDeg
			// the distribution of the first reading, shifted to the mean and narrowed about it
			r.Density.FromDeg = r.AngleDeg + shrink*(r.Density.FromDeg+shift-r.AngleDeg)
			r.Density.StepDeg *= shrink
			r.Density.Values = slices.Clone(r.Density.Values)
			if slices.ContainsFunc(g, func(o Reading) bool { return o.Picture != g[0].Picture }) {
				notes = append(notes, fmt.Sprintf("readings %s are of frames within half a second of one clip: they are of one movement and count as one", listIDs(r.IDs)))
			} else {
				notes = append(notes, fmt.Sprintf("readings %s are of one picture, which was marked %s: they count as one", listIDs(r.IDs), timesWord(len(g))))
			}
		}
		out = append(out, r)
	}
	return out, notes
}

func cloneSources(m map[string]float64) map[string]float64 {
	out := map[string]float64{}
	for k, v := range m {
		out[k] = v
	}
	return out
}

func listIDs(ids []int64) string {
	var s []string
	for _, id := range ids {
		s = append(s, fmt.Sprint(id))
	}
	return text.And(s)
}

func timesWord(n int) string {
	if n == 2 {
		return "twice"
	}
	return number(n) + " times"
}

// ids lists the numbers of the kept readings that r was merged from.
func (r *Reading) ids() []int64 {
	if r.IDs != nil {
		return r.IDs
	}
	return []int64{r.ID}
}
