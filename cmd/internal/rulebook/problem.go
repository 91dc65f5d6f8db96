package rulebook

import (
	"fmt"
	"strings"
)

// A Problem is one finding in a rule-book file.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`            // from 1; 0 where the file as a whole is meant
	Column int    `json:"column"`          // in characters from 1; 0 where a line or the file is meant
	Skill  string `json:"skill,omitempty"` // the skill it stands in, where it has a name
	Text   string `json:"text"`            // what is wrong
	Do     string `json:"do"`              // what to do
}

// Error names the file, the line, the column and the skill, and says what is
// wrong.
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
