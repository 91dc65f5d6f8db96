package cli

import (
	"math"
	"runtime/debug"
)

// collectFrom is how much memory Go may use, in bytes, before the collector runs more often.
// Without it garbage grows to the size of the data, 400 MB for a picture of 400 MB. Live data may
// exceed it.
const collectFrom = 400 << 20

// limitGarbage sets collectFrom unless GOMEMLIMIT sets another limit.
func limitGarbage() {
	if debug.SetMemoryLimit(-1) == math.MaxInt64 {
		debug.SetMemoryLimit(collectFrom)
	}
}
