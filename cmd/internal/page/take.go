package page

import (
	"context"
	"image"
	"time"
)

// Info describes a take. Pixels are those of the upright picture.
type Info struct {
	Still         bool
	Width, Height int
	Frames        int
	Duration      time.Duration
	Rate          float64 // frames per second as taken, 0 unknown
	Codec         string
	FocalLength35 float64 // mm, 0 unknown
	Day           string  // on which it was made, 2006-01-02; "" unknown
	// Readout is the direction in the upright picture in which the sensor's rows
	// are read one after the other: (0, 1) downwards.
	Readout [2]float64
	// Held is about how many bytes the take holds while it is open.
	Held     int64
	Warnings []string // what a user should know before trusting the take
}

// Take is one open still or clip, used from several goroutines.
type Take interface {
	Info() Info
	// Time is the time stamp of frame i from the first one.
	Time(i int) time.Duration
	Frame(ctx context.Context, i int) (Frame, error)
	// Stream decodes onward from a frame; a frame is valid until fn returns.
	Stream(ctx context.Context, from int, fn func(Frame) error) error
	Close() error
}

// Frame is one picture of a take.
type Frame interface {
	Number() int
	// Broken says that the file is damaged before this frame: parts of the
	// picture may be made up.
	Broken() bool
	Bounds() image.Rectangle
	// Region is the part of the upright picture within r.
	Region(r image.Rectangle) *image.RGBA
}

// Opener opens the file at path. Its errors about the file have a Hint.
type Opener func(ctx context.Context, path string) (Take, error)
