package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/scene"
	"ecart/vision/take"
)

func newDemo(s streams) *cobra.Command {
	var path string
	c := &cobra.Command{
		Use:   "demo",
		Short: "everything on a built-in take, in seconds, with no question asked",
		Long: `Opens a built-in clip (Wren's split leap in Halle Nord, both of them invented),
reads the frame of the widest split, prints the reading and draws it. The last
line is the path of the picture.`,
		Example: "  ecart demo\n  ecart demo --figure /tmp/leap.png",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return demoRun(c.Context(), s, path) },
	}
	c.Flags().StringVar(&path, "figure", "ecart-demo.png", "draw the reading into this PNG `FILE`")
	return c
}

func demoRun(ctx context.Context, s streams, path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return cannotWrite(path, err)
	}
	if err := writable(path); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "ecart-demo-")
	if err != nil {
		return cannotWrite("the built-in clip", err)
	}
	defer os.RemoveAll(dir)
	clip, marks := scene.Demo()
	file := filepath.Join(dir, "leap.mp4")
	if err := os.WriteFile(file, clip, 0o600); err != nil {
		return cannotWrite(file, err)
	}
	o := readOptions{take: file, skill: "split-leap", camera: "by-eye", confidence: 0.95, seed: 1}
	q := reading.Request{Camera: o.camera, Confidence: o.confidence, Seed: o.seed}
	if q.Marks, err = reading.ParseMarks("leap.marks.json", marks); err != nil {
		return err
	}
	if err := o.target(&q, s.err); err != nil {
		return err
	}
	t, err := take.Open(ctx, file)
	if err != nil {
		return err
	}
	defer t.Close()
	r, img, err := readTake(ctx, s.err, t, q, "")
	if err != nil {
		return err
	}
	if err := writeFigure(path, img, r); err != nil {
		return err
	}
	if err := printReading(s.out, r, q); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "\n%s\n", path)
	return err
}
