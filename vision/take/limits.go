package take

import (
	"fmt"
	"runtime"
)

const (
	// maxSide and maxPixels bound a picture before any memory is taken for it. The largest
	// phone sensors have 200 million pixels, and 16384 is the side that WebP and common HEVC
	// levels end at.
	maxSide   = 16384
	maxPixels = 200_000_000

	// maxStill bounds the file of a still, which is read whole.
	maxStill = 1 << 30

	// threadMemory is what frame threads may hold in pictures beyond what one thread needs.
	// With the reference pictures of a 4K clip in 10 bits it stays under 400 MB.
	threadMemory = 100 << 20
)

// checkSize refuses a picture that is empty or too large.
func checkSize(name string, w, h int) error {
	if w <= 0 || h <= 0 {
		return wrong(wanted, "%q has no picture in it: its size is %d by %d", name, w, h)
	}
	if w > maxSide || h > maxSide || w*h > maxPixels {
		return wrong(fmt.Sprintf("make it smaller: at most %d pixels a side and %d million in all", maxSide, maxPixels/1_000_000),
			"%q is too large: it declares %d by %d pixels", name, w, h)
	}
	return nil
}

// threads is the number of decoding threads for pictures of w by h with the given bits per
// sample: one more than there are processors, as FFmpeg itself chooses, but no more than
// threadMemory holds.
func threads(w, h, bits int) int {
	bytes := w * h * 3 / 2
	if bits > 8 {
		bytes *= 2
	}
	return max(1, min(runtime.NumCPU()+1, 16, threadMemory/max(bytes, 1)))
}
