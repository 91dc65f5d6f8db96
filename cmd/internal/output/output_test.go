package output

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/fault"
)

var ctx = context.Background()

func bytesOf(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

func picture(w io.Writer) error { return png.Encode(w, image.NewGray(image.Rect(0, 0, 8, 8))) }

func put(t *testing.T, path, text string) {
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
}

func get(t *testing.T, path string) string {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}

func names(t *testing.T, dir string) (out []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

var table = Table("frame,time_s,")

const (
	page  = "<!doctype html>\n<html></html>\n"
	clip  = "\x00\x00\x00\x18ftypisom\x00\x00\x00\x00isommp42" + "\x00\x00\x00\x08free"
	plain = "frame,time_s,a\r\n1,2,3\r\n"
)

// Files with écart's mark are recognised and replaced, for each form; other files are not.
func TestWhatIsReplaced(t *testing.T) {
	forms := []struct {
		name  string
		form  Form
		write func(io.Writer) error
		free  bool // replaced without Force
	}{
		{"a.png", Figure, picture, true},
		{"a.svg", Figure, bytesOf("<svg xmlns='http://www.w3.org/2000/svg'></svg>\n"), true},
		{"a.pdf", Figure, bytesOf("%PDF-1.4\n%%EOF\n"), true},
		{"a.html", Page, bytesOf(page), true},
		{"a.csv", table, bytesOf(plain), true},
		{"a.mp4", Clip, bytesOf(clip), true},
		{"lens.json", JSON("ecart/lens/1"), bytesOf(`{"schema": "ecart/lens/1"}`), false},
		{"answers.csv", Sheet(), bytesOf("question,band\r\n"), false},
	}
	var pic bytes.Buffer
	require.NoError(t, picture(&pic))
	others := []struct{ what, text string }{
		{"journal", "SQLite format 3\x00 and so on"}, {"photograph", "\xff\xd8\xff\xe0 JFIF"}, {"recording", clip}, {"picture", pic.String()},
		{"page", page}, {"notes", "what I wrote\n"}, {"marks", `{"schema": "ecart/marks/1"}`}, {"sound", "RIFF\x00\x01"},
	}
	for _, f := range forms {
		for _, force := range []bool{false, true} {
			t.Run(fmt.Sprint(f.name, " ", force), func(t *testing.T) {
				dir := t.TempDir()
				path := filepath.Join(dir, f.name)
				s := Set{Force: force}
				require.NoError(t, s.Write(ctx, path, f.form, f.write))
				first := get(t, path)
				second := Set{Force: force}
				err := second.Write(ctx, path, f.form, f.write)
				if f.free || force {
					require.NoError(t, err)
					assert.Equal(t, first, get(t, path), "the same bytes again")
				} else {
					require.ErrorContains(t, err, "is there already")
				}
				for _, o := range others {
					put(t, path, o.text)
					want := f.form.kindFor(path)
					alike := kindOf([]byte(o.text)).name == want.name && want.schema == "" && want != kindMP4
					err := (&Set{Force: force}).Write(ctx, path, f.form, f.write)
					if force && alike {
						require.NoError(t, err, o.what)
						continue
					}
					var e *fault.Error
					require.ErrorAs(t, err, &e, o.what)
					assert.False(t, e.Failed())
					assert.Contains(t, e.Hint(), "name another file")
					assert.Equal(t, o.text, get(t, path), o.what)
				}
				put(t, path, "")
				require.NoError(t, (&Set{}).Write(ctx, path, f.form, f.write), "an empty file has nothing to lose")
				assert.Equal(t, []string{f.name}, names(t, dir))
			})
		}
	}
}

func TestMarksDoNotChangeTheContent(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.png")
	require.NoError(t, (&Set{}).Write(ctx, path, Figure, picture))
	img, err := png.Decode(strings.NewReader(get(t, path)))
	require.NoError(t, err)
	assert.Equal(t, image.Rect(0, 0, 8, 8), img.Bounds())
	assert.Contains(t, get(t, path), "ecRTecart figure")
	path = filepath.Join(dir, "a.html")
	require.NoError(t, (&Set{}).Write(ctx, path, Page, bytesOf(page)))
	assert.Equal(t, page+"<!-- ecart page -->\n", get(t, path))
}

func TestInputsAndOutputsDiffer(t *testing.T) {
	dir := t.TempDir()
	in, link, hard := filepath.Join(dir, "in.png"), filepath.Join(dir, "link.png"), filepath.Join(dir, "hard.png")
	require.NoError(t, (&Set{}).Write(ctx, in, Figure, picture)) // an input is kept even if écart wrote it
	require.NoError(t, os.Symlink("in.png", link))
	require.NoError(t, os.Link(in, hard))
	loose := filepath.Join(dir, "loose.png")
	require.NoError(t, os.Symlink("later.png", loose))
	for _, path := range []string{in, link, hard, filepath.Join(dir, ".", "in.png")} {
		s := Set{Force: true}
		s.From("", in)
		require.ErrorContains(t, s.Add(path, Figure), "would take the place of the file that is read", path)
	}
	s := Set{}
	s.From(filepath.Join(dir, "later.png")) // does not exist yet
	require.ErrorContains(t, s.Add(loose, Figure), "would take the place")

	for _, pair := range [][2]string{{in, link}, {in, hard}, {loose, filepath.Join(dir, "later.png")}, {filepath.Join(dir, "new.png"), filepath.Join(dir, "new.png")}} {
		s := Set{Force: true}
		require.NoError(t, s.Add(pair[0], Figure))
		require.ErrorContains(t, s.Add(pair[1], Figure), "two outputs would go into it")
	}
	require.NoError(t, (&Set{}).Write(ctx, loose, Figure, picture))
	info, err := os.Lstat(loose)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&fs.ModeSymlink, "the target of a link is written, even if it does not exist yet")
	require.FileExists(t, filepath.Join(dir, "later.png"))
}

func TestModes(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	require.NoError(t, (&Set{}).Write(ctx, path, table, bytesOf(plain)))
	mode := func() fs.FileMode {
		info, err := os.Stat(path)
		require.NoError(t, err)
		return info.Mode().Perm()
	}
	assert.Equal(t, fs.FileMode(0o640), mode())
	for _, m := range []fs.FileMode{0o600, 0o666, 0o444} {
		require.NoError(t, os.Chmod(path, m))
		require.NoError(t, (&Set{}).Write(ctx, path, table, bytesOf(plain)))
		assert.Equal(t, m, mode())
	}
}

func TestWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	put(t, path, plain)
	mine := errors.New("mine")
	err := (&Set{}).Write(ctx, path, table, func(w io.Writer) error {
		_, err := io.WriteString(w, "frame,time_s,half")
		assert.NoError(t, err)
		return mine
	})
	assert.Equal(t, mine, err, "an error of the writing function is returned unchanged")
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	assert.ErrorIs(t, (&Set{}).Write(stopped, path, table, bytesOf(plain)), context.Canceled)
	assert.Equal(t, plain, get(t, path))
	assert.Equal(t, []string{"a.csv"}, names(t, dir))

	b, c := filepath.Join(dir, "b.json"), filepath.Join(dir, "c.csv")
	key := JSON("k/1")
	err = (&Set{}).Together(ctx, Item{b, key, bytesOf(`{"schema": "k/1"}`)}, Item{c, Sheet(), func(io.Writer) error { return mine }})
	assert.Equal(t, mine, err)
	assert.Equal(t, []string{"a.csv"}, names(t, dir))
	require.NoError(t, (&Set{}).Together(ctx, Item{b, key, bytesOf(`{"schema": "k/1"}`)}, Item{c, Sheet(), bytesOf("q\r\n")}))
	assert.Equal(t, []string{"a.csv", "b.json", "c.csv"}, names(t, dir))

	require.ErrorIs(t, New(c, bytesOf("x")), fs.ErrExist)
	loose := filepath.Join(dir, "loose") // a dangling link: its name is taken
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), loose))
	require.ErrorIs(t, New(loose, bytesOf("x")), fs.ErrExist)
	require.NoError(t, Replace(c, bytesOf("x")))
	assert.Equal(t, "x", get(t, c))
}

