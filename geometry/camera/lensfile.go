package camera

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// LensSchema names the version of the lens file.
const LensSchema = "ecart/lens/1"

// LensFile is the JSON form of a lens. Package strict decodes it; this package does
// not import strict.
type LensFile struct {
	Schema     string      `json:"schema"`
	Width      int         `json:"width_px"`
	Height     int         `json:"height_px"`
	Fx         float64     `json:"fx_px"`
	Fy         float64     `json:"fy_px"`
	Cx         float64     `json:"cx_px"`
	Cy         float64     `json:"cy_px"`
	Distortion []float64   `json:"distortion"` // k1, k2, p1, p2, k3
	Order      []string    `json:"covariance_order,omitempty"`
	Covariance [][]float64 `json:"covariance,omitempty"`
	ResidualPx float64     `json:"residual_px,omitempty"`
	Pictures   int         `json:"pictures,omitempty"`
}

// Limits beyond which a lens file is refused: a focal length of a million pixels, more
// than any telescope on a phone; a coefficient of 10,000, which would map a point at
// 0.1 off the axis (in focal lengths) to 100.
const (
	maxFocalPx    = 1e6
	maxDistortion = 1e4
)

var lensOrder = []string{"fx_px", "fy_px", "cx_px", "cy_px", "k1", "k2", "p1", "p2", "k3"}

// File returns the contents of the lens file: JSON, schema ecart/lens/1. residualPx is
// the root mean square residual of the calibration and pictures the number of pictures
// used; 0 means unknown for either.
func (l *Lens) File(residualPx float64, pictures int) ([]byte, error) {
	f := LensFile{Schema: LensSchema, Width: l.Width, Height: l.Height, Fx: l.Fx, Fy: l.Fy, Cx: l.Cx, Cy: l.Cy,
		Distortion: l.Dist[:], ResidualPx: residualPx, Pictures: pictures}
	if l.Covariance != nil {
		f.Order = lensOrder
		for i := range LensParameters {
			f.Covariance = append(f.Covariance, mat.Row(nil, i, l.Covariance))
		}
	}
	data, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(data, '\n'), nil
}

// LensError says what is wrong with a lens file.
type LensError struct{ fact, hint string }

func (e *LensError) Error() string { return e.fact }

// Hint says what to do.
func (e *LensError) Hint() string { return e.hint }

// Lens checks a decoded file and returns its lens. Errors are a *LensError and call the
// file by name.
func (f *LensFile) Lens(name string) (*Lens, error) {
	bad := func(format string, a ...any) error {
		return &LensError{fmt.Sprintf("the lens file %q %s", name, fmt.Sprintf(format, a...)), "make it again from pictures of a board"}
	}
	if f.Schema != LensSchema {
		return nil, bad("has the schema %q, and %q is read here", f.Schema, LensSchema)
	}
	if len(f.Distortion) != 5 {
		return nil, bad("has %d distortion coefficients and not the five k1, k2, p1, p2, k3", len(f.Distortion))
	}
	l := &Lens{Width: f.Width, Height: f.Height, Fx: f.Fx, Fy: f.Fy, Cx: f.Cx, Cy: f.Cy, Dist: [5]float64(f.Distortion)}
	if l.Width <= 0 || l.Height <= 0 || l.Width > 1<<16 || l.Height > 1<<16 {
		return nil, bad("is for pictures of %d x %d", l.Width, l.Height)
	}
	if !(l.Fx > 0 && l.Fy > 0) || math.IsInf(l.Fx, 0) || math.IsInf(l.Fy, 0) {
		return nil, bad("has no focal length: %v and %v px", l.Fx, l.Fy)
	}
	if l.Fx > maxFocalPx || l.Fy > maxFocalPx {
		return nil, bad("has a focal length that no lens has: %v and %v px", l.Fx, l.Fy)
	}
	for i, k := range l.Dist {
		if !(math.Abs(k) <= maxDistortion) {
			return nil, bad("has the distortion coefficient %s of %v, which no lens has", lensOrder[4+i], k)
		}
	}
	if f.Order != nil && !slices.Equal(f.Order, lensOrder) {
		return nil, bad("has its covariance in another order than %s", strings.Join(lensOrder, ", "))
	}
	if !(l.Cx > -1 && l.Cx < float64(l.Width) && l.Cy > -1 && l.Cy < float64(l.Height)) {
		return nil, bad("has its centre at (%v, %v), outside the picture", l.Cx, l.Cy)
	}
	if f.Covariance == nil {
		return l, nil
	}
	c := mat.NewSymDense(LensParameters, nil)
	if len(f.Covariance) != LensParameters {
		return nil, bad("has a covariance of %d rows and not %d", len(f.Covariance), LensParameters)
	}
	for i, row := range f.Covariance {
		if len(row) != LensParameters {
			return nil, bad("has a covariance whose row %d has %d figures and not %d", i+1, len(row), LensParameters)
		}
		for k := range i + 1 {
			if math.Abs(row[k]-f.Covariance[k][i]) > 1e-9*(math.Abs(row[k])+1e-300) && row[k] != f.Covariance[k][i] {
				return nil, bad("has a covariance that is not symmetric in %s and %s", lensOrder[i], lensOrder[k])
			}
			c.SetSym(i, k, row[k])
		}
		if !(row[i] >= 0 && row[i] <= maxFocalPx*maxFocalPx) {
			return nil, bad("has the variance %v of %s, which is none", row[i], lensOrder[i])
		}
	}
	l.Covariance = c
	return l, nil
}
