package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// source is one Go file of the tree: its folder from the root, and its imports.
type source struct {
	file, dir string
	test      bool
	imports   []string
	exits     bool // calls os.Exit
	skips     bool // calls a test's Skip, Skipf or SkipNow
}

func tree(t *testing.T) []source {
	root := filepath.Join("..", "..")
	var out []source
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && p != root {
			return filepath.SkipDir
		}
		if d.IsDir() || filepath.Ext(p) != ".go" {
			return nil
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, 0)
		if err != nil {
			return err
		}
		s := source{file: filepath.ToSlash(rel), dir: path.Dir(filepath.ToSlash(rel)), test: strings.HasSuffix(p, "_test.go")}
		for _, i := range f.Imports {
			name, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, name)
		}
		s.exits = callsExit(f)
		s.skips = callsSkip(f)
		out = append(out, s)
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, len(out), 50, "the tree was not found")
	return out
}

func under(dir, top string) bool { return dir == top || strings.HasPrefix(dir, top+"/") }

func isStandard(name string) bool {
	first, _, _ := strings.Cut(name, "/")
	return !strings.Contains(first, ".") && first != "ecart"
}

// TestBorders holds the borders that DEVELOPERS.md draws. Tests may reach over
// them to compare, except where said.
func TestBorders(t *testing.T) {
	// only says where a library may be imported
	only := map[string]string{
		"gocv.io/x/gocv": "cmd/ecart-see",
		"google.golang.org/protobuf/encoding/protowire": "vision/pose/graph",
		"github.com/spf13/cobra":                        "cmd/internal/cli",
		"github.com/spf13/pflag":                        "cmd/internal/cli",
		"database/sql":                                  "cmd/internal/journal",
		"net/http":                                      "cmd/internal/page",
		"github.com/fogleman/gg":                        "cmd/internal/draw",
	}
	in := func(names ...string) (out []string) { // packages of cmd/internal
		for _, name := range names {
			out = append(out, "cmd/internal/"+name)
		}
		return out
	}
	angles := []string{"geometry", "geometry/camera", "geometry/uncertainty"}
	// may says which of the project's packages a package may import. Every package is here.
	may := map[string][]string{
		"geometry":             {},
		"geometry/camera":      {"geometry"},
		"geometry/uncertainty": {},
		"vision/internal/av":   {},
		"vision/internal/hevc": {},
		"vision/take":          {"vision/internal/av", "vision/internal/hevc", "geometry"},
		"vision/record":        {"vision/internal/av"},
		"vision/sticker":       {"vision/take", "geometry"},
		"vision/see":           {},
		"vision/pose/graph":    {},
		"vision/pose/model":    {},
		"vision/pose":          {"vision/pose/model", "vision/see", "vision/take", "geometry", "geometry/uncertainty"},
		"cmd/internal/getpose": {"vision/pose/graph", "vision/pose/model"},
		"vision/calibrate":     {"vision/see", "geometry", "geometry/camera"},
		"cmd/ecart-see":        {"vision/see"},

		"cmd/internal/fault":    {},
		"cmd/internal/text":     {},
		"cmd/internal/bidi":     {},
		"cmd/internal/large":    {},
		"cmd/internal/demotake": {},
		"cmd/internal/strict":   in("text"),
		"cmd/internal/output":   in("bidi", "fault"),
		"cmd/internal/reading":  append(in("fault", "strict", "text"), angles...),
		"cmd/internal/rulebook": append(in("fault", "reading", "strict", "text"), "geometry"),
		"cmd/internal/movement": {},
		"cmd/internal/change":   append(in("fault", "movement", "reading", "text"), "geometry", "geometry/uncertainty"),
		"cmd/internal/journal":  in("fault", "movement", "output", "reading", "strict"),
		"cmd/internal/quiz":     in("fault", "reading", "strict"),
		"cmd/internal/session":  append(in("change", "fault", "journal", "output", "reading", "text"), "geometry"),
		"cmd/internal/draw":     in("fault", "reading", "text"),
		"cmd/internal/figure":   append(in("draw", "fault", "large", "reading"), "geometry", "geometry/uncertainty"),
		"cmd/internal/chart":    append(in("change", "draw", "movement", "reading"), "geometry/uncertainty"),
		"cmd/internal/sheet":    append(in("change", "chart", "draw", "fault", "figure", "large", "movement", "quiz", "reading", "rulebook", "text"), "geometry", "geometry/uncertainty"),
		"cmd/internal/desk": append(append(in("change", "chart", "fault", "figure", "journal", "large", "movement", "output", "quiz", "reading", "rulebook", "session", "sheet", "strict", "text"), angles...),
			"vision/pose", "vision/pose/model", "vision/record", "vision/see", "vision/sticker", "vision/take"),
		"cmd/internal/lens":         append(in("desk", "fault", "figure", "large"), "geometry", "vision/calibrate", "vision/see", "vision/take"),
		"cmd/internal/record":       append(in("change", "chart", "desk", "fault", "journal", "movement", "reading", "session", "sheet", "text"), angles...),
		"cmd/internal/page":         append(append(in("bidi", "desk", "draw", "fault", "figure", "large", "lens", "movement", "output", "page/folder", "reading", "record", "rulebook", "sheet"), angles...), "vision/take"),
		"cmd/internal/page/folder":  {},
		"cmd/internal/cli/terminal": append(in("change", "desk", "fault", "output", "reading", "text"), "geometry", "geometry/uncertainty", "vision/take"),
		"cmd/internal/cli/flags":    append(in("chart", "cli/terminal", "desk", "fault", "figure", "journal", "output", "quiz", "reading", "text"), "geometry/camera", "vision/take"),
		"cmd/internal/cli/takes": append(in("cli/flags", "cli/terminal", "demotake", "desk", "fault", "figure", "large", "lens", "output", "reading"),
			"geometry/uncertainty", "vision/calibrate", "vision/sticker", "vision/take"),
		"cmd/internal/cli/record": append(in("change", "chart", "cli/flags", "cli/terminal", "desk", "fault", "journal", "movement", "output", "reading", "record"), "geometry", "geometry/uncertainty"),
		"cmd/internal/cli/squad":  in("chart", "cli/flags", "cli/terminal", "desk", "fault", "output", "reading", "session"),
		"cmd/internal/cli/sheets": in("change", "cli/flags", "cli/record", "cli/squad", "cli/terminal", "desk", "fault", "output", "quiz", "reading", "record", "sheet"),
		"cmd/internal/cli/rules":  in("cli/flags", "cli/terminal", "desk", "fault", "output", "reading", "rulebook"),
		"cmd/internal/cli":        in("cli/flags", "cli/record", "cli/rules", "cli/sheets", "cli/squad", "cli/takes", "cli/terminal", "demotake", "desk", "fault", "page"),
		"cmd/ecart":               in("cli"),
		"cmd/internal/manpages":   in("cli"),

		// what only tests and studies use
		"cmd/internal/trial/scene":          {},
		"cmd/internal/trial/scene/generate": in("trial/scene"),
		"cmd/internal/trial/season":         in("change", "reading"),
		"cmd/internal/trial/cover":          append(append(in("change", "desk", "reading", "rulebook", "strict", "trial/scene", "trial/season"), angles...), "vision/sticker", "vision/take"),
	}
	for _, s := range tree(t) {
		for _, name := range s.imports {
			// browsertest and needs only tests import; hard only attacks
			if s.test || s.dir == "cmd/internal/trial/browsertest" || s.dir == "cmd/internal/trial/needs" || under(s.dir, "vision/see/seetest") || s.dir == "cmd/internal/trial/desktest" || s.dir == "cmd/internal/trial/hard" {
				continue
			}
			if where, ok := only[name]; ok {
				assert.True(t, under(s.dir, where), "%s imports %s, which stays in %s", s.file, name, where)
			}
			if under(s.dir, "geometry") {
				fine := isStandard(name) || strings.HasPrefix(name, "gonum.org/") || under(name, "ecart/geometry")
				assert.True(t, fine, "%s imports %s: geometry has the standard library, gonum and itself", s.file, name)
				for _, outside := range []string{"os", "io", "net", "time", "C", "io/fs", "math/rand"} {
					assert.NotEqual(t, outside, name, "%s: geometry knows no files, network, clock, cgo or global randomness", s.file)
				}
			}
			if allowed, ok := may[s.dir]; under(name, "ecart") {
				assert.True(t, ok, "%s: what %s may import stands nowhere", s.file, s.dir)
				assert.Contains(t, allowed, strings.TrimPrefix(name, "ecart/"), "%s imports %s", s.file, name)
			}
			assert.False(t, under(name, "ecart/cmd/internal/cli") && !under(s.dir, "cmd/internal/cli") && s.dir != "cmd/ecart" && s.dir != "cmd/internal/manpages", "%s imports the command line", s.file)
			assert.NotEqual(t, "ecart/cmd/internal/trial/desktest", name, "%s: only tests fill journals", s.file)
			assert.NotEqual(t, "ecart/vision/see/seetest", name, "%s: only tests build the child program", s.file)
			assert.False(t, under(name, "ecart/cmd/internal/trial") && !under(s.dir, "cmd/internal/trial"), "%s imports %s, which only tests and studies may", s.file, name)
		}
		if !s.test {
			assert.False(t, s.exits && s.dir != "cmd/ecart" && s.dir != "cmd/ecart-see" && s.dir != "cmd/internal/manpages" && s.dir != "cmd/internal/getpose", "%s calls os.Exit, which is main's", s.file)
		}
		assert.False(t, s.skips && s.dir != "cmd/internal/trial/needs", "%s skips a test in silence: call needs.NotRun", s.file)
		assert.True(t, s.dir != ".", "%s: no Go file at the top", s.file)
	}
}
