package graph

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/see"
	"ecart/vision/see/seetest"
)

func TestMain(m *testing.M) { os.Exit(seetest.Tests{M: m}.Run()) }

func b64(s string) string { return base64.StdEncoding.EncodeToString([]byte(s)) }

// smallNetwork is a network of one fused convolution with two outputs for each pixel:
// red + 2 green + 0.5 and 100 blue - 1, clipped to 0 to 6.
func smallNetwork() (topology string, weights []byte) {
	window := fmt.Sprintf(`"T": {"type": "DT_FLOAT"}, "strides": {"list": {"i": ["1", "1", "1", "1"]}}, "dilations": {"list": {"i": ["1", "1", "1", "1"]}},
		"padding": {"s": %q}, "data_format": {"s": %q}, "epsilon": {"f": 0}, "num_args": {"i": "1"}, "explicit_paddings": {"list": {}},
		"fused_ops": {"list": {"s": [%q, %q]}}`, b64("SAME"), b64("NHWC"), b64("BiasAdd"), b64("Relu6"))
	topology = `{"modelTopology": {"node": [
		{"name": "out", "op": "Identity", "input": ["flat"], "attr": {"T": {"type": "DT_FLOAT"}}},
		{"name": "flat", "op": "Reshape", "input": ["conv", "size"], "attr": {"T": {"type": "DT_FLOAT"}, "Tshape": {"type": "DT_INT32"}}},
		{"name": "picture", "op": "Placeholder", "attr": {"dtype": {"type": "DT_FLOAT"}, "shape": {"shape": {"dim": [{"size": "-1"}, {"size": "2"}, {"size": "2"}, {"size": "3"}]}}}},
		{"name": "kernel", "op": "Const", "attr": {"dtype": {"type": "DT_FLOAT"}, "value": {"tensor": {}}}},
		{"name": "bias", "op": "Const", "attr": {"dtype": {"type": "DT_FLOAT"}, "value": {"tensor": {}}}},
		{"name": "size", "op": "Const", "attr": {"dtype": {"type": "DT_INT32"}, "value": {"tensor": {}}}},
		{"name": "conv", "op": "_FusedConv2D", "input": ["picture", "kernel", "bias"], "attr": {` + window + `}}
	]}, "weightsManifest": [{"paths": ["small.bin"], "weights": [
		{"name": "kernel", "shape": [1, 1, 3, 2], "dtype": "float32", "quantization": {"dtype": "float16"}},
		{"name": "bias", "shape": [2], "dtype": "float32"},
		{"name": "size", "shape": [2], "dtype": "int32"}
	]}]}`
	for _, half := range []uint16{0x3c00, 0, 0x4000, 0, 0, 0x5640} { // 1 0, 2 0, 0 100: for red, green and blue
		weights = binary.LittleEndian.AppendUint16(weights, half)
	}
	for _, v := range []float32{0.5, -1} {
		weights = binary.LittleEndian.AppendUint32(weights, math.Float32bits(v))
	}
	for _, v := range []uint32{1, 8} {
		weights = binary.LittleEndian.AppendUint32(weights, v)
	}
	return topology, weights
}

// OpenCV computes with a converted network what its nodes state.
func TestOpenCVRunsAConvertedNetwork(t *testing.T) {
	topology, weights := smallNetwork()
	data, err := Convert([]byte(topology), weights, "flat")
	require.NoError(t, err)
	var c see.Child
	defer c.Close()
	p := &see.Picture{Width: 2, Height: 2, RGB: []byte{255, 0, 0, 0, 255, 0, 0, 0, 255, 51, 51, 0}}
	s, err := c.Look(t.Context(), &see.Network{Outputs: []string{"flat"}, Graph: data}, p)
	require.NoError(t, err)
	require.Len(t, s.Values, 1)
	// OpenCV's layers have the channels first; Reshape turns them back as TensorFlow has them.
	assert.InDeltaSlice(t, []float32{1.5, 0, 2.5, 0, 0.5, 6, 1.1, 0}, s.Values[0], 1e-5)

	again, err := Convert([]byte(topology), weights, "flat")
	require.NoError(t, err)
	assert.Equal(t, data, again, "the same bytes")
}