// A file that appears between the check and the end is not replaced.
func TestFileThatAppearsMeanwhileIsKept(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	err := (&Set{}).Write(ctx, path, table, func(w io.Writer) error {
		put(t, path, "mine\n")
		return bytesOf(plain)(w)
	})
	assert.ErrorContains(t, err, "is there already")
	assert.Equal(t, "mine\n", get(t, path))
}

func TestLeftByAKilledRun(t *testing.T) {
	dir := t.TempDir()
	left := filepath.Join(dir, ".ecart-0123456789abcdef.part")
	for _, name := range []string{left, filepath.Join(dir, ".ecart-notes"), filepath.Join(dir, ".ecart-0123456789abcdef.part.txt")} {
		put(t, name, "half")
	}
	running, name, err := named(dir)
	require.NoError(t, err)
	defer running.Close()
	path := filepath.Join(dir, "a.csv")
	require.NoError(t, (&Set{}).Write(ctx, path, table, bytesOf(plain)))
	assert.ElementsMatch(t, []string{".ecart-notes", ".ecart-0123456789abcdef.part.txt", filepath.Base(name), "a.csv"}, names(t, dir),
		"the file of a running run and files with similar names stay")
}

// TestKilled kills child processes at various moments while they write a large file.
func TestKilled(t *testing.T) {
	if path := os.Getenv("ECART_OUTPUT_CHILD"); path != "" {
		fmt.Println("ready")
		for {
			s := Set{}
			if err := s.Write(ctx, path, table, bytesOf("frame,time_s,"+strings.Repeat("x", 1<<22))); err != nil {
				fmt.Println(err)
				os.Exit(1)
			}
		}
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	for i := range 20 {
		cmd := exec.Command(os.Args[0], "-test.run=TestKilled$")
		cmd.Env = append(os.Environ(), "ECART_OUTPUT_CHILD="+path)
		out, err := cmd.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		_, err = out.Read(make([]byte, 8))
		require.NoError(t, err)
		time.Sleep(time.Duration(i*i) * time.Millisecond / 2)
		require.NoError(t, cmd.Process.Kill())
		cmd.Wait()
		if info, err := os.Stat(path); err == nil {
			assert.EqualValues(t, 1<<22+13, info.Size(), "whole")
		}
		Sweep(dir)
		for _, n := range names(t, dir) {
			assert.Equal(t, "a.csv", n)
		}
	}
}

func TestTempFolder(t *testing.T) {
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	for _, name := range []string{"x-demo-1/leap.mp4", "x-demo-2/leap.mp4", "x-demo-2/mine.txt"} {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(tmp, name)), 0o700))
		put(t, filepath.Join(tmp, name), "x")
	}
	one, remove, err := TempFolder("x-demo-", "leap.mp4")
	require.NoError(t, err)
	put(t, filepath.Join(one, "leap.mp4"), "x")
	two, removeTwo, err := TempFolder("x-demo-", "leap.mp4")
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{filepath.Base(one), filepath.Base(two), "x-demo-2"}, names(t, tmp), "a folder left by a killed run is removed; one in use, or with other files in it, is not")
	remove()
	removeTwo()
	assert.Equal(t, []string{"x-demo-2"}, names(t, tmp))
}

