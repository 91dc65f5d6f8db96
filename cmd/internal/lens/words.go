package lens

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/vision/calibrate"
)

// Board is a checkerboard as a person writes it: inner corners such as 9x6, and the side of a
// square with its unit, "" not known.
func Board(board, square string) (calibrate.Board, error) {
	if board == "" {
		return calibrate.Board{}, fault.New("no board was given", "give its inner corners with "+fault.Option("board")+", such as "+fault.Option("board")+" 9x6 for a board of 10 by 7 squares")
	}
	b, err := calibrate.ParseBoard(board)
	if err != nil {
		return b, err
	}
	b.SquareMm, err = desk.Length("square", square, 1)
	return b, err
}

// BoardPDF is a board laid out on a paper, to be printed.
func BoardPDF(board, square, paper string) ([]byte, error) {
	b, err := Board(board, square)
	if err != nil {
		return nil, err
	}
	size, err := calibrate.ParsePaper(paper)
	if err != nil {
		return nil, err
	}
	p, err := calibrate.NewPrint(b, size)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = p.WritePDF(&out)
	return out.Bytes(), err
}

// Words is a lens in plain words.
type Words struct {
	Says     []string     `json:"says"`   // how well it is known
	Advice   []string     `json:"advice"` // what to do next
	Pictures []BoardWords `json:"pictures"`
}

// BoardWords is what one picture of the board gave.
type BoardWords struct {
	Name         string `json:"name"`
	Found        string `json:"found"` // "0.21 px, leans 31°", or why there is nothing
	RetakeReason string `json:"again"` // why it should be taken again, "" if it is good
}

// WordsOf words a lens; name gives a picture's name.
func WordsOf(r *calibrate.Result, name func(path string) string) Words {
	out := Words{Advice: append([]string{}, r.Advice...)}
	out.Says = append([]string{fmt.Sprintf("%d of %s used, %d x %d px", r.Count(), desk.Count(len(r.Pictures), "picture"), r.Lens.Width, r.Lens.Height)}, FitWords(r)...)
	var untold []string
	for _, p := range r.Parameters {
		if !p.Told {
			untold = append(untold, p.Name)
		}
	}
	if len(untold) > 0 {
		out.Says = append(out.Says, fmt.Sprintf("these pictures say little of %s: there the lens leans on what lenses usually have, and readings allow for that", strings.Join(untold, ", ")))
	}
	for i := range r.Pictures {
		v := &r.Pictures[i]
		out.Pictures = append(out.Pictures, BoardWords{name(v.Name), FoundWords(v), RetakeWords(v)})
	}
	return out
}

// FitWords says how well the pictures of a lens fit together.
func FitWords(r *calibrate.Result) []string {
	out := []string{fmt.Sprintf("together %.2f px; a corner is found to %.2f px each way", r.ResidualPx, r.CornerPx)}
	if r.Disagreement > mentionDisagreement {
		out = append(out, fmt.Sprintf("the pictures differ %.1f times more than that explains (a board that flexes, or blur); what follows is that much wider", r.Disagreement))
	}
	return out
}

// mentionDisagreement is the disagreement from which it is mentioned. With ten pictures, chance reaches it
// for less than one lens in a hundred.
const mentionDisagreement = 1.35

// FoundWords gives the residual of a picture's corners, px, and the tilt of its board, degrees, or why there
// are none.
func FoundWords(v *calibrate.View) string {
	switch {
	case v.Stopped:
		return "not searched"
	case v.Corners == nil:
		return "no board"
	case math.IsNaN(v.ResidualPx):
		return "not used"
	}
	return fmt.Sprintf("%.2f px, leans %.0f°", v.ResidualPx, v.Tilt.Degrees())
}

// RetakeWords says why a picture should be taken again, "" if it is good.
func RetakeWords(v *calibrate.View) string {
	if v.Retake != "" && v.Corners != nil && !v.Used {
		return "left out; " + v.Retake
	}
	return v.Retake
}

// OfBoard makes a lens as Make does, with its words; name gives a picture's name in words and errors.
func OfBoard(ctx context.Context, paths []string, board, square string, name func(path string) string, progress func(line string)) (file []byte, says Words, err error) {
	b, err := Board(board, square)
	if err != nil {
		return nil, says, err
	}
	r, file, err := Make(ctx, paths, b, progress)
	if err != nil {
		return nil, says, err
	}
	return file, WordsOf(r, name), nil
}
