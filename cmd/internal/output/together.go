package output

import (
	"context"
	"io"
	"os"
)

// Item is one of several outputs that are only useful together.
type Item struct {
	Path  string
	Form  Form
	Write func(io.Writer) error
}

// Together writes all items or none. All are complete before the first is put in its place.
func (s *Set) Together(ctx context.Context, items ...Item) error {
	files := make([]*File, len(items))
	for i, it := range items {
		f, err := s.Create(it.Path, it.Form)
		if err != nil {
			return err
		}
		defer f.Discard()
		files[i] = f
		if err := f.fill(it.Write); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for i, f := range files {
		if err := f.Commit(); err != nil {
			for _, done := range files[:i] {
				if done.temp.fresh {
					os.Remove(done.placed.target)
				}
			}
			return err
		}
	}
	return nil
}
