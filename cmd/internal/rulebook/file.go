package rulebook

import (
	"errors"
	"fmt"
	"io"
	"os"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

// CheckFile checks one rule-book file and returns its problems in the order of lines. A file
// that cannot be read is an error. known reports whether a measure exists; nil accepts
// any.
func CheckFile(file string, known func(measure string) bool) ([]Problem, error) {
	text, err := readFile(file)
	if err != nil {
		return nil, err
	}
	_, problems := decode(file, text, known)
	return problems, nil
}

// readFile reads a regular file, up to one byte more than the limit, so that the decoder
// sees that it is too big.
func readFile(file string) ([]byte, error) {
	fail := func(text, do string, err error) ([]byte, error) {
		return nil, fault.New(fmt.Sprintf("rule book %q %s", file, text), do).Because(err)
	}
	info, err := os.Stat(file)
	switch {
	case os.IsNotExist(err):
		return fail("does not exist", "check the path", err)
	case err != nil:
		return fail("cannot be read", "check the path and who may read it", err)
	case info.IsDir():
		return fail("is a folder", "name a file in it", nil)
	case !info.Mode().IsRegular():
		return fail("is not an ordinary file", "name a file of text", nil)
	}
	f, err := os.Open(file)
	if err != nil {
		return fail("cannot be read", "check who may read it", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, strict.MaxYAMLBytes+4)) // 4: one over the limit, after a byte order mark
	if err != nil {
		return fail("cannot be read to the end", "check the disk it is on", err)
	}
	return text, nil
}

// hint returns the hint of a fault; "" for other errors.
func hint(err error) string {
	var e *fault.Error
	if errors.As(err, &e) {
		return e.Hint()
	}
	return ""
}
