package desk

import (
	"context"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/vision/take"
)

// frameOf returns the frame of a reading: of the take from, or if that is "" of the take with
// the same content in folders and their subfolders, or if there are none in beside.
func (d *Desk) frameOf(ctx context.Context, r *reading.Reading, from string, folders, beside []string) (*take.Frame, error) {
	if from == "" {
		deep := len(folders) > 0
		if !deep {
			folders = beside
		}
		if len(folders) == 0 {
			return nil, fault.New(fmt.Sprintf("the take of the reading was not named: it has the SHA-256 %s, and was called %q", r.Take.SHA256, r.Take.Name),
				"give it with "+fault.Option("take")+" TAKE, or a folder that it is in with "+fault.Option("in")+" FOLDER")
		}
		var err error
		if from, err = d.findTake(ctx, r, folders, deep); err != nil {
			return nil, err
		}
	}
	t, err := d.Open(ctx, from)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	sum, err := t.SHA256(ctx)
	if err != nil {
		return nil, err
	}
	info := t.Info()
	if r.Take.SHA256 != "" && sum != r.Take.SHA256 {
		return nil, fault.New(fmt.Sprintf("%q is not the take that was read: its SHA-256 begins with %.12s, and that of the reading with %.12s", from, sum, r.Take.SHA256),
			"give the take that was read, or its folder with "+fault.Option("in")+" FOLDER")
	}
	if r.Take.Frame < 0 || r.Take.Frame >= info.Frames {
		return nil, fault.New(fmt.Sprintf("the reading is of frame %d, and %q has %d frames", r.Take.Frame, from, info.Frames), "give the take that was read")
	}
	return t.Frame(ctx, r.Take.Frame)
}

// takeEndings are the endings of files that may be takes.
var takeEndings = []string{".mp4", ".mov", ".m4v", ".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}

// findTake searches folders, and with deep their subfolders, for the take of a reading by its
// SHA-256.
func (d *Desk) findTake(ctx context.Context, r *reading.Reading, folders []string, deep bool) (string, error) {
	if r.Take.SHA256 == "" {
		return "", fault.New("the reading does not say which take it is of", "give it with "+fault.Option("take")+" TAKE")
	}
	d.opt.Doing("looking for the take")
	defer d.opt.Doing("")
	found, looked := "", 0
	for _, dir := range folders {
		err := eachTake(ctx, dir, deep, func(p, sum string) error {
			looked++
			if sum == r.Take.SHA256 {
				found = p
				return fs.SkipAll
			}
			return nil
		})
		if err != nil {
			return "", err
		}
		if found != "" {
			return found, nil
		}
	}
	return "", fault.New(fmt.Sprintf("the take with the SHA-256 %s, once called %q, is not in %s (%s looked at)", r.Take.SHA256, r.Take.Name, quoted(folders), Count(looked, "file")),
		"give it with "+fault.Option("take")+" TAKE, or the folder it was moved to with "+fault.Option("in")+" FOLDER")
}

func quoted(names []string) string {
	var out []string
	for _, n := range names {
		out = append(out, fmt.Sprintf("%q", n))
	}
	return strings.Join(out, ", ")
}

// eachTake calls fn for every file of a folder that may be a take, with its SHA-256, "" if it
// cannot be read; deep includes subfolders. A subfolder that cannot be read is left out.
func eachTake(ctx context.Context, dir string, deep bool, fn func(path, sum string) error) error {
	return filepath.WalkDir(dir, func(p string, entry fs.DirEntry, err error) error {
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil && p == dir:
			return fault.New(fmt.Sprintf("the folder %q cannot be looked through: %v", dir, output.Cause(err)), "check its name and its permissions")
		case err != nil:
			return nil
		case entry.IsDir() && p != dir && !deep:
			return fs.SkipDir
		case !entry.Type().IsRegular() || !slices.Contains(takeEndings, strings.ToLower(filepath.Ext(p))):
			return nil
		}
		sum, _ := session.FileSum(ctx, p)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return fn(p, sum)
	})
}
