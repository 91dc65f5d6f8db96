package desk

import (
	"image"
	"slices"
)

// Moving finds what moves in a clip, from small pictures of it. It returns a rectangle around it for
// each picture, all of one size, so that a view that follows it does not change its scale. It is nil
// if nothing moves, or nearly the whole frame does, as with a moving camera. The pictures are of one
// size, in the order of the clip; rectangles are in their pixels.
//
// A pixel moves if it differs from the picture before by more than noise: by 12 of 255 at least,
// about four standard deviations of a phone's noise after JPEG, and by six times the median
// difference of the pair, which flickering light raises. What moves is bounded by the 2nd and the
// 98th percentile of its pixels in x and in y, so that a few stray ones do not count. A pair in which
// under 1 in 2,000 or over a third of the pixels move gives no rectangle. The size is the 90th
// percentile over the clip, with a tenth of it as room on each side. Halving or doubling any of these
// figures changes the demo's rectangle by less than a fifth of its width.
func Moving(pictures []*image.Gray) []image.Rectangle {
	if len(pictures) < 3 {
		return nil
	}
	size := pictures[0].Rect.Size()
	boxes := make([]image.Rectangle, len(pictures)) // empty if not known
	var wide, high []int
	for i := 1; i < len(pictures); i++ {
		boxes[i] = changedPart(pictures[i-1], pictures[i])
	}
	boxes[0] = boxes[1]
	for _, b := range boxes {
		if !b.Empty() {
			wide, high = append(wide, b.Dx()), append(high, b.Dy())
		}
	}
	if 2*len(wide) < len(pictures) {
		return nil
	}
	slices.Sort(wide)
	slices.Sort(high)
	at := func(v []int) int { return v[(len(v)-1)*9/10] }
	w, h := at(wide)*6/5, at(high)*6/5
	if w >= size.X*4/5 && h >= size.Y*4/5 {
		return nil // the whole frame, nearly
	}
	w, h = min(w, size.X), min(h, size.Y)
	return smooth(boxes, size, w, h)
}

// smooth returns rectangles of w by h around the boxes, with their middles averaged over five pictures.
func smooth(boxes []image.Rectangle, size image.Point, w, h int) []image.Rectangle {
	out := make([]image.Rectangle, len(boxes))
	for i := range boxes {
		var x, y, n int
		for reach := 2; n == 0; reach++ { // farther if no box is known within reach
			for j := max(0, i-reach); j <= min(len(boxes)-1, i+reach); j++ {
				if b := boxes[j]; !b.Empty() {
					x, y, n = x+b.Min.X+b.Max.X, y+b.Min.Y+b.Max.Y, n+2
				}
			}
		}
		left := min(max(x/n-w/2, 0), size.X-w)
		top := min(max(y/n-h/2, 0), size.Y-h)
		out[i] = image.Rect(left, top, left+w, top+h)
	}
	return out
}

// changedPart returns the rectangle around what differs between two pictures, empty if it is not known.
func changedPart(a, b *image.Gray) image.Rectangle {
	size := a.Rect.Size()
	if b.Rect.Size() != size {
		return image.Rectangle{}
	}
	var count [256]int
	diff := make([]uint8, size.X*size.Y)
	for y := range size.Y {
		p, q := a.Pix[y*a.Stride:][:size.X], b.Pix[y*b.Stride:][:size.X]
		for x := range p {
			d := p[x] - q[x]
			if q[x] > p[x] {
				d = q[x] - p[x]
			}
			diff[y*size.X+x] = d
			count[d]++
		}
	}
	median, seen := 0, 0
	for ; median < 255; median++ {
		if seen += count[median]; 2*seen >= len(diff) {
			break
		}
	}
	least := max(12, 6*median)
	columns, rows, n := make([]int, size.X), make([]int, size.Y), 0
	for i, d := range diff {
		if int(d) >= least {
			columns[i%size.X]++
			rows[i/size.X]++
			n++
		}
	}
	if 2000*n < len(diff) || 3*n > len(diff) {
		return image.Rectangle{}
	}
	x0, x1 := central(columns, n)
	y0, y1 := central(rows, n)
	return image.Rect(x0, y0, x1+1, y1+1)
}

// central returns the range in which the middle 96 % of n counts lie.
func central(counts []int, n int) (from, to int) {
	seen := 0
	from, to = -1, len(counts)-1
	for i, c := range counts {
		seen += c
		if from < 0 && 50*seen > n {
			from = i
		}
		if 50*seen >= 49*n {
			to = i
			break
		}
	}
	return max(0, from), to
}
