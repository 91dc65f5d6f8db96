// Package av is the only package that calls FFmpeg's libraries: it reads the packets of a
// clip's video stream, decodes them, and turns a decoded picture into RGBA. It also decodes the
// HEVC pictures of stills, whose bytes the caller passes.
//
// It has no frame numbers. Time stamps are integers in the stream's own ticks, as stored; package take
// assigns frame numbers to them.
//
// Pictures have square pixels and their stored orientation. Their samples stay luma and chroma;
// Convert converts only the part that the caller asks for.
//
// A Clip is not safe for use by two goroutines at once.
package av
