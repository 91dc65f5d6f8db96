package cli

import (
	"math"
	"runtime/debug"
)

// collectFrom is how much memory Go may take, in bytes, before the collector runs more often: without
// it a picture of 400 MB lets as much again of garbage pile up. What must be held may be more.
const collectFrom = 400 << 20

// limitGarbage sets collectFrom unless GOMEMLIMIT sets another limit.
func limitGarbage() {
	if debug.SetMemoryLimit(-1) == math.MaxInt64 {
		debug.SetMemoryLimit(collectFrom)
	}
}
