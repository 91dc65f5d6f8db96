package see

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// The first four bytes of a frame say what it is. The digit changes with the protocol.
const (
	mark        = "ECS1" // a board, and every answer about one
	networkMark = "ECN1" // a network to load, and its answer
	pictureMark = "ECP1" // a picture for the network, and its answer
)

// Limits of a frame's head and pixels, in bytes. A board of 40 by 40
// corners is some 60 kB of JSON; a picture of 200 megapixels is 200 MB.
const (
	mostHead   = 1 << 20
	mostPixels = 256 << 20
)

// The number of inner corners along a side of a board. OpenCV finds no board with
// fewer than three; with more than forty the squares would be too small.
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
	// Side is the largest length of the longer side for the search, px. A larger
	// picture is scaled down for the search; corners are refined at full size.
	Side int `json:"side"`
	// Thorough selects the slower finder, which finds boards that the other misses.
	Thorough bool `json:"thorough"`

	Grey []byte `json:"-"` // Width * Height grey values
}

// Answer is what the child found.
type Answer struct {
	// Corners are the inner corners, pairs of x and y in pixels of the picture,
	// (0, 0) being the centre of the top left pixel, row by row. It is empty if the
	// board was not found.
	Corners [][2]float64 `json:"corners,omitempty"`
	Error   string       `json:"error,omitempty"` // what is wrong with the question
}

// ReadQuestion reads one question. The error is io.EOF if the input has ended. A frame
// that is not a question gives an error with the reason.
func ReadQuestion(r io.Reader) (*Question, error) {
	kind, err := readMark(r)
	if err != nil {
		return nil, err
	}
	return readQuestion(r, kind)
}

func readQuestion(r io.Reader, kind string) (*Question, error) {
	var q Question
	pixels, err := readRest(r, kind, mark, &q)
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
func WriteQuestion(w io.Writer, q *Question) error { return writeFrame(w, mark, q, q.Grey) }

// ReadAnswer reads one answer.
func ReadAnswer(r io.Reader) (*Answer, error) {
	var a Answer
	pixels, err := readFrame(r, mark, &a)
	if err == nil && len(pixels) > 0 {
		err = fmt.Errorf("an answer has %d bytes of pixels", len(pixels))
	}
	return &a, err
}

// WriteAnswer writes one answer.
func WriteAnswer(w io.Writer, a *Answer) error { return writeFrame(w, mark, a, nil) }

func writeFrame(w io.Writer, kind string, head any, pixels []byte) error {
	text, err := json.Marshal(head)
	if err != nil {
		return err
	}
	if len(text) > mostHead || len(pixels) > mostPixels {
		return fmt.Errorf("a frame of %d and %d bytes is too long", len(text), len(pixels))
	}
	start := make([]byte, 0, 12+len(text))
	start = append(start, kind...)
	start = binary.BigEndian.AppendUint32(start, uint32(len(text)))
	start = binary.BigEndian.AppendUint32(start, uint32(len(pixels)))
	if _, err := w.Write(append(start, text...)); err != nil {
		return err
	}
	_, err = w.Write(pixels)
	return err
}

// readMark reads the first four bytes of a frame. The error is io.EOF if there are none.
func readMark(r io.Reader) (string, error) {
	var kind [4]byte
	if _, err := io.ReadFull(r, kind[:]); err != nil {
		return "", err
	}
	return string(kind[:]), nil
}

func readFrame(r io.Reader, want string, head any) (pixels []byte, err error) {
	kind, err := readMark(r)
	if err != nil {
		return nil, err
	}
	return readRest(r, kind, want, head)
}

// readRest reads what follows a frame's mark.
func readRest(r io.Reader, kind, want string, head any) (pixels []byte, err error) {
	if kind != want {
		return nil, errors.New("this is not a frame of ecart-see, or not of the expected kind")
	}
	var sizes [8]byte
	if _, err := io.ReadFull(r, sizes[:]); err != nil {
		return nil, cutShort(err)
	}
	headSize, pixelSize := binary.BigEndian.Uint32(sizes[:]), binary.BigEndian.Uint32(sizes[4:])
	if headSize > mostHead || pixelSize > mostPixels {
		return nil, fmt.Errorf("a frame of %d and %d bytes is too long", headSize, pixelSize)
	}
	buffer := make([]byte, headSize)
	if _, err := io.ReadFull(r, buffer); err != nil {
		return nil, cutShort(err)
	}
	if err := json.Unmarshal(buffer, head); err != nil {
		return nil, fmt.Errorf("the head of a frame cannot be read: %w", err)
	}
	// Memory for all of the stated length is allocated only after a first part has arrived.
	const first = 1 << 20
	pixels = make([]byte, min(first, pixelSize))
	if _, err := io.ReadFull(r, pixels); err != nil {
		return nil, cutShort(err)
	}
	if rest := int(pixelSize) - len(pixels); rest > 0 {
		pixels = append(make([]byte, 0, pixelSize), pixels...)[:pixelSize]
		if _, err := io.ReadFull(r, pixels[first:]); err != nil {
			return nil, cutShort(err)
		}
	}
	return pixels, nil
}

// cutShort converts io.EOF within a frame to io.ErrUnexpectedEOF.
func cutShort(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}
