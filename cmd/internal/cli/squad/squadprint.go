package squad

import (
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/session"
)

// printSquad prints the report for a terminal: a table for each measure, then who is
// short, meets it or is undecided.
func printSquad(w io.Writer, r *session.Report) error {
	p := terminal.Printer{Wide: terminal.HelpWidth}
	said := []string{desk.Count(r.Rows, "row"), fmt.Sprintf("%d read", r.Read)}
	if r.Remembered > 0 {
		said[1] += fmt.Sprintf(" (%d remembered)", r.Remembered)
	}
	if n := len(r.NotRead); n > 0 {
		said = append(said, fmt.Sprintf("%d not read", n))
	}
	p.Wrap("écart  ", "squad of "+r.List.Name+": "+strings.Join(said, ", "))
	for _, m := range measuresOf(r) {
		printTable(&p, r, m)
	}
	printGroups(&p, r)
	printFailures(&p, "not read:", r.NotRead)
	printFailures(&p, "read and not kept:", r.NotKept)
	if len(r.Notes)+len(r.Cautions) > 0 {
		p.Line("")
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.Cautions {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}

// printGroups prints who is short, meets it or is undecided, and who has which gap.
func printGroups(p *terminal.Printer, r *session.Report) {
	if len(r.Short)+len(r.Meets)+len(r.Undecided) > 0 {
		p.Line("")
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
			p.Wrap(g.head, joined(who))
		}
	}
	for _, a := range r.Advice() {
		p.Wrap("  ", joined(a.Athletes)+": "+a.Text)
	}
	gaps := r.LargestGaps()
	for _, g := range []struct{ gap, means string }{{"range", "the helper took the limb no further"}, {"control", "the helper did, and own strength does not"}, {"use", "own strength does, and the skill does not show it"}} {
		if who := gaps[g.gap]; len(who) > 0 {
			p.Wrap(terminal.Padded(g.gap+" most:", 14), joined(who)+" ("+g.means+")")
		}
	}
}

// joined lists athletes; each stays on one line with its words.
func joined(who []string) string {
	var out []string
	for _, w := range who {
		out = append(out, terminal.Held(w))
	}
	return strings.Join(out, ", ")
}

func printFailures(p *terminal.Printer, head string, fs []session.Failure) {
	if len(fs) == 0 {
		return
	}
	p.Line("")
	p.Line("%s", head)
	for _, f := range fs {
		who := ""
		if f.Athlete != "" {
			who = ", " + f.Athlete
		}
		p.Wrap(fmt.Sprintf("  line %d%s: ", f.Line, who), f.Reason)
		if f.Do != "" {
			p.Wrap("    ", f.Do)
		}
	}
}
