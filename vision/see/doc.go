// Package see asks the child program ecart-see, the only one that links OpenCV,
// to find the corners of a board in a picture, or to run a network on a picture.
//
// OpenCV may end the process when it fails, and takes a fifth of a second to load.
// In a child process neither matters. The child is started for the first picture;
// if it dies, it is started again for the next one.
//
// A question and an answer are one frame each, on the child's standard input and
// output. All numbers are big endian:
//
//	4 bytes    kind: "ECS1" a board, "ECN1" a network to load, "ECP1" a picture
//	4 bytes    length of the head, at most 1 MiB
//	4 bytes    length of the pixels, at most 256 MiB
//	head       JSON: Question or Answer; Network, Picture or Seen
//	pixels     of a board: grey values of 8 bits, row by row without gaps; of a
//	           network: its graph; of a picture: red, green and blue, 8 bits each
//
// The child ends when its standard input does, even while it searches a picture.
package see
