package graph

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Limits of a network. The largest one used here has 756 nodes and 14 million weights.
const (
	mostNodes   = 20_000
	mostWeights = 60_000_000
	mostDims    = 8
	mostNumbers = 64 // in the list of an attribute
)

// model is the part of the published JSON that is used.
type model struct {
	Topology struct {
		Nodes []*node `json:"node"`
	} `json:"modelTopology"`
	Manifest []struct {
		Weights []weight `json:"weights"`
	} `json:"weightsManifest"`
}

type node struct {
	Name   string               `json:"name"`
	Op     string               `json:"op"`
	Inputs []string             `json:"input"`
	Attrs  map[string]attribute `json:"attr"`
}

// attribute is one value of a node; exactly one field is set. Strings are base64, which
// encoding/json decodes into bytes.
type attribute struct {
	S     *[]byte  `json:"s"`
	I     *integer `json:"i"`
	F     *float64 `json:"f"`
	B     *bool    `json:"b"`
	Type  *string  `json:"type"`
	Shape *shape   `json:"shape"`
	List  *struct {
		I []integer `json:"i"`
		S [][]byte  `json:"s"`
	} `json:"list"`
	Tensor *json.RawMessage `json:"tensor"` // of a Const; its values are among the weights
}

type shape struct {
	Dims []struct {
		Size integer `json:"size"`
	} `json:"dim"`
}

// integer is a whole number, in JSON a number or a string.
type integer int64

func (i *integer) UnmarshalJSON(b []byte) error {
	v, err := strconv.ParseInt(strings.Trim(string(b), `"`), 10, 64)
	if err != nil {
		return fmt.Errorf("%.40s is no whole number", b)
	}
	*i = integer(v)
	return nil
}

// weight describes one constant; the constants' bytes follow each other in this order.
type weight struct {
	Name         string    `json:"name"`
	Shape        []integer `json:"shape"`
	Type         string    `json:"dtype"` // float32 or int32
	Quantization *struct {
		Type string `json:"dtype"` // float16
	} `json:"quantization"`
}

// constant is a weight with its bytes, 32 bits a value, little endian.
type constant struct {
	dims    []int64
	float   bool
	content []byte
}

// parse reads the JSON, and splits the weights into constants by name.
func parse(topology, weights []byte) ([]*node, map[string]constant, error) {
	var m model
	if err := json.Unmarshal(topology, &m); err != nil {
		return nil, nil, fmt.Errorf("the network's nodes cannot be read: %w", err)
	}
	if n := len(m.Topology.Nodes); n == 0 || n > mostNodes {
		return nil, nil, fmt.Errorf("the network has %d nodes; 1 to %d are read", n, mostNodes)
	}
	constants := map[string]constant{}
	rest := weights
	for _, g := range m.Manifest {
		for _, w := range g.Weights {
			if _, twice := constants[w.Name]; twice {
				return nil, nil, fmt.Errorf("weight %.80q is given twice", w.Name)
			}
			c, n, err := w.take(rest)
			if err != nil {
				return nil, nil, err
			}
			constants[w.Name], rest = c, rest[n:]
		}
	}
	if len(rest) > 0 {
		return nil, nil, fmt.Errorf("the weights have %d bytes more than their list states", len(rest))
	}
	return m.Topology.Nodes, constants, nil
}

// take returns the constant at the beginning of b and its length there in bytes.
func (w *weight) take(b []byte) (constant, int, error) {
	c := constant{float: w.Type == "float32"}
	count := int64(1)
	if len(w.Shape) > mostDims {
		return c, 0, fmt.Errorf("weight %.80q has %d dimensions; up to %d are read", w.Name, len(w.Shape), mostDims)
	}
	for _, d := range w.Shape {
		if d < 1 || int64(d) > mostWeights/count {
			return c, 0, fmt.Errorf("weight %.80q has the shape %v", w.Name, w.Shape)
		}
		count *= int64(d)
		c.dims = append(c.dims, int64(d))
	}
	half := w.Quantization != nil
	if (w.Type != "float32" && w.Type != "int32") || half && (!c.float || w.Quantization.Type != "float16") {
		return c, 0, fmt.Errorf("weight %.80q is of a type that is not known: %.20q", w.Name, w.Type)
	}
	each := 4
	if half {
		each = 2
	}
	size := int(count) * each
	if len(b) < size {
		return c, 0, fmt.Errorf("the weights are cut short: %.80q needs %d bytes, and %d are left", w.Name, size, len(b))
	}
	if half {
		c.content = widenedToFloat32(b[:size])
	} else {
		c.content = slices.Clone(b[:size])
	}
	return c, size, nil
}

// widenedToFloat32 converts float16 (IEEE 754 binary16) into float32, both little endian. The
// conversion is exact.
func widenedToFloat32(half []byte) []byte {
	out := make([]byte, 0, 2*len(half))
	for i := 0; i+1 < len(half); i += 2 {
		h := uint32(half[i]) | uint32(half[i+1])<<8
		sign, exponent, fraction := h>>15<<31, h>>10&31, h&1023
		var f uint32
		switch exponent {
		case 0: // zero or subnormal: fraction * 2^-24
			f = sign | math.Float32bits(float32(fraction)/(1<<24))
		case 31: // infinity or NaN
			f = sign | 255<<23 | fraction<<13
		default:
			f = sign | (exponent+127-15)<<23 | fraction<<13
		}
		out = append(out, byte(f), byte(f>>8), byte(f>>16), byte(f>>24))
	}
	return out
}
