package uncertainty

import (
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mathext"
)

// componentByComponent builds a generating vector: each component is the one
// that makes the worst-case error of the integral in the Korobov space of
// smoothness 2 smallest, given those before it, with product weights 1/j:
//
//	e^2 = -1 + 1/N sum_k prod_j (1 + w_j 2 pi^2 B2({k z_j / N}))
//
// (Sloan and Reztsov 2002, Math. Comp. 71:263; from memory).
func componentByComponent(n, dims int) []int {
	omega := make([]float64, n)
	for k := range omega {
		x := float64(k) / float64(n)
		omega[k] = 2 * math.Pi * math.Pi * (x*x - x + 1.0/6)
	}
	product := make([]float64, n)
	for k := range product {
		product[k] = 1
	}
	var z []int
	for j := range dims {
		best, least := 1, math.Inf(1)
		for c := 1; c <= n/2 && j > 0; c++ {
			var sum float64
			at := 0
			for k := range n {
				sum += product[k] * omega[at]
				if at += c; at >= n {
					at -= n
				}
			}
			if sum < least {
				best, least = c, sum
			}
		}
		z = append(z, best)
		for k := range product {
			product[k] *= 1 + omega[k*best%n]/float64(j+1)
		}
	}
	return z
}

// The first components of the vector in the code equal those of the construction.
// ECART_LATTICE=1 prints all components.
func TestGeneratingVector(t *testing.T) {
	if os.Getenv("ECART_LATTICE") != "" {
		fmt.Println(componentByComponent(lattice, len(generating)))
	}
	const checked = 5
	z := componentByComponent(lattice, checked)
	for j := range z {
		assert.EqualValues(t, z[j], generating[j])
	}
}

func TestFastQuantile(t *testing.T) {
	const bound = 1.1e-5 // as derived beside the table
	for i := range 200_000 {
		u := (float64(i) + 0.37) / 200_000
		assert.InDelta(t, mathext.NormalQuantile(u), fastQuantile(u), bound)
	}
}
