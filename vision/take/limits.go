package take

import (
	"fmt"
	"runtime"

	"ecart/vision/internal/av"
)

const (
	// maxSide and maxPixels bound a picture before any memory is taken for it. The largest
	// phone sensors have 200 million pixels, and 16384 is the side that WebP and common HEVC
	// levels end at.
	maxSide   = 16384
	maxPixels = 200_000_000

	// maxStill bounds the file of a still: what is decoded in stillMemory has no more samples.
	maxStill = stillMemory

	// MostClipMemory is how many bytes the pictures of a clip may take while it is decoded.
	MostClipMemory = av.MostPictures

	// frameMemory and streamMemory are what decoding threads may hold in pictures, one each, for
	// a single frame and for a run of them: a 4K picture of 10 bits takes 25 MB. What else is held
	// is 150 to 250 MB at 4K: reference pictures, the frame, its colours. A single frame has little
	// to gain from threads, and whoever asks for it draws on it.
	frameMemory  = 30 << 20
	streamMemory = 60 << 20
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

// moreThreads is how many more threads decode than there are processors, as FFmpeg itself chooses. More
// do not make it faster: they drive each other's pictures out of the processor's own memory.
const moreThreads = 1

// threads is the number of decoding threads for pictures of w by h with the given bits per
// sample: no more than fit into memory, in bytes. One where the size is not known yet.
func threads(w, h, bits, memory int) int {
	if w <= 0 || h <= 0 {
		return 1
	}
	picture := max(w*h*3/2, 1)
	if bits > 8 {
		picture *= 2
	}
	return max(1, min(runtime.NumCPU()+moreThreads, 16, memory/picture))
}
