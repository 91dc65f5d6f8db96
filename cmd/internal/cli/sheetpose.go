package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
)

// toPose is a reading that a question is made of.
type toPose struct {
	reading *reading.Reading
	take    string // "" where it is to be found by its content
	from    string // the file it comes from, with the row
	beside  string // the folder of that
}

// posed are the readings of all files that were given.
func (o *sheetOptions) posed(ctx context.Context, s streams) (all []toPose, err error) {
	for _, path := range o.from {
		var some []toPose
		if strings.EqualFold(filepath.Ext(path), ".csv") {
			some, err = o.posedOfList(ctx, s, path)
		} else {
			some, err = posedOfReading(path)
		}
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	type frame struct {
		take, skill, measure string
		at                   int
	}
	before := map[frame]string{}
	for _, p := range all {
		f := frame{p.reading.Take.SHA256, "", p.reading.Measure, p.reading.Take.Frame}
		if p.reading.Skill != nil {
			f.skill = p.reading.Skill.Rulebook + "/" + p.reading.Skill.Name
		}
		if other, ok := before[f]; ok && f.take != "" {
			return nil, &inputError{fmt.Sprintf("%s is of the same frame and skill as %s", p.from, other), "leave one of them out: a quiz asks a thing once"}
		}
		before[f] = p.from
	}
	return all, nil
}

// findAll finds the takes of readings by what is in them, looking through each folder
// once. Those that are not found are left to be named when they are needed.
func (o *sheetOptions) findAll(ctx context.Context, s streams, all []toPose) error {
	defer s.working("looking for the takes")()
	by := map[string]map[string]string{} // by folder, the takes by their sum
	for i, p := range all {
		if p.take != "" || p.reading.Take.SHA256 == "" {
			continue
		}
		folders, deep := o.folders, true
		if len(folders) == 0 {
			folders, deep = []string{p.beside}, false
		}
		for _, dir := range folders {
			if by[dir] == nil {
				sums, err := takesIn(ctx, dir, deep)
				if err != nil {
					return err
				}
				by[dir] = sums
			}
			if path := by[dir][p.reading.Take.SHA256]; path != "" && all[i].take == "" {
				all[i].take = path
			}
		}
	}
	return nil
}

// takesIn are the takes of a folder by their SHA-256; deep looks into the folders in
// it too. A folder that cannot be looked into has none.
func takesIn(ctx context.Context, dir string, deep bool) (map[string]string, error) {
	sums := map[string]string{}
	err := eachTake(ctx, dir, deep, func(p, sum string) error {
		if sum != "" && sums[sum] == "" {
			sums[sum] = p
		}
		return nil
	})
	var closed *inputError
	if errors.As(err, &closed) {
		err = nil
	}
	return sums, err
}

func posedOfReading(path string) ([]toPose, error) {
	data, err := readSmall("reading", path)
	if err != nil {
		return nil, err
	}
	const do = "give what 'ecart read --json' printed, or a LIST of takes and marks files as 'ecart squad' reads"
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, &inputError{fmt.Sprintf("%q is no reading: %v", path, err), do}
	}
	if head.Schema != reading.Schema {
		return nil, &inputError{fmt.Sprintf("%q has the schema %q, and a quiz takes %s", path, head.Schema, reading.Schema), do}
	}
	r, err := parseReading(path, data)
	if err != nil {
		return nil, err
	}
	return []toPose{{reading: r, from: strconv.Quote(path), beside: filepath.Dir(path)}}, nil
}

// posedOfList reads a list as 'ecart squad' does. A row that is not read is an error:
// a quiz is whole or not at all.
func (o *sheetOptions) posedOfList(ctx context.Context, s streams, path string) (out []toPose, err error) {
	run, _, err := o.squadRead(ctx, s, path)
	if err != nil {
		return nil, err
	}
	for _, row := range run.Outcomes() {
		at := fmt.Sprintf("line %d of %q", row.Row.Line, path)
		if row.Err != nil {
			reason, do := wordsOf(row.Err) // with the file's name: this goes to whoever wrote the list
			return nil, &inputError{at + " is not read: " + reason, do}
		}
		out = append(out, toPose{row.Reading, row.Files.Take, at, filepath.Dir(path)})
	}
	return out, nil
}

// squadRead reads a squad's list with the flags by which a take is read. It is an error
// that it was stopped.
func (o *sheetOptions) squadRead(ctx context.Context, s streams, path string) (*session.Session, []byte, error) {
	so := squadOptions{readOptions: o.readOptions, list: path}
	run, data, err := so.read(ctx, s)
	if err != nil {
		return nil, nil, err
	}
	return run, data, ctx.Err()
}
