package scene

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
)

// writeTruth writes a clip's truth with one frame a line, all or nothing.
func writeTruth(path string, t ClipTruth) (err error) {
	part, err := os.CreateTemp(filepath.Dir(path), ".scene-*.json")
	if err != nil {
		return fmt.Errorf("scene: write %q: %w", path, err)
	}
	defer func() {
		_ = part.Close()
		_ = os.Remove(part.Name())
		if err != nil {
			err = fmt.Errorf("scene: write %q: %w", path, err)
		}
	}()
	truths := t.Truths
	t.Truths = nil
	head, err := json.MarshalIndent(t, "", " ")
	if err != nil {
		return err
	}
	const tail = "null\n}" // of the empty list of truths, which is the last key
	w := bufio.NewWriter(part)
	_, _ = w.Write(head[:len(head)-len(tail)])
	_, _ = w.WriteString("[\n")
	for i, f := range truths {
		line, err := json.Marshal(f)
		if err != nil {
			return err
		}
		_, _ = w.Write(line)
		if i < len(truths)-1 {
			_, _ = w.WriteString(",")
		}
		_, _ = w.WriteString("\n")
	}
	_, _ = w.WriteString("]\n}\n")
	if err := w.Flush(); err != nil {
		return err
	}
	if err := part.Chmod(0o644); err != nil {
		return err
	}
	if err := part.Close(); err != nil {
		return err
	}
	return os.Rename(part.Name(), path)
}
