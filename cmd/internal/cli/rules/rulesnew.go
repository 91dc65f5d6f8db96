package rules

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/rulebook"

	"github.com/spf13/cobra"
)

// newBook is the result of 'ecart rules new'.
type newBook struct {
	Book       string   `json:"book"`
	File       string   `json:"file"`
	From       string   `json:"from,omitempty"`
	SchemaFile string   `json:"schema_file"`
	Replaces   bool     `json:"replaces_built_in"`
	Defaults   []string `json:"defaults"` // the skills that its plain names mean from now on
}

func newRulesNew(s terminal.Streams, dir *string, asJSON *bool) *cobra.Command {
	var from string
	c := &cobra.Command{
		Use: "new NAME", Short: "make a rule book of your own, from a copy or from an example",
		Long: `Makes a rule book of your own: NAME.yaml in the folder where the others of
yours are, a copy of the book of --from, or a small example with comments. No
file of yours is ever overwritten. Beside it stands the JSON Schema by which
editors explain the keys and underline mistakes while you write.

A copy keeps every figure and where it comes from: change the origin of what
you change. A book with the name of a built-in one takes its place, which is
how a built-in figure is put right.`,
		Example: `  ecart rules new halle-nord
  ecart rules new halle-nord --from fig-women
  ecart rules new fig-women --from fig-women`,
		Args: flags.OneArg("name"),
		RunE: func(c *cobra.Command, a []string) error { return rulesNew(s, *dir, a[0], from, *asJSON) },
	}
	c.Flags().StringVar(&from, "from", "", "copy this `BOOK`, which 'ecart rules' lists")
	return c
}

func rulesNew(s terminal.Streams, dir, name, from string, asJSON bool) error {
	d := s.Desk("", dir)
	lib, err := d.Library()
	if err != nil {
		return err
	}
	result := newBook{Book: name, From: from, Defaults: []string{}}
	text, err := rulebook.Template(name)
	if err == nil && from != "" {
		var source rulebook.Book
		if source, err = lib.Book(from); err != nil {
			return desk.OrLeftOut(lib, err)
		}
		text, err = source.Copy(name)
		result.Defaults = defaults(source)
	}
	if err != nil {
		return err
	}
	if old, err := lib.Book(name); err == nil {
		if !old.BuiltIn {
			return fault.New(fmt.Sprintf("there is already a rule book %q, in %q", name, old.File), "give another name, or change that file")
		}
		result.Replaces = true
	}
	d.WarnRules(lib)
	folder, err := ownFolder(dir)
	if err != nil {
		return err
	}
	result.File = filepath.Join(folder, name+".yaml")
	result.SchemaFile = filepath.Join(folder, rulebook.SchemaFileName)
	if err := writeBook(s.Err, result, text); err != nil {
		return err
	}
	if asJSON {
		return terminal.PrintJSON(s.Out, result)
	}
	var p terminal.Printer
	printNewBook(&p, result)
	return p.Print(s.Out)
}

// defaults returns the skills of a book that can be named without the book.
func defaults(b rulebook.Book) []string {
	out := []string{}
	for _, k := range b.Skills {
		if k.Default {
			out = append(out, k.Name)
		}
	}
	return out
}

// ownFolder returns the folder of the user's rule books.
func ownFolder(dir string) (string, error) {
	if dir != "" {
		return dir, nil
	}
	config, err := os.UserConfigDir()
	if err != nil {
		return "", fault.New(fmt.Sprintf("your configuration folder is not known: %v", err), "name a folder for the rule book with --rules FOLDER")
	}
	return filepath.Join(config, "ecart", "rules"), nil
}

// writeBook writes the book and the schema beside it, or neither.
func writeBook(warn io.Writer, result newBook, text []byte) (err error) {
	folder := filepath.Dir(result.File)
	if _, err := os.Lstat(result.File); err == nil {
		return taken(result.File)
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return output.CannotWrite(folder, err)
	}
	fresh, err := writeSchema(warn, result.SchemaFile)
	if err != nil {
		return err
	}
	err = output.New(result.File, flags.Writes(text))
	if err != nil && fresh {
		os.Remove(result.SchemaFile)
	}
	if errors.Is(err, fs.ErrExist) {
		return taken(result.File)
	}
	return err
}

