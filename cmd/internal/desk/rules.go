package desk

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/text"
	"ecart/geometry"
)

// Library returns the built-in rule books and the user's own, from the folder given or the
// usual one.
func (d *Desk) Library() (*rulebook.Library, error) {
	d.books.mu.Lock()
	defer d.books.mu.Unlock()
	if d.books.lib != nil {
		return d.books.lib, nil
	}
	dir := d.opt.Rules
	if dir != "" {
		if _, err := os.Stat(dir); err != nil {
			return nil, fault.New(fmt.Sprintf("there is no folder of rule books %q: %v", dir, output.Cause(err)), "check the name; "+fault.Option("rules")+" wants the folder and not the file")
		}
	} else if config, err := os.UserConfigDir(); err == nil {
		dir = filepath.Join(config, "ecart", "rules")
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			dir = ""
		}
	}
	lib, err := rulebook.Load(dir, IsMeasure)
	d.books.lib = lib
	return lib, err
}

// WarnRules notes what is wrong with the user's own rule books, one line for each file.
func (d *Desk) WarnRules(lib *rulebook.Library) {
	more := map[string]int{}
	for _, p := range lib.Warnings() {
		more[p.File]++
	}
	for _, p := range lib.Warnings() {
		n := more[p.File]
		if n == 0 {
			continue
		}
		more[p.File] = 0
		all := ""
		if n > 1 {
			all = "; " + fault.Operation("check the rule book", p.File) + " says all of it"
		}
		d.opt.Note(p.Error() + all)
	}
}

// FindSkill looks a skill up by its name or BOOK/NAME.
func FindSkill(lib *rulebook.Library, name string) (reading.Skill, error) {
	skill, err := lib.Find(name)
	return skill, OrLeftOut(lib, err)
}

// OrLeftOut adds to the error about a skill that was not found a rule book of the user's that
// was left out because of an error: the skill may be in it.
func OrLeftOut(lib *rulebook.Library, err error) error {
	if err == nil {
		return nil
	}
	for _, p := range lib.Warnings() {
		if p.Line > 0 {
			return fault.New(fmt.Sprintf("%s; a rule book was left out: %s", strings.TrimSpace(err.Error()), p.Error()), p.Hint())
		}
	}
	return err
}

// MeasureNames returns the names of all measures.
func MeasureNames() []string {
	var names []string
	for _, m := range geometry.Measures() {
		names = append(names, m.Name)
	}
	return names
}

// IsMeasure reports whether there is a measure of that name.
func IsMeasure(name string) bool {
	_, ok := geometry.Lookup(name)
	return ok
}

// FindMeasure looks a measure up by its name.
func FindMeasure(name string) (geometry.Measure, error) {
	m, ok := geometry.Lookup(name)
	if !ok {
		hint := fault.Operation("list the measures") + " lists the measures"
		if near := text.Nearest(name, MeasureNames()); near != "" {
			hint = fmt.Sprintf("did you mean %q? %s", near, hint)
		}
		return m, fault.New(fmt.Sprintf("there is no measure %q", name), hint)
	}
	return m, nil
}

// Target puts the skill and the measure into a request; if measure is "", it is the
// skill's.
func (d *Desk) Target(q *reading.Request, skill, measure string) error {
	if skill == "" && measure == "" {
		return fault.New("neither a skill nor a measure was named", "give "+fault.Option("skill")+" NAME ("+fault.Operation("list the skills")+" lists them) or "+fault.Option("measure")+" NAME ("+fault.Operation("list the measures")+" does)")
	}
	if skill != "" {
		lib, err := d.Library()
		if err != nil {
			return err
		}
		k, err := FindSkill(lib, skill)
		if err != nil {
			return err
		}
		d.WarnRules(lib)
		q.Skill = &k
		if measure == "" {
			measure = k.Measure
		}
	}
	var err error
	q.Measure, err = FindMeasure(measure)
	return err
}
