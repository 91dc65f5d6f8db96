//go:build !linux

package output

import (
	"errors"
	"io/fs"
	"os"
)

func unnamed(string) (*os.File, error)   { return nil, errors.ErrUnsupported }
func linkUnnamed(*os.File, string) error { return errors.ErrUnsupported }
func lock(*os.File) bool                 { return true }
func keepOwner(*os.File, fs.FileInfo)    {}