func taken(path string) error {
	return fault.New(fmt.Sprintf("there is already a file %q", path), "give another name; 'ecart rules check FILE' looks through the one that is there")
}

// writeSchema writes the schema of this version beside the books unless a file of another kind has
// its name. It reports whether there was none.
func writeSchema(warn io.Writer, path string) (fresh bool, err error) {
	schema := rulebook.JSONSchema()
	old, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		fresh = true
	case err != nil:
		return false, output.CannotWrite(path, err)
	case bytes.Equal(old, schema):
		return false, nil
	case schemaID(old) != schemaID(schema):
		fmt.Fprintln(warn, terminal.OneLine(fmt.Sprintf("%q is left as it is: it is no schema of écart's, and editors will be told nothing by it", path)))
		return false, nil
	}
	return fresh, output.Replace(path, flags.Writes(schema))
}

// schemaID returns the $id of a JSON Schema; "" for anything else.
func schemaID(text []byte) string {
	var s struct {
		ID string `json:"$id"`
	}
	if json.Unmarshal(text, &s) != nil {
		return ""
	}
	return s.ID
}

func printNewBook(p *terminal.Printer, b newBook) {
	p.Wrap("", "made "+b.File)
	if b.From != "" {
		p.Wrap("  ", "a copy of "+b.From+", with where each figure comes from")
	} else {
		p.Wrap("  ", "an example: put your own figures in the place of its")
	}
	if b.Replaces {
		p.Wrap("  ", fmt.Sprintf("it takes the place of the built-in %s", b.Book))
	} else if len(b.Defaults) > 0 {
		p.Wrap("  ", fmt.Sprintf("where no book is named, %s means its own from now on; remove \"default: true\" from it if that is not wanted", strings.Join(b.Defaults, ", ")))
	}
	p.Wrap("  ", "editors read "+filepath.Base(b.SchemaFile)+" beside it")
	file := b.File
	if strings.ContainsAny(file, " '") {
		file = strconv.Quote(file)
	}
	p.Wrap("do next: ", fmt.Sprintf("change it, then 'ecart rules check %s'", file))
}

func newRulesSchema(s terminal.Streams) *cobra.Command {
	return &cobra.Command{
		Use: "schema", Short: "print the form of a rule book as a JSON Schema",
		Long: `Prints the form of a rule book as a JSON Schema (draft 2020-12), by which editors
explain the keys and underline mistakes. 'ecart rules new' puts it beside a new
book, whose first line tells the editor so.

A rule book is YAML such as this:

` + exampleBook() + `
Keys that may be left out: note, default, at_most, free_deg, straight_legs,
cautions; label and origin in a band; document and edition (the book's then), section and seen in an
origin. A band may have an origin of its own. A skill that is not measured has
not_measured in place of measure, asked_deg, at_most and free_deg, and its bands
have when in place of over_deg and to_deg. There are no anchors, aliases or tags.

What no schema can say, 'ecart rules check' looks at too: that each band starts
where the one before it ends, that a deduction does not fall as the shortfall
grows and stands in every band or in none, that no name comes twice, that straight_legs
names a skill of the book about bent knees.`,
		Example: "  ecart rules schema >rulebook.schema.json",
		Args:    flags.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := s.Out.Write(rulebook.JSONSchema())
			return err
		},
	}
}

// exampleBook returns the example from which a new book begins, indented.
func exampleBook() string {
	text, err := rulebook.Template("halle-nord")
	if err != nil {
		return ""
	}
	var b strings.Builder
	_, example, _ := strings.Cut(string(text), "\nschema:")
	for _, line := range strings.Split(strings.TrimSuffix("schema:"+example, "\n"), "\n") {
		b.WriteString(strings.TrimRight("  "+line, " ") + "\n")
	}
	return b.String()
}
