package calibrate

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WritePDF writes the sheet as a PDF of one page (PDF 1.6, ISO 32000-1), set to print
// without scaling. The same sheet gives the same bytes: it contains no time and no name.
func (p *Print) WritePDF(w io.Writer) error {
	const point = 72 / 25.4 // per mm
	var page bytes.Buffer
	fmt.Fprintf(&page, "%s 0 0 %s 0 %s cm\n0 g\n", num(point), num(-point), num(p.HeightMm*point)) // mm, y down
	b := p.Board
	for row := range b.Rows + 1 {
		for col := range b.Columns + 1 {
			if square(col, row) {
				fmt.Fprintf(&page, "%s %s %s %s re\n", num(p.left+float64(col)*b.SquareMm), num(p.top+float64(row)*b.SquareMm), num(b.SquareMm), num(b.SquareMm))
			}
		}
	}
	fmt.Fprintf(&page, "f\n%s w\n", num(strokeMm))
	for _, s := range p.strokes {
		fmt.Fprintf(&page, "%s %s m %s %s l S\n", num(s.x0), num(s.y0), num(s.x1), num(s.y1))
	}
	for _, t := range p.labels { // undo the mirroring for text
		fmt.Fprintf(&page, "BT /F1 %s Tf 1 0 0 -1 %s %s Tm (%s) Tj ET\n", num(t.size), num(t.x), num(t.y), latin(t.text))
	}
	objects := []string{
		"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
		"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
		fmt.Sprintf("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s %s] /Resources << /Font << /F1 4 0 R >> >> /Contents 5 0 R >>", num(p.WidthMm*point), num(p.HeightMm*point)),
		"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
		fmt.Sprintf("<< /Length %d >>\nstream\n%sendstream", page.Len(), page.String()),
	}
	var out bytes.Buffer
	out.WriteString("%PDF-1.6\n%\xe2\xe3\xcf\xd3\n")
	var at []int
	for i, o := range objects {
		at = append(at, out.Len())
		fmt.Fprintf(&out, "%d 0 obj\n%s\nendobj\n", i+1, o)
	}
	table := out.Len()
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, a := range at {
		fmt.Fprintf(&out, "%010d 00000 n \n", a)
	}
	fmt.Fprintf(&out, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(objects)+1, table)
	_, err := w.Write(out.Bytes())
	return err
}

// num formats a number with up to six decimals, without an exponent.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 6, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// latin encodes text for a PDF string, in Latin 1.
func latin(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case strings.ContainsRune(`()\`, r):
			b.WriteString(`\` + string(r))
		case r < 0x80:
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\%03o`, byte(r))
		}
	}
	return b.String()
}
