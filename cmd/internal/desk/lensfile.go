package desk

import (
	"errors"
	"fmt"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
	"ecart/geometry/camera"
)

// ParseLens parses a lens file; name is used in errors.
func ParseLens(name string, data []byte) (*camera.Lens, error) {
	var f camera.LensFile
	if err := strict.JSON(data, &f, strict.Options{}); err != nil {
		do := ""
		var e *strict.Error
		if errors.As(err, &e) {
			do = e.Do + "; "
		}
		return nil, fault.New(fmt.Sprintf("the lens file %q cannot be read: %v", name, err), do+"'ecart lens PICTURES... "+fault.Option("out")+" FILE' writes one")
	}
	return f.Lens(name)
}
