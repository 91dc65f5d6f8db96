package chart

import (
	"fmt"

	"ecart/cmd/internal/draw"
	"ecart/geometry/uncertainty"
)

// Widths of a drawing on paper, in millimetres. DefaultWidthMM is an A4 page with
// margins of 15 mm.
const (
	DefaultWidthMM = 180
	MinWidthMM     = 110
	MaxWidthMM     = 1000
)

// Options of a drawing; the zero value gives the defaults.
type Options struct {
	// WidthMM is the width of the drawing on paper; 0 is DefaultWidthMM. Text has a size
	// of 9 points at any width.
	WidthMM float64

	// RangeDeg gives the two ends of the ruler, so that drawings can be compared. If they
	// are equal, the drawing chooses its own.
	RangeDeg [2]float64

	// Bare leaves out the heading and the sentence below, for a page that has its own.
	Bare bool

	// Format formats a value and its expanded uncertainty; nil means uncertainty.Format.
	Format func(value, expanded float64) (v, u string)
}

func (o Options) filled() (Options, error) {
	if o.WidthMM == 0 {
		o.WidthMM = DefaultWidthMM
	}
	if !(o.WidthMM >= MinWidthMM && o.WidthMM <= MaxWidthMM) {
		return o, draw.Problem(fmt.Sprintf("ask for a width from %d to %d mm", MinWidthMM, MaxWidthMM), "a drawing cannot be %g mm wide", o.WidthMM)
	}
	if o.Format == nil {
		o.Format = uncertainty.Format
	}
	if !draw.Angles(o.RangeDeg[:]...) || o.RangeDeg[1] < o.RangeDeg[0] {
		return o, draw.Problem("give its lower end first, both in degrees", "a ruler cannot run from %g to %g", o.RangeDeg[0], o.RangeDeg[1])
	}
	return o, nil
}

// start returns an empty sheet and the options with their defaults.
func start(opt Options) (*sheet, Options, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, opt, err
	}
	l := draw.NewLetters()
	return &sheet{&draw.Sheet{W: opt.WidthMM * pointsPerMM, T: text, L: l}}, opt, nil
}
