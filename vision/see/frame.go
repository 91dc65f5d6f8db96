package see

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// mark is the first four bytes of a frame. The digit changes with the protocol.
const mark = "ECS1"

// The longest head and the most pixels of a frame, bytes. A board of 40 by 40
// corners is some 60 kB of JSON; a picture of 200 megapixels is 200 MB.
const (
	mostHead   = 1 << 20
	mostPixels = 256 << 20
)

// How many inner corners a board may have along a side. OpenCV finds none with
// fewer than three; more than forty would be too small to be seen.
const (
	LeastCorners = 3
	MostCorners  = 40
)

// Question asks for the corners of a board in a grey picture.
type Question struct {
	Width   int `json:"width"`   // px
	Height  int `json:"height"`  // px
	Columns int `json:"columns"` // inner corners along a row of the board
	Rows    int `json:"rows"`
	// Side is the longest side at which the picture is searched, px. A larger
	// picture is made smaller for the search; its corners are refined in all of it.
	Side int `json:"side"`
	// Thorough chooses the slower finder, which sees boards that the other misses.
	Thorough bool `json:"thorough"`

	Grey []byte `json:"-"` // Width * Height grey values
}

// Answer is what the child found.
type Answer struct {
	// Corners are the inner corners, pairs of x and y in pixels of the picture,
	// (0, 0) being the middle of the top left pixel; the board's first row first.
	// None: there is no such board.
	Corners [][2]float64 `json:"corners,omitempty"`
	Error   string       `json:"error,omitempty"` // what is wrong with the question
}

// ReadQuestion reads one question. The error is io.EOF where the input ends
// before it; a frame that is not a question is an error that says why.
func ReadQuestion(r io.Reader) (*Question, error) {
	var q Question
	pixels, err := readFrame(r, &q)
	if err != nil {
		return nil, err
	}
	if q.Width < 1 || q.Height < 1 || q.Width > mostPixels || len(pixels)/q.Width != q.Height || len(pixels)%q.Width != 0 {
		return nil, fmt.Errorf("%d bytes are no grey picture of %d x %d pixels", len(pixels), q.Width, q.Height)
	}
	q.Grey = pixels
	return &q, nil
}

// WriteQuestion writes one question.
func WriteQuestion(w io.Writer, q *Question) error { return writeFrame(w, q, q.Grey) }

// ReadAnswer reads one answer.
func ReadAnswer(r io.Reader) (*Answer, error) {
	var a Answer
	pixels, err := readFrame(r, &a)
	if err == nil && len(pixels) > 0 {
		err = fmt.Errorf("an answer has %d bytes of pixels", len(pixels))
	}
	return &a, err
}

// WriteAnswer writes one answer.
func WriteAnswer(w io.Writer, a *Answer) error { return writeFrame(w, a, nil) }

func writeFrame(w io.Writer, head any, pixels []byte) error {
	text, err := json.Marshal(head)
	if err != nil {
		return err
	}
	if len(text) > mostHead || len(pixels) > mostPixels {
		return fmt.Errorf("a frame of %d and %d bytes is too long", len(text), len(pixels))
	}
	start := make([]byte, 0, 12+len(text))
	start = append(start, mark...)
	start = binary.BigEndian.AppendUint32(start, uint32(len(text)))
	start = binary.BigEndian.AppendUint32(start, uint32(len(pixels)))
	if _, err := w.Write(append(start, text...)); err != nil {
		return err
	}
	_, err = w.Write(pixels)
	return err
}

func readFrame(r io.Reader, head any) (pixels []byte, err error) {
	var start [12]byte
	if _, err := io.ReadFull(r, start[:]); err != nil {
		return nil, err
	}
	if string(start[:4]) != mark {
		return nil, errors.New("this is no frame of ecart-see")
	}
	text, long := binary.BigEndian.Uint32(start[4:]), binary.BigEndian.Uint32(start[8:])
	if text > mostHead || long > mostPixels {
		return nil, fmt.Errorf("a frame of %d and %d bytes is too long", text, long)
	}
	buffer := make([]byte, text)
	if _, err := io.ReadFull(r, buffer); err != nil {
		return nil, cutShort(err)
	}
	if err := json.Unmarshal(buffer, head); err != nil {
		return nil, fmt.Errorf("the head of a frame cannot be read: %w", err)
	}
	// A length is believed once a first part has arrived.
	const first = 1 << 20
	pixels = make([]byte, min(first, long))
	if _, err := io.ReadFull(r, pixels); err != nil {
		return nil, cutShort(err)
	}
	if rest := int(long) - len(pixels); rest > 0 {
		pixels = append(make([]byte, 0, long), pixels...)[:long]
		if _, err := io.ReadFull(r, pixels[first:]); err != nil {
			return nil, cutShort(err)
		}
	}
	return pixels, nil
}

// cutShort is the error of a frame that ends in its middle.
func cutShort(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}