// A network that is cut short or altered is refused, with the node's name.
func TestAlteredNetworks(t *testing.T) {
	topology, weights := smallNetwork()
	for name, c := range map[string]struct {
		from, to string
		weights  []byte
		says     string
	}{
		"cut weights":      {weights: weights[:len(weights)-1], says: `cut short: "size"`},
		"long weights":     {weights: append(weights[:len(weights):len(weights)], 0), says: "1 bytes more"},
		"cut text":         {from: `"weightsManifest"`, to: "\x00", says: "cannot be read"},
		"operation":        {from: `"_FusedConv2D"`, to: `"Conv3D"`, says: `"conv" has the operation "Conv3D"`},
		"activation":       {from: b64("Relu6"), to: b64("Elu"), says: `"conv"`},
		"missing input":    {from: `"conv", "size"`, to: `"convolution", "size"`, says: `"convolution", which is missing`},
		"too few inputs":   {from: `"conv", "size"`, to: `"conv"`, says: "has 1 inputs"},
		"circle":           {from: `["picture", "kernel"`, to: `["flat", "kernel"`, says: "needs itself"},
		"twice":            {from: `"name": "bias", "op"`, to: `"name": "kernel", "op"`, says: "twice"},
		"weights missing":  {from: `"name": "bias", "shape"`, to: `"name": "bios", "shape"`, says: `weights of node "bias"`},
		"shape":            {from: `"shape": [2], "dtype": "float32"`, to: `"shape": [-2], "dtype": "float32"`, says: `"bias" has the shape`},
		"huge shape":       {from: `[1, 1, 3, 2]`, to: `[4000000000, 4000000000, 4000000000]`, says: `"kernel" has the shape`},
		"type":             {from: `"float16"`, to: `"uint8"`, says: `"kernel" is of a type`},
		"attribute":        {from: `"epsilon"`, to: `"omega"`, says: `"omega"`},
		"lacks":            {from: `"T": {"type": "DT_FLOAT"}, "strides"`, to: `"strides"`, says: `lacks the attribute "T"`},
		"another type":     {from: `"Tshape": {"type": "DT_INT32"}`, to: `"Tshape": {"type": "DT_STRING"}`, says: "DT_STRING"},
		"no number":        {from: `{"size": "2"}`, to: `{"size": "two"}`, says: "no whole number"},
		"no picture shape": {from: `"dim": [{"size": "-1"}, `, to: `"dim": [`, says: `"picture"`},
	} {
		text := topology
		if c.from != "" {
			text = strings.Replace(text, c.from, c.to, 1)
			require.NotEqual(t, topology, text, name)
		}
		if c.weights == nil {
			c.weights = weights
		}
		data, err := Convert([]byte(text), c.weights, "flat")
		require.ErrorContains(t, err, c.says, name)
		assert.Nil(t, data, name)
	}
	_, err := Convert([]byte(topology), weights, "elsewhere")
	require.ErrorContains(t, err, "elsewhere")
}

// Every float16 is widened exactly: it has a sign, 5 bits of exponent and 10 of fraction.
func TestHalvesAreExact(t *testing.T) {
	for h := range 1 << 16 {
		got := math.Float32frombits(binary.LittleEndian.Uint32(widenedToFloat32([]byte{byte(h), byte(h >> 8)})))
		exponent, fraction := h>>10&31, float64(h&1023)
		want := math.Ldexp(1+fraction/1024, exponent-15)
		if exponent == 0 {
			want = math.Ldexp(fraction, -24)
		}
		if h>>15 == 1 {
			want = -want
		}
		switch {
		case exponent == 31 && fraction == 0:
			require.True(t, math.IsInf(float64(got), 1-2*(h>>15)), "%x", h)
		case exponent == 31:
			require.True(t, math.IsNaN(float64(got)), "%x", h)
		default:
			require.Equal(t, want, float64(got), "%x", h)
		}
	}
}

func FuzzConvert(f *testing.F) {
	topology, weights := smallNetwork()
	f.Add([]byte(topology), weights)
	f.Fuzz(func(t *testing.T, topology, weights []byte) {
		data, err := Convert(topology, weights, "flat")
		if (err == nil) != (data != nil) {
			t.Fatalf("%d bytes and %v", len(data), err)
		}
	})
}
