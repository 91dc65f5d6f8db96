package takes

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
)

// demoMarks is the name of the built-in marks file.
const demoMarks = "leap.marks.json"

// demoOptions are the flags of `ecart demo`.
type demoOptions struct {
	figure, leave string
	json          bool
	files         output.Set
}

func NewDemo(s terminal.Streams) *cobra.Command {
	var o demoOptions
	c := &cobra.Command{
		Use:   "demo",
		Short: "everything on a built-in take, in seconds, with no question asked",
		Long: `Opens a built-in clip (Wren's split leap in Halle Nord, both of them invented),
reads the frame of the widest split, prints the reading and draws it. The last
line is the path of the picture.

With --leave the clip and its marks file stay in a folder, and the same reading
is 'ecart read leap.mp4 --marks leap.marks.json --skill split-leap --camera
by-eye' there.`,
		Example: "  ecart demo\n  ecart demo --figure /tmp/leap.png --leave /tmp/leap",
		Args:    flags.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return demoRun(c.Context(), s, o) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.figure, "figure", "ecart-demo.png", "draw the reading into the PNG `FILE`")
	f.StringVar(&o.leave, "leave", "", "leave the clip and its marks file in `FOLDER`, to try 'ecart read' on")
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print the reading as JSON (ecart/reading/1), and the picture's path on standard error")
	return c
}

func demoRun(ctx context.Context, s terminal.Streams, o demoOptions) error {
	if err := flags.IsPNG(o.figure); err != nil {
		return err
	}
	clip, marks := demotake.Files()
	dir, remove, err := output.TempFolder("ecart-demo-", demotake.Name)
	if err != nil {
		return output.CannotWrite(os.TempDir(), err)
	}
	defer remove()
	file := filepath.Join(dir, demotake.Name)
	if err := os.WriteFile(file, clip, 0o600); err != nil {
		return output.CannotWrite(file, err)
	}
	d := s.Desk("", "")
	m, err := reading.ParseMarks(demoMarks, marks)
	if err != nil {
		return err
	}
	q, err := d.PrepareWith(desk.Ask{Take: file, Skill: "fig-women/split-leap", Camera: "by-eye", Confidence: 0.95, Seed: 1}, m)
	if err != nil {
		return err
	}
	t, err := openTake(ctx, s, d, file)
	if err != nil {
		return err
	}
	defer t.Close()
	r, f, err := readTake(ctx, s, d, t, q)
	if err != nil {
		return err
	}
	if err := o.addOutputs(clip, marks); err != nil {
		return err
	}
	if err := writeFigure(ctx, &o.files, o.figure, f.Image(), r); err != nil {
		return err
	}
	for _, l := range o.left(clip, marks) {
		if err := o.files.Write(ctx, l.path, l.form, flags.Writes(l.data)); err != nil {
			return err
		}
	}
	if o.json {
		fmt.Fprintln(s.Err, o.figure)
		return terminal.PrintJSON(s.Out, r)
	}
	if err := terminal.PrintReading(s.Out, r, q.Request); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.Out, "\n%s\n", o.figure)
	return err
}

// leftFile is a file that --leave writes.
type leftFile struct {
	path string
	form output.Form
	data []byte
}

// left returns the files that --leave writes, without those that are there already with the
// same content.
func (o *demoOptions) left(clip, marks []byte) (out []leftFile) {
	if o.leave == "" {
		return nil
	}
	for _, f := range []leftFile{
		{filepath.Join(o.leave, demotake.Name), output.Recording, clip},
		{filepath.Join(o.leave, demoMarks), output.JSON(reading.MarksSchema), marks},
	} {
		if there, err := os.ReadFile(f.path); err != nil || !bytes.Equal(there, f.data) {
			out = append(out, f)
		}
	}
	return out
}

// addOutputs makes the folders and checks early that the files can be written.
func (o *demoOptions) addOutputs(clip, marks []byte) error {
	if err := os.MkdirAll(filepath.Dir(o.figure), 0o777); err != nil {
		return output.CannotWrite(o.figure, err)
	}
	if err := os.MkdirAll(o.leave, 0o777); o.leave != "" && err != nil {
		return output.CannotWrite(o.leave, err)
	}
	if err := o.files.Add(o.figure, output.Figure); err != nil {
		return err
	}
	for _, l := range o.left(clip, marks) {
		if err := o.files.Add(l.path, l.form); err != nil {
			return err
		}
	}
	return nil
}
