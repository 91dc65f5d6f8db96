// Package graph converts a published network, a graph of TensorFlow nodes in JSON with
// weights of 16 bits, into the form that OpenCV's dnn module reads: a GraphDef in
// protobuf's wire format.
//
// Three things change on the way:
//
//   - A fused node (a convolution with its bias and its activation) becomes one node for
//     each step.
//   - Weights become float32.
//   - Only the nodes that the wanted outputs need are kept, so that the Identity nodes at
//     the end are dropped.
//
// Every node is checked: its operation and attributes are known, its inputs exist and form
// no cycle, and the weights have exactly the bytes that the nodes state. Anything that is not
// known is an error with the node's name, since an altered network must not run.
package graph

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"google.golang.org/protobuf/encoding/protowire"
)

// Numbers of DataType in TensorFlow's types.proto.
const (
	typeFloat = 1
	typeInt32 = 3
)

// Numbers of the fields in TensorFlow's graph.proto, node_def.proto, attr_value.proto,
// tensor.proto and tensor_shape.proto. Maps are messages of a key (1) and a value (2).
const (
	graphNode = 1

	nodeName, nodeOp, nodeInput, nodeAttr = 1, 2, 3, 5

	valueList, valueS, valueI, valueF, valueB, valueType, valueShape, valueTensor = 1, 2, 3, 4, 5, 6, 7, 8

	listS, listI = 2, 3

	tensorType, tensorShape, tensorContent = 1, 2, 4

	shapeDim, dimSize = 2, 1
)

// Convert returns the GraphDef that computes the outputs, which are names of nodes, from
// the published JSON and the bytes of its weights. The same input gives the same bytes.
func Convert(topology, weights []byte, outputs ...string) ([]byte, error) {
	nodes, constants, err := parse(topology, weights)
	if err != nil {
		return nil, err
	}
	if nodes, err = ordered(nodes, constants, outputs); err != nil {
		return nil, err
	}
	var out []byte
	for _, n := range nodes {
		steps, err := n.steps(constants)
		if err != nil {
			return nil, err
		}
		for _, s := range steps {
			out = appendMessage(out, graphNode, s.bytes())
		}
	}
	return out, nil
}

// step is one node of the GraphDef; the values of attrs are AttrValue messages.
type step struct {
	name, op string
	inputs   []string
	attrs    map[string][]byte
}

// bytes returns the NodeDef.
func (s *step) bytes() []byte {
	out := appendString(nil, nodeName, s.name)
	out = appendString(out, nodeOp, s.op)
	for _, input := range s.inputs {
		out = appendString(out, nodeInput, input)
	}
	for _, key := range slices.Sorted(maps.Keys(s.attrs)) {
		out = appendMessage(out, nodeAttr, appendMessage(appendString(nil, 1, key), 2, s.attrs[key]))
	}
	return out
}

// steps returns the nodes that replace n: one, or several where n is fused.
func (n *node) steps(constants map[string]constant) ([]step, error) {
	floats := appendVarint(nil, valueType, typeFloat)
	switch n.Op {
	case "Const":
		c := constants[n.Name]
		dataType := uint64(typeInt32)
		if c.float {
			dataType = typeFloat
		}
		tensor := appendVarint(nil, tensorType, dataType)
		tensor = appendMessage(tensor, tensorShape, shapeOf(c.dims))
		tensor = appendMessage(tensor, tensorContent, c.content)
		return []step{{n.Name, "Const", nil, map[string][]byte{"dtype": appendVarint(nil, valueType, dataType), "value": appendMessage(nil, valueTensor, tensor)}}}, nil
	case "Placeholder":
		dims := []int64{1} // the batch: one picture
		for _, d := range n.Attrs["shape"].Shape.Dims[1:] {
			dims = append(dims, int64(d.Size))
		}
		return []step{{n.Name, n.Op, nil, map[string][]byte{"dtype": floats, "shape": appendMessage(nil, valueShape, shapeOf(dims))}}}, nil
	}
	attrs := map[string][]byte{}
	for _, key := range operations[n.Op].attrs {
		v, err := n.Attrs[key].bytes()
		if err != nil {
			return nil, fmt.Errorf("node %.80q (%s), attribute %q: %w", n.Name, n.Op, key, err)
		}
		attrs[key] = v
	}
	unfused := map[string]string{"_FusedConv2D": "Conv2D", "FusedDepthwiseConv2dNative": "DepthwiseConv2dNative"}[n.Op]
	if unfused == "" {
		return []step{{n.Name, n.Op, n.Inputs, attrs}}, nil
	}
	activation, err := n.activation()
	if err != nil {
		return nil, err
	}
	out := []step{
		{n.Name + "/" + unfused, unfused, n.Inputs[:2], attrs},
		{n.Name, "BiasAdd", []string{n.Name + "/" + unfused, n.Inputs[2]}, map[string][]byte{"T": floats, "data_format": attrs["data_format"]}},
	}
	if activation != "" { // the last step keeps the node's name
		out[1].name = n.Name + "/BiasAdd"
		out = append(out, step{n.Name, activation, []string{out[1].name}, map[string][]byte{"T": floats}})
	}
	return out, nil
}

// bytes returns the AttrValue of an attribute.
func (a attribute) bytes() ([]byte, error) {
	switch {
	case a.S != nil:
		return appendMessage(nil, valueS, *a.S), nil
	case a.I != nil:
		return appendVarint(nil, valueI, uint64(*a.I)), nil
	case a.F != nil:
		return protowire.AppendFixed32(protowire.AppendTag(nil, valueF, protowire.Fixed32Type), math.Float32bits(float32(*a.F))), nil
	case a.B != nil:
		return appendVarint(nil, valueB, protowire.EncodeBool(*a.B)), nil
	case a.Type != nil:
		dataType, ok := map[string]uint64{"DT_FLOAT": typeFloat, "DT_INT32": typeInt32}[*a.Type]
		if !ok {
			return nil, fmt.Errorf("the type %.20q is not known", *a.Type)
		}
		return appendVarint(nil, valueType, dataType), nil
	case a.List != nil:
		var list, numbers []byte
		for _, s := range a.List.S {
			list = appendMessage(list, listS, s)
		}
		for _, i := range a.List.I {
			numbers = protowire.AppendVarint(numbers, uint64(i))
		}
		if numbers != nil {
			list = appendMessage(list, listI, numbers) // packed
		}
		return appendMessage(nil, valueList, list), nil
	}
	return nil, fmt.Errorf("it has no value that is read here")
}

func shapeOf(dims []int64) (out []byte) {
	for _, d := range dims {
		out = appendMessage(out, shapeDim, appendVarint(nil, dimSize, uint64(d)))
	}
	return out
}

func appendMessage(b []byte, field protowire.Number, content []byte) []byte {
	return protowire.AppendBytes(protowire.AppendTag(b, field, protowire.BytesType), content)
}

func appendString(b []byte, field protowire.Number, s string) []byte {
	return appendMessage(b, field, []byte(s))
}

func appendVarint(b []byte, field protowire.Number, v uint64) []byte {
	return protowire.AppendVarint(protowire.AppendTag(b, field, protowire.VarintType), v)
}
