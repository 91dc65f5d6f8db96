package sheet

import "unicode/utf8"

// Heights of the text on the judge's sheet, in millimetres, and numbers of characters on a
// line. The picture gets the height that the text leaves. The figures come from sheet.css and a
// wide font; a test lays out every rule in a browser.
const (
	lineMM     = 4.25 // of the words below the ruler
	footMM     = 3.7  // of the foot
	headingMM  = 6.2
	gapMM      = 4.5
	headMM     = 15.5 // of the page's head
	edgesMM    = 20
	sayMM      = 5.8
	denseShare = 0.88

	leftChars  = 38.0 // on a line of the rule
	rightChars = 56.0
	footChars  = 118.0
	sayChars   = 84.0

	leastPicture = 46.0
	mostPicture  = 84.0
)

// lineCount estimates the number of lines of a text.
func lineCount(text string, perLine float64) float64 {
	n := float64(utf8.RuneCountInString(text))
	if n == 0 {
		return 0
	}
	// 1.08 allows for the rest of a line that stays empty before a long word
	return float64(1 + int(1.08*n/perLine))
}

// heightBelow estimates the height of everything below the picture, in millimetres.
func (p *judgePage) heightBelow(rulerMM, budgetMM float64) float64 {
	h := gapMM + headingMM + rulerMM
	for i, s := range p.Says {
		if i == 0 {
			h += sayMM * lineCount(s, sayChars)
		} else {
			h += lineMM * lineCount(s, footChars)
		}
	}
	dense := 1.0
	if p.Dense {
		dense = denseShare
	}
	left, right := headingMM, headingMM+budgetMM
	if r := p.Rule; r != nil {
		left += lineMM*lineCount(r.Title, leftChars) + lineMM + 3
		for _, row := range r.Rows {
			left += lineMM*max(lineCount(row.Range, 10), lineCount(row.Deduction, 17)) + 1.4
		}
		for _, f := range r.Facts {
			left += lineMM * max(lineCount(f[1], leftChars-11), lineCount(f[0], 10))
		}
		left += lineMM*lineCount(r.Known, leftChars) + 2
		for _, s := range r.Origin {
			left += lineMM*lineCount(s, leftChars) + 1
		}
	}
	for _, s := range p.NoRule {
		left += lineMM*lineCount(s, leftChars) + 2
	}
	right += lineMM * lineCount(p.Out, rightChars)
	if len(p.Better) > 0 {
		right += headingMM + 3
	}
	for _, s := range p.Better {
		right += lineMM*lineCount(s, rightChars) + 1
	}
	foot := 3 + footMM // the colophon
	for _, list := range [][]string{p.Notes, p.Cares} {
		all := ""
		for _, s := range list {
			all += s + " "
		}
		foot += footMM*lineCount(all, footChars) + 0.6
	}
	return h + gapMM + dense*max(left, right) + 3 + dense*foot
}

// pictureMM returns the largest height of the picture, in millimetres. It sets Dense if the
// text needs a smaller font size.
func (p *judgePage) pictureMM(pageMM, rulerMM, budgetMM float64) (heightMM float64) {
	room := func() float64 { return pageMM - edgesMM - headMM - p.heightBelow(rulerMM, budgetMM) }
	p.Dense = false
	if room() < leastPicture {
		p.Dense = true
	}
	return min(max(room(), leastPicture), mostPicture)
}
