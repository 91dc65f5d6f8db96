package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/fault"
)

func TestExit(t *testing.T) {
	for _, c := range []struct {
		err  error
		code int
		said string
	}{
		{nil, 0, ""},
		{fault.New("a is wrong", "give b"), 2, "a is wrong\ngive b\n"},
		{fmt.Errorf("while reading: %w", fault.New("a is wrong", "give b")), 2, "while reading: a is wrong\ngive b\n"},
		{fault.Failed("a failed", "try b", nil), 1, "a failed\ntry b\n"},
		// a failure stays one even if its cause has a hint of its own
		{fault.Failed("a failed", "try b", fault.New("x", "y")), 1, "a failed\ntry b\n"},
		{fault.New("two\nlines", "and\n\nmore"), 2, "two lines\nand more\n"},
	} {
		var b bytes.Buffer
		assert.Equal(t, c.code, exit(c.err, &b))
		assert.Equal(t, c.said, b.String())
	}
	for _, err := range []error{errors.New("nobody knows"), context.Canceled, fault.Failed("x", "y", context.Canceled)} {
		var b bytes.Buffer
		assert.Equal(t, 1, exit(err, &b))
		assert.Equal(t, 2, strings.Count(b.String(), "\n"), b.String())
	}
}

// full is a standard output with no room left.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

func TestFullStandardOutput(t *testing.T) {
	for _, args := range [][]string{{"rules"}, {"rules", "--json"}, {"rules", "--priors"}, {"rules", "show", "split-leap"}} {
		var b bytes.Buffer
		assert.Equal(t, 1, Main(args, strings.NewReader(""), full{}, &b), args)
		assert.Contains(t, b.String(), "the result cannot be written to standard output: no space left on device\n", args)
		assert.Equal(t, 2, strings.Count(b.String(), "\n"), args)
	}
}
