package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"path/filepath"
	"slices"
	"strings"
)

// neutralName returns a name for a take whose file name may contain the athlete's name: the
// start of its SHA-256, with the old extension.
func neutralName(old, sha256 string) string {
	ending := strings.ToLower(filepath.Ext(old))
	if !slices.Contains([]string{".mp4", ".mov", ".m4v", ".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}, ending) {
		ending = ""
	}
	return "take-" + sha256[:min(8, len(sha256))] + ending
}

// renameTake replaces the name of the take in a reading's JSON and changes no other byte.
func renameTake(reading []byte, name string) (json.RawMessage, error) {
	d := json.NewDecoder(bytes.NewReader(reading))
	for _, key := range []string{"take", "name"} {
		if t, err := d.Token(); err != nil || t != json.Delim('{') {
			return nil, errors.New("journal: a reading without a take")
		}
		for {
			if !d.More() {
				return nil, errors.New("journal: a reading whose take has no name")
			}
			t, err := d.Token()
			if err != nil {
				return nil, err
			}
			if t == key {
				break
			}
			var skip json.RawMessage
			if err := d.Decode(&skip); err != nil {
				return nil, err
			}
		}
	}
	from := d.InputOffset()
	var old json.RawMessage
	if err := d.Decode(&old); err != nil {
		return nil, err
	}
	to := d.InputOffset()
	quoted, err := json.Marshal(name)
	if err != nil {
		return nil, err
	}
	out := append([]byte(nil), reading[:from]...)
	out = append(append(out, ':'), quoted...)
	return append(out, reading[to:]...), nil
}
