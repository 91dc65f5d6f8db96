package rulebook

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// For any text decode returns findings that can be printed and
// are on a line of the file, or a book that a reading can use.
func FuzzDecode(f *testing.F) {
	for _, glob := range []string{"books/*.yaml", "testdata/*/*.yaml"} {
		files, err := filepath.Glob(glob)
		if err != nil || len(files) == 0 {
			f.Fatal("no seeds in", glob, err)
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
		}
	}
	for _, s := range []string{"skills:", "{0", "*-0", ">\n>", "&{0", "0\n:", "- - -", "? [a]", "a: |\n  b", "%YAML 1.2\n---\n", "\"\\", "a: !!x &y z"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		book, problems := decode("x.yaml", text, known)
		lines := 1 + bytes.Count(text, []byte("\n")) + bytes.Count(text, []byte("\r"))
		for _, p := range problems {
			if p.Hint() == "" || p.Text == "" || strings.ContainsAny(p.Error(), "\n\r") {
				t.Errorf("a finding that says too little or runs over its line: %+v", p)
			}
			if p.Line < 0 || p.Line > lines {
				t.Errorf("line %d of %d: %v", p.Line, lines, p)
			}
			if p.Column < 0 || p.Column > 1+len(text) || p.Line == 0 && p.Column > 0 {
				t.Errorf("column %d: %v", p.Column, p)
			}
		}
		if len(problems) > 0 {
			return
		}
		// A copy is refused, or it is the same book under the other id.
		if copied, err := retitle("# a copy\n", "x.yaml", text, "other"); err == nil {
			other, problems := decode("x.yaml", copied, known)
			if len(problems) > 0 || other.ID != "other" || other.Title != book.Title || len(other.Skills) != len(book.Skills) {
				t.Errorf("a copy that is another book: %v\n%s", problems, copied)
			}
			for i := range other.Skills {
				a, b := book.Skills[i], other.Skills[i]
				b.Book, b.Line = a.Book, a.Line
				if a.straight != nil && b.straight != nil { // it names the book
					a.straight, b.straight = nil, nil
				}
				if !reflect.DeepEqual(a, b) {
					t.Errorf("a copy with another skill: %+v, not %+v", b, a)
				}
			}
		}
		for _, s := range book.Skills {
			if s.NotMeasured != "" {
				continue
			}
			r, err := s.Reading()
			if err != nil {
				t.Fatal(err)
			}
			if !known(r.Measure) || r.Provenance == "" || r.Edition == "" || r.Source == "" || !(r.AskedDeg >= 0 && r.AskedDeg < 360) {
				t.Errorf("let through: %+v", r)
			}
			if r.Ratio != "" {
				from := r.RatioBands[0].Over
				for i, b := range r.RatioBands {
					if b.Over != from || (b.To == nil) != (i == len(r.RatioBands)-1) || b.To != nil && !(*b.To > b.Over) {
						t.Errorf("bands of a ratio let through: %+v", r.RatioBands)
					}
					if b.To != nil {
						from = *b.To
					}
				}
				continue
			}
			from := r.FreeDeg
			for _, b := range r.Bands {
				if b.FromDeg != from || !(b.ToDeg > b.FromDeg) {
					t.Errorf("bands let through: %+v", r.Bands)
				}
				from = b.ToDeg
			}
			if !math.IsInf(from, 1) {
				t.Errorf("the last band ends: %+v", r.Bands)
			}
		}
	})
}
