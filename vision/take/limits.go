package take

import (
	"fmt"
	"runtime"

	"ecart/vision/internal/av"
)

const (
	// maxSide and maxPixels bound a picture before any memory is allocated for it. The largest
	// phone sensors have 200 million pixels; 16384 is the largest side in WebP and in common HEVC
	// levels.
	maxSide   = 16384
	maxPixels = 200_000_000

	// maxStill is the largest file size of a still, in bytes: a picture that can be decoded within
	// stillMemory has no more samples than that.
	maxStill = stillMemory

	// MostClipMemory is the largest memory for the decoded pictures of a clip, in bytes.
	MostClipMemory = av.MostPictures

	// frameMemory and streamMemory limit the memory for pictures in decoding threads, in bytes, one
	// picture per thread, for a single frame and for a run of frames. A 4K picture of 10 bits takes
	// 25 MB. Reference pictures, the frame and its colours take 150 to 250 MB more at 4K. A single
	// frame gains little from threads, and its caller needs memory to draw on it.
	frameMemory  = 30 << 20
	streamMemory = 60 << 20

	// mostRecent and recentMemory limit how many frames of a clip asked for last are kept, and their memory in bytes: four
	// of 1080p, two of 4K; one is kept whatever its size. The page asks for up to three ahead of the one that is marked
	// before it asks for that again.
	mostRecent   = 4
	recentMemory = 30 << 20
)

// checkSize refuses a picture that is empty or too large.
func checkSize(name string, w, h int) error {
	if w <= 0 || h <= 0 {
		return newError(formatsHint, "%q has no picture in it: its size is %d by %d", name, w, h)
	}
	if w > maxSide || h > maxSide || w*h > maxPixels {
		return newError(fmt.Sprintf("make it smaller: at most %d pixels a side and %d million in all", maxSide, maxPixels/1_000_000),
			"%q is too large: it declares %d by %d pixels", name, w, h)
	}
	return nil
}

// moreThreads is the number of decoding threads beyond the number of processors, as FFmpeg itself chooses.
// More threads are not faster: they evict each other's pictures from the processor's cache.
const moreThreads = 1

// threads returns the number of decoding threads for pictures of w by h pixels with the given bits per
// sample. Their pictures fit into memory, in bytes. It is 1 if the size is unknown.
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
