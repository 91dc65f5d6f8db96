package rulebook

import (
	"embed"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

//go:embed books/*.yaml
var builtIn embed.FS

// A Library holds the built-in rule books and the user's.
type Library struct {
	books    []Book // by id
	warnings []Problem
}

// Load reads the built-in books and every *.yaml and *.yml file in userDir; "" and a folder
// that does not exist mean none. A user's book replaces the built-in one with the same id.
// A file with a problem is skipped as a whole and reported by Warnings. known reports
// whether a measure exists; nil accepts any.
func Load(userDir string, known func(measure string) bool) (*Library, error) {
	l := &Library{}
	if err := l.loadBuiltIn(known); err != nil {
		return nil, err
	}
	if userDir != "" {
		if err := l.loadUser(userDir, known); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(l.books, func(a, b Book) int { return strings.Compare(a.ID, b.ID) })
	return l, nil
}

func (l *Library) loadBuiltIn(known func(string) bool) error {
	names, err := fs.Glob(builtIn, "books/*.yaml")
	if err != nil {
		return fmt.Errorf("built-in rule books: %w", err)
	}
	for _, name := range names {
		text, err := builtIn.ReadFile(name)
		if err != nil {
			return fmt.Errorf("built-in rule books: %w", err)
		}
		book, problems := decode(path.Base(name), text, known)
		if len(problems) > 0 {
			return fmt.Errorf("built-in rule book %w", problems[0])
		}
		book.BuiltIn = true
		l.books = append(l.books, *book)
	}
	return nil
}

func (l *Library) loadUser(dir string, known func(string) bool) error {
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil
	}
	if err != nil {
		return fault.New(fmt.Sprintf("the folder of rule books %q cannot be read", dir), "name a folder that you may read").Because(err)
	}
	for _, e := range entries {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if strings.HasPrefix(e.Name(), ".") || ext != ".yaml" && ext != ".yml" {
			continue
		}
		file := filepath.Join(dir, e.Name())
		text, err := readFile(file)
		if err != nil {
			l.warn(Problem{File: file, Text: err.Error(), Do: hint(err)})
			continue
		}
		book, problems := decode(file, text, known)
		if len(problems) > 0 {
			for _, p := range problems {
				l.warn(p)
			}
			l.warn(Problem{File: file, Text: "the rule book is left out", Do: "put it right, and check it"})
			continue
		}
		l.add(*book)
	}
	return nil
}

func (l *Library) warn(p Problem) { l.warnings = append(l.warnings, p) }

// add adds a user's book, or warns if its id is used twice.
func (l *Library) add(b Book) {
	i := slices.IndexFunc(l.books, func(x Book) bool { return x.ID == b.ID })
	switch {
	case i < 0:
		l.books = append(l.books, b)
	case l.books[i].BuiltIn:
		b.Replaces = true
		l.books[i] = b
		l.warn(Problem{File: b.File, Text: fmt.Sprintf("rule book %q replaces the built-in one", b.ID), Do: "give it another id with the key book to have both"})
	default:
		l.warn(Problem{File: b.File, Text: fmt.Sprintf("rule book %q is already in %s, and is left out", b.ID, l.books[i].File), Do: "give one of them another id with the key book"})
	}
}

// Books returns all rule books, ordered by id.
func (l *Library) Books() []Book { return slices.Clone(l.books) }

// Warnings returns the problems that Load found in the user's files.
func (l *Library) Warnings() []Problem { return slices.Clone(l.warnings) }

// Book returns the book with that id.
func (l *Library) Book(id string) (Book, error) {
	for _, b := range l.books {
		if b.ID == id {
			return b, nil
		}
	}
	return Book{}, l.checkBook(id)
}

// Find returns the skill of that name, converted for package reading. See Skill.
func (l *Library) Find(name string) (reading.Skill, error) {
	s, err := l.Skill(name)
	if err != nil {
		return reading.Skill{}, err
	}
	return s.Reading()
}

// Skill returns the skill called name: NAME or BOOK/NAME. If several books have NAME, it is
// the one marked as default, in a user's book before a built-in one; if none is, BOOK has
// to be given.
func (l *Library) Skill(name string) (Skill, error) {
	asked := strings.ToLower(strings.Join(strings.Fields(name), "-"))
	book, short, named := strings.Cut(asked, "/")
	if !named {
		book, short = "", asked
	}
	if named {
		if err := l.checkBook(book); err != nil {
			return Skill{}, err
		}
	}
	var found, usersDefault, defaults []Skill
	for _, b := range l.books {
		for _, s := range b.Skills {
			if s.Name != short || named && b.ID != book {
				continue
			}
			found = append(found, s)
			if s.Default {
				defaults = append(defaults, s)
			}
			if s.Default && !b.BuiltIn {
				usersDefault = append(usersDefault, s)
			}
		}
	}
	for _, set := range [][]Skill{found, usersDefault, defaults} {
		if len(set) == 1 {
			return set[0], nil
		}
	}
	if len(found) == 0 {
		return Skill{}, l.unknown(name, book, asked)
	}
	refs := Refs(found)
	return Skill{}, fault.New(fmt.Sprintf("skill %q is in %d rule books: %s", short, len(refs), strings.Join(refs, ", ")), fmt.Sprintf("name the book too, such as %s", refs[0]))
}

// Named returns the skills with that plain name in all books.
func (l *Library) Named(name string) []Skill {
	var out []Skill
	for _, b := range l.books {
		for _, s := range b.Skills {
			if s.Name == name {
				out = append(out, s)
			}
		}
	}
	return out
}

// Refs returns the BOOK/NAME of each skill.
func Refs(skills []Skill) []string {
	out := make([]string, len(skills))
	for i, s := range skills {
		out[i] = s.Ref()
	}
	return out
}

// checkBook returns an error with the nearest ids if there is no book with that id.
func (l *Library) checkBook(id string) error {
	var ids []string
	for _, b := range l.books {
		if b.ID == id {
			return nil
		}
		ids = append(ids, b.ID)
	}
	return fault.New(fmt.Sprintf("no rule book %q", clip(id)), "the nearest are "+strings.Join(nearest(id, ids, 3), ", "))
}

// unknown is the error for a skill that does not exist, with the nearest names.
func (l *Library) unknown(name, book, asked string) error {
	var names []string
	for _, b := range l.books {
		if b.ID == asked {
			return fault.New(fmt.Sprintf("%q is a rule book, not a skill", asked), "ask for one of its skills: "+strings.Join(Refs(b.Skills), ", "))
		}
		for _, s := range b.Skills {
			switch {
			case book == b.ID:
				names = append(names, s.Ref())
			case book == "" && !slices.Contains(names, s.Name):
				names = append(names, s.Name)
			}
		}
	}
	return fault.New(fmt.Sprintf("no rule book has a skill %q", clip(name)), fmt.Sprintf("the nearest are %s; %s lists all", strings.Join(nearest(asked, names, 3), ", "), fault.Operation("list the skills")))
}
