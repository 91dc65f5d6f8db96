package rulebook

import (
	_ "embed"
	"fmt"
	"path"
	"strings"
	"unicode"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

//go:embed template.yaml
var template string

// modeline begins the comment by which editors find a file's schema.
const modeline = "# yaml-language-server: $schema="

// Template is the text of a small rule book of that id to start from, with
// comments. The error is for an id that cannot be one.
func Template(id string) ([]byte, error) {
	if err := checkID(id); err != nil {
		return nil, err
	}
	return retitle("", "template.yaml", []byte(strings.ReplaceAll(template, "halle-nord", id)), id)
}

// Copy is the text of the book, comments and all, as a rule book of its own
// under another id. The error is for an id that cannot be one, and for a file
// that cannot be read.
func (b Book) Copy(id string) ([]byte, error) {
	var text []byte
	var err error
	if b.BuiltIn {
		text, err = builtIn.ReadFile(path.Join("books", b.File))
	} else {
		text, err = readFile(b.File)
	}
	if err != nil {
		return nil, err
	}
	head := fmt.Sprintf("# A copy of %s. Where you change a figure, change its origin too.\n", b.ID)
	return retitle(head, b.File, text, id)
}

// retitle gives a book another id, and the head that a new file has.
func retitle(head, file string, text []byte, id string) ([]byte, error) {
	if err := checkID(id); err != nil {
		return nil, err
	}
	text = strict.Plain(text)
	root, problems := parseTree(text)
	if len(problems) > 0 {
		problems[0].File = file
		return nil, problems[0]
	}
	lines := strings.Split(string(text), "\n")
	if v := root.Get("book"); v != nil && v.At.Line > 0 && v.At.Line <= len(lines) {
		lines[v.At.Line-1] = replaceAt(lines[v.At.Line-1], v.At.Column, v.Text, id)
	}
	for len(lines) > 1 && strings.HasPrefix(lines[0], modeline) {
		lines = lines[1:]
	}
	out := []byte(modeline + "./" + SchemaFileName + "\n" + head + strings.Join(lines, "\n"))
	book, problems := decode(file, out, nil)
	if len(problems) > 0 || book.ID != id {
		return nil, fault.New(fmt.Sprintf("rule book %q cannot be copied: its key book is written in an unusual way", file), "copy the file by hand, and change the key book in it")
	}
	return out, nil
}

// replaceAt puts another value in the place of the one at a column, within the
// quotes it may have.
func replaceAt(line string, column int, value, other string) string {
	runes := []rune(line)
	if column < 1 || column > len(runes) {
		return line
	}
	before, rest := string(runes[:column-1]), string(runes[column-1:])
	for _, quote := range []string{"", `"`, "'"} {
		if after, found := strings.CutPrefix(rest, quote+value+quote); found {
			return before + quote + other + quote + after
		}
	}
	return line
}

// checkID says what is wrong with a rule book's id.
func checkID(id string) error {
	if namePattern.MatchString(id) && len(id) <= maxName {
		return nil
	}
	do := fmt.Sprintf("use small letters, digits and hyphens, at most %d, such as halle-nord", maxName)
	words := strings.FieldsFunc(strings.ToLower(id), func(r rune) bool { return !('a' <= r && r <= 'z' || '0' <= r && r <= '9') })
	ascii := !strings.ContainsFunc(id, func(r rune) bool { return r > unicode.MaxASCII })
	if near := strings.Join(words, "-"); ascii && near != "" && len(near) <= maxName {
		do += fmt.Sprintf("; here perhaps %s", near)
	}
	return fault.New(fmt.Sprintf("%q cannot be the name of a rule book", clip(id)), do)
}
