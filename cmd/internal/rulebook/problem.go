package rulebook

import (
	"fmt"
	"strings"
)

// A Problem is one finding in a rule-book file.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`            // from 1; 0: the file as a whole
	Column int    `json:"column"`          // in characters from 1; 0: the line or the file as a whole
	Skill  string `json:"skill,omitempty"` // the name of the skill that it is in, if it has one
	Text   string `json:"text"`            // what is wrong
	Do     string `json:"do"`              // what to do
}

// Error returns file, line, column and skill, and what is wrong.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	if p.Line > 0 && p.Column > 0 {
		fmt.Fprintf(&b, ":%d", p.Column)
	}
	b.WriteString(": ")
	if p.Skill != "" {
		fmt.Fprintf(&b, "skill %q: ", p.Skill)
	}
	b.WriteString(p.Text)
	return b.String()
}

// Hint says what to do.
func (p Problem) Hint() string { return p.Do }
