package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/session"
)

// squadPrinter collects lines of at most helpWidth characters.
type squadPrinter struct{ b strings.Builder }

func (p *squadPrinter) line(format string, a ...any) {
	p.b.WriteString(strings.TrimRight(printable(fmt.Sprintf(format, a...)), " ") + "\n")
}

// wrap adds text broken between words, head before the first line.
func (p *squadPrinter) wrap(head, text string) {
	n := utf8.RuneCountInString(head)
	for i, row := range broken(text, helpWidth-n) {
		if i > 0 {
			head = strings.Repeat(" ", n)
		}
		p.line("%s%s", head, row)
	}
}

// printSquad prints the report for a terminal: a table for each measure, then who is
// short, meets it or is undecided.
func printSquad(w io.Writer, r *session.Report) error {
	var p squadPrinter
	said := []string{desk.Count(r.Rows, "row"), fmt.Sprintf("%d read", r.Read)}
	if r.Remembered > 0 {
		said[1] += fmt.Sprintf(" (%d remembered)", r.Remembered)
	}
	if n := len(r.NotRead); n > 0 {
		said = append(said, fmt.Sprintf("%d not read", n))
	}
	p.wrap("écart  ", "squad of "+r.List.Name+": "+strings.Join(said, ", "))
	for _, m := range measuresOf(r) {
		p.table(r, m)
	}
	p.groups(r)
	p.failures("not read:", r.NotRead)
	p.failures("read and not kept:", r.NotKept)
	if len(r.Notes)+len(r.Cautions) > 0 {
		p.line("")
	}
	for _, n := range r.Notes {
		p.wrap("noted:   ", n)
	}
	for _, c := range r.Cautions {
		p.wrap("caution: ", c)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// groups lists who is short, meets it or is undecided, and whose gap is which.
func (p *squadPrinter) groups(r *session.Report) {
	if len(r.Short)+len(r.Meets)+len(r.Undecided) > 0 {
		p.line("")
	}
	for _, g := range []struct {
		head string
		who  []session.Standing
	}{{"short:        ", r.Short}, {"meet it:      ", r.Meets}, {"undecided:    ", r.Undecided}} {
		if len(g.who) > 0 {
			var who []string
			for _, w := range g.who {
				who = append(who, w.String())
			}
			p.wrap(g.head, joined(who))
		}
	}
	for _, a := range r.Advice() {
		p.wrap("  ", joined(a.Athletes)+": "+a.Text)
	}
	gaps := r.LargestGaps()
	for _, g := range []struct{ gap, means string }{{"range", "the helper took the limb no further"}, {"control", "the helper did, and own strength does not"}, {"use", "own strength does, and the skill does not show it"}} {
		if who := gaps[g.gap]; len(who) > 0 {
			p.wrap(padded(g.gap+" most:", 14), joined(who)+" ("+g.means+")")
		}
	}
}

// joined lists athletes and keeps each, with what is said of it, on one line.
func joined(who []string) string {
	var out []string
	for _, w := range who {
		out = append(out, held(w))
	}
	return strings.Join(out, ", ")
}

func (p *squadPrinter) failures(head string, fs []session.Failure) {
	if len(fs) == 0 {
		return
	}
	p.line("")
	p.line("%s", head)
	for _, f := range fs {
		who := ""
		if f.Athlete != "" {
			who = ", " + f.Athlete
		}
		p.wrap(fmt.Sprintf("  line %d%s: ", f.Line, who), f.Reason)
		if f.Do != "" {
			p.wrap("    ", f.Do)
		}
	}
}
