package cli

import (
	"context"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/geometry/camera"
	"errors"
	"fmt"
	"image"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"
)

// readSmall reads a file that people write by hand, refusing one that is too
// large to be that.
func readSmall(what, path string) ([]byte, error) {
	const most = 8 << 20
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &inputError{fmt.Sprintf("there is no %s %q", what, path), "check the name and the folder it is in"}
	case err != nil:
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be looked at: %v", what, path, output.Cause(err)), "check the name and the permissions"}
	case info.IsDir():
		return nil, &inputError{fmt.Sprintf("the %s %q is a folder", what, path), "name a file in it"}
	case !info.Mode().IsRegular():
		return nil, &inputError{fmt.Sprintf("the %s %q is no ordinary file", what, path), "save it to a file first"}
	case info.Size() > most:
		return nil, &inputError{fmt.Sprintf("the %s %q has %d bytes, too many for what it is said to be", what, path, info.Size()), "check that it is the right file"}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be read: %v", what, path, output.Cause(err)), "check its permissions"}
	}
	return data, nil
}

// isPNG wants the name that a PNG has.
func isPNG(path string) error {
	if ext := filepath.Ext(path); !strings.EqualFold(ext, ".png") {
		return &inputError{fmt.Sprintf("the figure %q does not end in .png, and a PNG is what it will be", path),
			fmt.Sprintf("name it %q", strings.TrimSuffix(path, ext)+".png")}
	}
	return nil
}

// Forms of the files that commands write.
var (
	lensForm     = output.JSON(camera.LensSchema)
	trackForm    = output.Table("frame,time_s,")
	readingsForm = output.Table("\ufeffreading,athlete,day,")
	exportForm   = output.JSON(journal.Schema)
	keyForm      = output.JSON(quiz.KeySchema)
	answersForm  = output.Sheet()
)

// addForce adds the flag that lets outputs replace what they would not.
func addForce(f *pflag.FlagSet, files *output.Set) {
	f.BoolVar(&files.Force, "force", false, "replace a file of the same kind that is there already and that écart did not write itself, or cannot make again; inputs, recordings and journals are never replaced")
}

// addPNG checks the name of a PNG, "" for none, and that it can be written.
func addPNG(files *output.Set, path string) error {
	if path == "" {
		return nil
	}
	if err := isPNG(path); err != nil {
		return err
	}
	return files.Add(path, output.Figure)
}

// writePNG writes a picture as a figure.
func writePNG(ctx context.Context, files *output.Set, path string, img image.Image) error {
	return files.Write(ctx, path, output.Figure, func(w io.Writer) error { return figure.EncodePNG(w, img) })
}

// writes is what writes the bytes given.
func writes(data []byte) func(io.Writer) error {
	return func(w io.Writer) error { _, err := w.Write(data); return err }
}
