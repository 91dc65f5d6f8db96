package graph

import (
	"fmt"
	"slices"
)

// operation describes a kind of node that can be converted.
type operation struct {
	inputs [2]int   // least and largest number of inputs
	attrs  []string // attributes that are required and written; others must be in ignored
}

// window are the attributes of a convolution.
var window = []string{"T", "strides", "padding", "data_format", "dilations"}

var operations = map[string]operation{
	"Const":                      {inputs: [2]int{0, 0}},
	"Placeholder":                {inputs: [2]int{0, 0}},
	"_FusedConv2D":               {[2]int{3, 3}, window},
	"FusedDepthwiseConv2dNative": {[2]int{3, 3}, window},
	"AddV2":                      {[2]int{2, 2}, []string{"T"}},
	"Relu6":                      {[2]int{1, 1}, []string{"T"}},
	"Sigmoid":                    {[2]int{1, 1}, []string{"T"}},
	"Pad":                        {[2]int{2, 2}, []string{"T", "Tpaddings"}},
	"MaxPool":                    {[2]int{1, 1}, []string{"T", "ksize", "strides", "padding", "data_format"}},
	"ResizeBilinear":             {[2]int{2, 2}, []string{"T", "align_corners", "half_pixel_centers"}},
	"Reshape":                    {[2]int{2, 2}, []string{"T", "Tshape"}},
	"Identity":                   {[2]int{1, 1}, []string{"T"}},
}

// ignored are attributes without effect on what these operations compute.
var ignored = []string{"explicit_paddings", "use_cudnn_on_gpu", "num_args", "fused_ops", "epsilon", "dtype", "value", "shape", "_output_shapes"}

// ordered returns the nodes that the outputs need, each after its inputs.
func ordered(nodes []*node, constants map[string]constant, outputs []string) ([]*node, error) {
	byName := make(map[string]*node, len(nodes))
	for _, n := range nodes {
		if n == nil || n.Name == "" {
			return nil, fmt.Errorf("the network has a node without a name")
		}
		if byName[n.Name] != nil {
			return nil, fmt.Errorf("node %.80q is there twice", n.Name)
		}
		byName[n.Name] = n
	}
	const open, done = 1, 2
	state := map[string]int{}
	var out []*node
	var visit func(name, wantedBy string) error
	visit = func(name, wantedBy string) error {
		n := byName[name]
		switch {
		case n == nil:
			return fmt.Errorf("%.80s needs node %.80q, which is missing", wantedBy, name)
		case state[name] == done:
			return nil
		case state[name] == open:
			return fmt.Errorf("node %.80q needs itself", name)
		}
		state[name] = open
		if err := n.check(constants); err != nil {
			return err
		}
		for _, input := range n.Inputs {
			if err := visit(input, "node "+name); err != nil {
				return err
			}
		}
		state[name] = done
		out = append(out, n)
		return nil
	}
	for _, name := range outputs {
		if err := visit(name, "the caller"); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// check returns an error for a node with an unknown operation or attribute, or without one that it needs.
func (n *node) check(constants map[string]constant) error {
	op, ok := operations[n.Op]
	if !ok {
		return fmt.Errorf("node %.80q has the operation %.40q, which is not known", n.Name, n.Op)
	}
	if k := len(n.Inputs); k < op.inputs[0] || k > op.inputs[1] {
		return fmt.Errorf("node %.80q (%s) has %d inputs", n.Name, n.Op, k)
	}
	for key, a := range n.Attrs {
		if !slices.Contains(op.attrs, key) && !slices.Contains(ignored, key) {
			return fmt.Errorf("node %.80q (%s) has the attribute %.40q, which is not known", n.Name, n.Op, key)
		}
		if a.List != nil && (len(a.List.I) > mostNumbers || len(a.List.S) > mostNumbers) {
			return fmt.Errorf("node %.80q (%s) has a longer attribute %q than is read", n.Name, n.Op, key)
		}
	}
	for _, key := range op.attrs {
		if _, ok := n.Attrs[key]; !ok {
			return fmt.Errorf("node %.80q (%s) lacks the attribute %q", n.Name, n.Op, key)
		}
	}
	switch n.Op {
	case "Const":
		if _, ok := constants[n.Name]; !ok {
			return fmt.Errorf("the weights of node %.80q are missing", n.Name)
		}
	case "_FusedConv2D", "FusedDepthwiseConv2dNative":
		_, err := n.activation()
		return err
	case "Placeholder":
		if s := n.Attrs["shape"].Shape; s == nil || len(s.Dims) != 4 {
			return fmt.Errorf("node %.80q, the picture, has no shape of four dimensions", n.Name)
		}
	}
	return nil
}

// activation returns the operation after the bias of a fused node: "" or Relu6.
func (n *node) activation() (string, error) {
	var ops []string
	if l := n.Attrs["fused_ops"].List; l != nil {
		for _, s := range l.S {
			ops = append(ops, string(s))
		}
	}
	switch {
	case slices.Equal(ops, []string{"BiasAdd"}):
		return "", nil
	case slices.Equal(ops, []string{"BiasAdd", "Relu6"}):
		return "Relu6", nil
	}
	return "", fmt.Errorf("node %.80q (%s) fuses %.80q, which is not known", n.Name, n.Op, ops)
}
