package see

import (
	"fmt"
	"io"
)

// Network is a network to load.
type Network struct {
	Outputs []string `json:"outputs"` // the layers whose values are answered

	Graph []byte `json:"-"` // a GraphDef, see vision/pose/graph
}

// Picture is the input of a network.
type Picture struct {
	Width  int `json:"width"` // px
	Height int `json:"height"`

	RGB []byte `json:"-"` // 3 * Width * Height: red, green, blue of each pixel, row by row
}

// Seen holds the values of each output of a network for a picture. In the answer to a
// Network there are none.
type Seen struct {
	Values [][]float32 `json:"values,omitempty"`
	Error  string      `json:"error,omitempty"`
}

// Limits of a network's pictures and outputs.
const (
	mostSide    = 4096
	mostOutputs = 16
)

// ReadAsked reads the next request to the child: a *Question, a *Network or a *Picture.
// The error is io.EOF if the input has ended.
func ReadAsked(r io.Reader) (any, error) {
	kind, err := readMark(r)
	if err != nil {
		return nil, err
	}
	switch kind {
	case networkMark:
		var n Network
		if n.Graph, err = readRest(r, kind, networkMark, &n); err != nil {
			return nil, err
		}
		if len(n.Graph) == 0 || len(n.Outputs) == 0 || len(n.Outputs) > mostOutputs {
			return nil, fmt.Errorf("a network of %d bytes with %d outputs", len(n.Graph), len(n.Outputs))
		}
		return &n, nil
	case pictureMark:
		var p Picture
		if p.RGB, err = readRest(r, kind, pictureMark, &p); err != nil {
			return nil, err
		}
		if min(p.Width, p.Height) < 1 || max(p.Width, p.Height) > mostSide || len(p.RGB) != 3*p.Width*p.Height {
			return nil, fmt.Errorf("%d bytes are no colour picture of %d x %d pixels", len(p.RGB), p.Width, p.Height)
		}
		return &p, nil
	}
	return readQuestion(r, kind)
}

// WriteNetwork writes one network.
func WriteNetwork(w io.Writer, n *Network) error { return writeFrame(w, networkMark, n, n.Graph) }

// WritePicture writes one picture.
func WritePicture(w io.Writer, p *Picture) error { return writeFrame(w, pictureMark, p, p.RGB) }

// WriteSeen answers a *Network or a *Picture.
func WriteSeen(w io.Writer, asked any, s *Seen) error {
	kind := pictureMark
	if _, ok := asked.(*Network); ok {
		kind = networkMark
	}
	return writeFrame(w, kind, s, nil)
}

// ReadSeen reads the answer to a frame of that kind.
func ReadSeen(r io.Reader, kind string) (*Seen, error) {
	var s Seen
	pixels, err := readFrame(r, kind, &s)
	if err == nil && len(pixels) > 0 {
		err = fmt.Errorf("an answer has %d bytes of pixels", len(pixels))
	}
	return &s, err
}
