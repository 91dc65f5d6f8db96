package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/reading"
)

// squadPrinter gathers lines no wider than a terminal on a desk.
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

// printSquad is the squad for a terminal: a table of each measure with its rulers
// under one another, then who is where.
func printSquad(w io.Writer, r *squadReport) error {
	var p squadPrinter
	said := []string{count(r.Rows, "row"), fmt.Sprintf("%d read", r.Read)}
	if r.Remembered > 0 {
		said[1] += fmt.Sprintf(" (%d remembered)", r.Remembered)
	}
	if n := len(r.NotRead); n > 0 {
		said = append(said, fmt.Sprintf("%d not read", n))
	}
	p.wrap("écart  ", "squad of "+r.List.Name+": "+strings.Join(said, ", "))
	for _, m := range r.measures() {
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

// groups say who is where.
func (p *squadPrinter) groups(r *squadReport) {
	if len(r.Short)+len(r.Meets)+len(r.Undecided) > 0 {
		p.line("")
	}
	for _, g := range []struct {
		head string
		who  []squadStand
	}{{"short:        ", r.Short}, {"meet it:      ", r.Meets}, {"undecided:    ", r.Undecided}} {
		if len(g.who) > 0 {
			var who []string
			for _, w := range g.who {
				who = append(who, w.String())
			}
			p.wrap(g.head, joined(who))
		}
	}
	for _, d := range r.todo() {
		p.wrap("  ", d)
	}
	gaps := map[string][]string{}
	for i := range r.Athletes {
		for k := range r.Athletes[i].Screens {
			if g := r.Athletes[i].Screens[k].Largest; g != "" && !slices.Contains(gaps[g], r.Athletes[i].Athlete) {
				gaps[g] = append(gaps[g], r.Athletes[i].Athlete)
			}
		}
	}
	for _, g := range []struct{ gap, means string }{{"range", "the helper took the limb no further"}, {"control", "the helper did, and own strength does not"}, {"use", "own strength does, and the skill does not show it"}} {
		if who := gaps[g.gap]; len(who) > 0 {
			p.wrap(padded(g.gap+" most:", 14), joined(who)+" ("+g.means+")")
		}
	}
}

// joined keeps each name, with how many takes say so, on one row.
func joined(who []string) string {
	var out []string
	for _, w := range who {
		out = append(out, held(w))
	}
	return strings.Join(out, ", ")
}

// todo is what would decide the readings that count and do not: one line for those
// who are told the same.
func (r *squadReport) todo() (out []string) {
	who := map[string][]string{}
	var order []string
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			v := one.Reading.Verdict
			if v == nil || v.Decision != reading.Undecided || !one.Counts || len(one.Reading.Advice) == 0 {
				continue
			}
			a := one.Reading.Advice[0]
			if who[a] == nil {
				order = append(order, a)
			}
			if !slices.Contains(who[a], r.Athletes[i].Athlete) {
				who[a] = append(who[a], r.Athletes[i].Athlete)
			}
		}
	}
	for _, a := range order {
		out = append(out, joined(who[a])+": "+a)
	}
	return out
}

func (p *squadPrinter) failures(head string, fs []squadFailure) {
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
