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

// Template returns the text of a small commented rule book with that id, to start from. An
// invalid id is an error.
func Template(id string) ([]byte, error) {
	if err := checkID(id); err != nil {
		return nil, err
	}
	return retitle("", "template.yaml", []byte(strings.ReplaceAll(template, "halle-nord", id)), id)
}

// Copy returns the text of the book, with its comments, under another id. An invalid id and
// a file that cannot be read are errors.
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

// retitle changes a book's id and puts a new file's head before it.
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

// replaceAt replaces the value at a column (from 1), which may be in quotes.
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

// checkID returns an error for an invalid rule-book id.
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
