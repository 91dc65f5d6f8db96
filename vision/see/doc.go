// Package see asks the child program ecart-see, the only one that links OpenCV,
// to find the corners of a board in a picture.
//
// OpenCV may end the process when it fails, and takes a fifth of a second to load.
// In a child process neither matters. The child is started for the first picture;
// if it dies, it is started again for the next one.
//
// A question and an answer are one frame each, on the child's standard input and
// output. All numbers are big endian:
//
//	4 bytes    "ECS1"
//	4 bytes    length of the head, at most 1 MiB
//	4 bytes    length of the pixels, at most 256 MiB
//	head       JSON: Question or Answer
//	pixels     of a question: grey values of 8 bits, row by row without gaps
//
// The child ends when its standard input does, even while it searches a picture.
package see
