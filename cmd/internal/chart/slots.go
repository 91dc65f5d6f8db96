package chart

import "slices"

// slots places items of the given heights between lo and hi without overlap, in the order
// of their wanted middles and each as near to its own as the others allow. It returns the
// middles.
func slots(wanted, heights []float64, lo, hi float64) []float64 {
	n := len(wanted)
	order := make([]int, n)
	total := 0.0
	for i := range order {
		order[i] = i
		total += heights[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case wanted[a] < wanted[b]:
			return -1
		case wanted[a] > wanted[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, n)
	// Neighbours that would overlap form a cluster about their common middle.
	type cluster struct {
		first, last int
		top, high   float64
	}
	var cs []cluster
	place := func(c *cluster) {
		sum, below := 0.0, 0.0
		for _, i := range order[c.first : c.last+1] {
			sum += wanted[i] - heights[i]/2 - below
			below += heights[i]
		}
		c.high = below
		c.top = sum / float64(c.last-c.first+1)
		c.top = max(min(c.top, hi-c.high), lo)
	}
	for j := range order {
		c := cluster{first: j, last: j}
		place(&c)
		for len(cs) > 0 && cs[len(cs)-1].top+cs[len(cs)-1].high > c.top {
			c.first = cs[len(cs)-1].first
			cs = cs[:len(cs)-1]
			place(&c)
		}
		cs = append(cs, c)
	}
	for _, c := range cs {
		y := c.top
		for _, i := range order[c.first : c.last+1] {
			out[i] = y + heights[i]/2
			y += heights[i]
		}
	}
	return out
}
