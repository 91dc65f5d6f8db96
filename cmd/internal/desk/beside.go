package desk

import (
	"image"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"
)

// Beside is how two readings differ, and how they are shown side by side.
type Beside struct {
	Difference *change.Difference // the second minus the first
	Says       []string           // whether they differ, by how much, what cancels
	RangeDeg   [2]float64         // of both rulers

	// Parts are of the two frames, px, and show both athletes equally large; Equal is false if
	// the marks do not tell how large they are. Parts may reach beyond the frames.
	Parts [2]image.Rectangle
	Equal bool
}

// CompareUnfiled compares two readings of which nothing says when or with which set-up they were
// made. It is a fault if they are of different measures or against different skills.
func CompareUnfiled(a, b *reading.Reading, opt sheet.Options) (*Beside, error) {
	if err := sheet.Alike(a, b); err != nil {
		return nil, err
	}
	d, err := change.Compare([]change.Reading{unfiled(a, 0)}, []change.Reading{unfiled(b, 1)}, a.Coverage)
	if err != nil {
		return nil, err
	}
	out := &Beside{Difference: d, RangeDeg: sheet.CommonRange(a, b)}
	var sizes [2]image.Point
	for i, r := range [2]*reading.Reading{a, b} {
		sizes[i] = image.Pt(r.Take.WidthPx, r.Take.HeightPx)
	}
	out.Parts, out.Equal = sheet.EquallyLarge([2]*reading.Reading{a, b}, sizes)
	out.Says, err = sheet.PairWords(d, opt)
	return out, err
}
