package calibrate

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func printed(t *testing.T, b Board, paper string) *Print {
	t.Helper()
	p, err := ParsePaper(paper)
	require.NoError(t, err)
	out, err := NewPrint(b, p)
	require.NoError(t, err)
	return out
}

func written(t *testing.T, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.Bytes()
}

// The PDF states the page's size in points of 1/72 inch (ISO 32000-1, 8.3.2.3), and its
// squares are in place to a micrometre.
func TestPDF(t *testing.T) {
	const micrometre = 1e-3
	p := printed(t, nine, "a4")
	data := written(t, p.WritePDF)
	text := string(data)
	assert.True(t, strings.HasPrefix(text, "%PDF-"))
	box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindStringSubmatch(text)
	require.NotNil(t, box)
	assert.InDelta(t, 297, number(t, box[1])*25.4/72, micrometre)
	assert.InDelta(t, 210, number(t, box[2])*25.4/72, micrometre)
	assert.Contains(t, text, "/PrintScaling /None")

	cm := regexp.MustCompile(`([\d.]+) 0 0 (-[\d.]+) 0 ([\d.]+) cm`).FindStringSubmatch(text)
	require.NotNil(t, cm)
	assert.InDelta(t, 72/25.4, number(t, cm[1]), 1e-6)
	assert.Equal(t, number(t, cm[1]), -number(t, cm[2]))
	squares := regexp.MustCompile(`([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re`).FindAllStringSubmatch(text, -1)
	assert.Len(t, squares, 35, "half of 10 by 7")
	seen := map[[2]int]bool{}
	x0, y0 := number(t, squares[0][1]), number(t, squares[0][2])
	for _, s := range squares {
		col, row := (number(t, s[1])-x0)/24, (number(t, s[2])-y0)/24
		assert.InDelta(t, math.Round(col), col, micrometre/24)
		assert.InDelta(t, math.Round(row), row, micrometre/24)
		assert.Equal(t, []float64{24, 24}, []float64{number(t, s[3]), number(t, s[4])})
		assert.Zero(t, int(math.Round(col)+math.Round(row))%2)
		seen[[2]int{int(math.Round(col)), int(math.Round(row))}] = true
	}
	assert.Len(t, seen, 35)
	assert.Equal(t, data, written(t, printed(t, nine, "a4").WritePDF), "the same bytes again")
	assert.NotContains(t, text, "Date")
}

// The cross-reference table holds the offset of each object, and a stream its length
// (ISO 32000-1, 7.5.4 and 7.3.8.2).
func TestPDFIsWellFormed(t *testing.T) {
	data := string(written(t, printed(t, nine, "letter").WritePDF))
	at, err := strconv.Atoi(regexp.MustCompile(`startxref\n(\d+)\n`).FindStringSubmatch(data)[1])
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(data[at:], "xref\n"))
	for i, e := range regexp.MustCompile(`(\d{10}) 00000 n \n`).FindAllStringSubmatch(data[at:], -1) {
		o, err := strconv.Atoi(e[1])
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(data[o:], fmt.Sprintf("%d 0 obj\n", i+1)))
	}
	length, err := strconv.Atoi(regexp.MustCompile(`/Length (\d+)`).FindStringSubmatch(data)[1])
	require.NoError(t, err)
	from := strings.Index(data, "stream\n") + len("stream\n")
	assert.True(t, strings.HasPrefix(data[from+length:], "endstream"))
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// By the PNG's stated pixels per metre, its page has the paper's size, and the board
// found in it has squares of the requested size. Corners lie between pixels; the finder
// locates them to a tenth of a pixel.
func TestPNG(t *testing.T) {
	p := printed(t, nine, "a4")
	data := written(t, p.WritePNG)
	img, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	i := bytes.Index(data, []byte("pHYs"))
	require.Positive(t, i)
	x, y, unit := binary.BigEndian.Uint32(data[i+4:]), binary.BigEndian.Uint32(data[i+8:]), data[i+12]
	assert.Equal(t, x, y)
	assert.EqualValues(t, 1, unit)
	mm := 1000 / float64(x)
	assert.InDelta(t, 297, float64(img.Bounds().Dx())*mm, mm)
	assert.InDelta(t, 210, float64(img.Bounds().Dy())*mm, mm)
	corners, err := Find(t.Context(), &child, img, nine)
	require.NoError(t, err)
	require.NotNil(t, corners)
	for r := range nine.Rows {
		for c := 1; c < nine.Columns; c++ {
			d := corners[r*nine.Columns+c].Sub(corners[r*nine.Columns+c-1])
			assert.InDelta(t, 24, d.Norm()*mm, 0.2*mm)
		}
	}
	across := corners[8].Sub(corners[0]).Norm() * mm
	assert.InEpsilon(t, 8*24, across, 2e-4, "the board as a whole")
	assert.Equal(t, data, written(t, printed(t, nine, "a4").WritePNG), "the same bytes again")
}

// For any board and paper, either the board is refused, or everything lies on the paper
// and no line touches the board.
func TestPrintFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Board{
			Columns: rapid.IntRange(3, 40).Draw(t, "columns"), Rows: rapid.IntRange(3, 40).Draw(t, "rows"),
			SquareMm: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 80)).Draw(t, "square"),
		}
		paper := rapid.SampledFrom(papers).Draw(t, "paper")
		p, err := NewPrint(b, paper)
		if err != nil {
			var e *Error
			if !assert.ErrorAs(t, err, &e) || e.Hint() == "" {
				t.Fatalf("%v", err)
			}
			return
		}
		right := p.left + float64(b.Columns+1)*p.Board.SquareMm
		bottom := p.top + float64(b.Rows+1)*p.Board.SquareMm
		const margin = 4.0 // mm of white
		if p.left < margin || p.top < margin || right > p.WidthMm-margin || bottom > p.HeightMm-margin {
			t.Fatalf("%+v leaves the paper", p)
		}
		for _, s := range p.strokes {
			if s.x0 < 4 || s.y0 < 4 || s.x1 > p.WidthMm-4 || s.y1 > p.HeightMm-4 {
				t.Fatalf("a line leaves the paper: %+v", s)
			}
			if s.x1 > p.left-margin && s.x0 < right+margin && s.y1 > p.top-margin && s.y0 < bottom+margin {
				t.Fatalf("a line lies on the board: %+v of %+v", s, p)
			}
		}
	})
}

func TestPrintRefuses(t *testing.T) {
	a4, err := ParsePaper("A4")
	require.NoError(t, err)
	b := nine
	b.SquareMm = 40
	_, err = NewPrint(b, a4)
	refused(t, err, "does not fit on a4", "largest square that fits is 25.")
	// and the largest does fit
	b.SquareMm = number(t, regexp.MustCompile(`fits is ([\d.]+)mm`).FindStringSubmatch(err.(*Error).Hint())[1])
	_, err = NewPrint(b, a4)
	require.NoError(t, err)
	b.SquareMm += 0.1
	_, err = NewPrint(b, a4)
	refused(t, err, "does not fit")
	_, err = NewPrint(Board{Columns: 3, Rows: 40}, Paper{"small", 100, 140})
	refused(t, err, "does not fit on small")
	b.SquareMm = 2
	_, err = NewPrint(b, a4)
	refused(t, err, "too small")
	_, err = ParsePaper("b5")
	refused(t, err, "b5", "a4, letter or a3")
	whole, err := NewPrint(Board{Columns: 9, Rows: 6}, a4)
	require.NoError(t, err)
	assert.Equal(t, 25.0, whole.Board.SquareMm, "the largest in whole millimetres: (210 - 29) / 7 = 25.8")
}
