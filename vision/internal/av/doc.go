// Package av is the one place that touches FFmpeg's libraries: it reads the packets of a
// clip's video stream, decodes them, and turns a decoded picture into RGBA. It also decodes the
// HEVC pictures of stills, whose bytes it is given.
//
// It knows nothing of frame numbers. Time stamps are integers in the stream's own ticks, as
// stored; which picture is which is decided by package take.
//
// Pictures come in square pixels, in the orientation they were stored in. Their samples stay
// as luma and chroma until somebody asks for colours, and then only the part asked for is
// converted.
//
// A Clip is not safe for use by two goroutines at once.
package av
