package main

import (
	"fmt"
	"image"
	"math"
	"runtime"

	"gocv.io/x/gocv"

	"ecart/vision/see"
)

// loaded is the network that pictures are run through, nil before one was loaded.
type loaded struct {
	net     gocv.Net
	outputs []string
}

// load reads a network. OpenCV ends the process if it cannot read the graph, or if an
// output does not exist.
func (l *loaded) load(n *see.Network) (*loaded, *see.Seen) {
	l.close()
	net, err := gocv.ReadNetFromTensorflowBytes(n.Graph)
	if err != nil || net.Empty() {
		return nil, &see.Seen{Error: "OpenCV cannot read the network"}
	}
	return &loaded{net, n.Outputs}, &see.Seen{}
}

func (l *loaded) close() {
	if l != nil {
		l.net.Close()
	}
}

// look runs the network on a picture, with colours from 0 to 1.
func (l *loaded) look(p *see.Picture) *see.Seen {
	if l == nil {
		return &see.Seen{Error: "no network was loaded"}
	}
	picture, err := gocv.NewMatFromBytes(p.Height, p.Width, gocv.MatTypeCV8UC3, p.RGB)
	if err != nil {
		return &see.Seen{Error: "OpenCV cannot take the picture"}
	}
	defer runtime.KeepAlive(p) // the matrix points into the picture's pixels
	defer picture.Close()
	blob := gocv.BlobFromImage(picture, 1./255, image.Pt(p.Width, p.Height), gocv.NewScalar(0, 0, 0, 0), false, false)
	defer blob.Close()
	l.net.SetInput(blob, "")
	outs := l.net.ForwardLayers(l.outputs)
	seen := &see.Seen{}
	for i := range outs {
		values, err := outs[i].DataPtrFloat32()
		if err != nil {
			seen.Error = fmt.Sprintf("the output %q has no values", l.outputs[i])
		}
		seen.Values = append(seen.Values, append([]float32(nil), values...))
		outs[i].Close()
	}
	for _, values := range seen.Values {
		for _, v := range values {
			if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
				return &see.Seen{Error: "the network's output holds NaN or infinity"}
			}
		}
	}
	return seen
}
