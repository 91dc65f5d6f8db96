package uncertainty

import "math"

// interval returns the ends of the probabilistically symmetric interval that contains the
// share p of the M values v: JCGM 101:2008, 7.7, y_(r) and y_(r+q) with q = pM and
// r = (M-q)/2. It reorders v. If v[0] is NaN, both ends are NaN.
func interval(v []float64, p float64) (low, high float64) {
	m := len(v)
	if math.IsNaN(v[0]) {
		return v[0], v[0]
	}
	q := int(p*float64(m) + 0.5)
	r := max((m-q+1)/2, 1)
	hi := min(r+q, m)
	low = selectAt(v, r-1)
	// the values after index r-1 are not smaller, so the upper end is one of them
	high = selectAt(v[r-1:], hi-r)
	return low, high
}

// selectAt returns the k-th smallest value (counted from 0) in linear time on average. It
// moves smaller values before it and larger ones after it (Hoare's FIND with the median
// of three as pivot).
func selectAt(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		mid := lo + (hi-lo)/2
		if v[mid] < v[lo] {
			v[mid], v[lo] = v[lo], v[mid]
		}
		if v[hi] < v[lo] {
			v[hi], v[lo] = v[lo], v[hi]
		}
		if v[hi] < v[mid] {
			v[hi], v[mid] = v[mid], v[hi]
		}
		pivot := v[mid]
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