// Uncell inverts Cell.
func TestUncellInvertsCell(t *testing.T) {
	for _, s := range []string{"=Lio", "-x.pass-01.csv", "+1", "@a", "'x", "'", "", "Wren", "-", " =a", "-5", "''=x"} {
		assert.Equal(t, s, Uncell(Cell(s)), "%q", s)
	}
}

func TestCells(t *testing.T) {
	for in, want := range map[string]string{
		"Wren": "Wren", "-3.5": "-3.5", "+1": "+1", "1e-3": "1e-3", "": "", "=1+1": "'=1+1", "@SUM(A1)": "'@SUM(A1)", "+1+1": "'+1+1", "-cmd": "'-cmd",
		" =1+1": "' =1+1", "\t=1": "'\t=1", "\r=1": "?=1", "\uff1d1": "'\uff1d1", "a\u202eb": "a?b", "\x1b[2J": "?[2J", "\ufeff=1": "?=1", "a\x00b": "a?b",
	} {
		assert.Equal(t, want, Cell(in), "%q", in)
	}
	var b bytes.Buffer
	c, err := NewCSV(&b, ',', true)
	require.NoError(t, err)
	require.NoError(t, c.Write("=HYPERLINK(\"x\")_deg", "2"))
	require.NoError(t, c.Flush())
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(b.String(), "\ufeff"))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"'=HYPERLINK(\"x\")_deg", "2"}}, rows)
	assert.True(t, strings.HasSuffix(b.String(), "\r\n"))
}

// No cell reads as a formula, and visible text is unchanged except for the apostrophe.
func TestNoCellIsAFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringMatching(`[ \t\r\n]*[=+\-@].*`)).Draw(t, "text")
		got := Cell(s)
		_, err := strconv.ParseFloat(got, 64)
		if rest := strings.TrimSpace(got); err != nil && rest != "" && strings.ContainsRune("=+-@", rune(rest[0])) {
			t.Fatalf("%q is a formula", got)
		}
		if got != Visible(s) && got != "'"+Visible(s) {
			t.Fatalf("%q became %q", s, got)
		}
	})
}

func TestEscapeJSON(t *testing.T) {
	assert.Equal(t, `{"a": "b\u202ec é"}`, string(EscapeJSON([]byte("{\"a\": \"b\u202ec é\"}"))))
	assert.Equal(t, `"\u009b\u007f"`, string(EscapeJSON([]byte("\"\u009b\u007f\""))))
	same := []byte("{\n\t\"a\": \"é\"\n}")
	assert.Equal(t, same, EscapeJSON(same))
}
