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
// Every node is checked: its operation and attributes are known, its inputs exist and run
// in no circle, and the weights have exactly the bytes that the nodes state. What is not
// known is an error with the node's name, since a network that is altered must not run.
package graph
