package rules

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/rulebook"
)

// unchecked is an entry of a rule book whose figures nobody compared with the document.
type unchecked struct {
	Book       string              `json:"book"`
	Skill      string              `json:"skill"`
	Document   string              `json:"document"`
	Edition    string              `json:"edition"`
	Section    string              `json:"section,omitempty"`
	Provenance rulebook.Provenance `json:"provenance"`
	Figures    []string            `json:"figures"`
}

// listSources prints which figures of the rule books nobody compared with the document, as a list to
// tick off with the document at hand.
func listSources(s terminal.Streams, dir string, asJSON bool) error {
	d := s.Desk("", dir)
	lib, err := d.Library()
	if err != nil {
		return err
	}
	d.WarnRules(lib)
	list := []unchecked{}
	for _, b := range lib.Books() {
		for _, k := range b.Skills {
			list = append(list, uncheckedIn(b, k)...)
		}
	}
	if asJSON {
		return terminal.PrintJSON(s.Out, list)
	}
	var p terminal.Printer
	if len(list) == 0 {
		p.Line("every figure was read in its document")
		return p.Print(s.Out)
	}
	document := ""
	for _, u := range byDocument(list) {
		if head := u.head(); head != document {
			if document != "" {
				p.Line("")
			}
			document = head
			p.Wrap("", head)
		}
		where := u.Book + "/" + u.Skill + ", " + strings.TrimPrefix(string(u.Provenance), "from-")
		if u.Section != "" {
			where += ", see " + u.Section
		}
		p.Wrap("  [ ] ", where+": "+strings.Join(u.Figures, "; "))
	}
	p.Line("")
	p.Wrap("", "Whoever has a document: compare, then copy the book ('ecart rules new NAME --from BOOK'), put the figures right, and say published with the day in its origin.")
	return p.Print(s.Out)
}

func (u *unchecked) head() string { return u.Document + ", " + u.Edition }

// byDocument puts the entries of one edition of a document next to each other, in the order in which the editions first appear.
func byDocument(list []unchecked) []unchecked {
	first := map[string]int{}
	for i := range list {
		if _, ok := first[list[i].head()]; !ok {
			first[list[i].head()] = i
		}
	}
	slices.SortStableFunc(list, func(a, b unchecked) int { return first[a.head()] - first[b.head()] })
	return list
}

// uncheckedIn returns the figures of a skill that come from memory or at second hand, by provenance. Common
// practice has no document to be compared with.
func uncheckedIn(b rulebook.Book, k rulebook.Skill) []unchecked {
	var out []unchecked
	add := func(o rulebook.Origin, figure string) {
		if o.Provenance != rulebook.FromMemory && o.Provenance != rulebook.SecondHand {
			return
		}
		for i := range out {
			if out[i].Provenance == o.Provenance && out[i].Section == o.Section {
				out[i].Figures = append(out[i].Figures, figure)
				return
			}
		}
		out = append(out, unchecked{b.ID, k.Name, o.Document, o.Edition, o.Section, o.Provenance, []string{figure}})
	}
	if k.NotMeasured == "" {
		add(k.Origin, askedHead(k)+askedWords(k))
	}
	for _, band := range k.Bands {
		origin := k.Origin
		if band.Origin != nil {
			origin = *band.Origin
		}
		takes := "takes off " + band.Deduction
		if band.Deduction == "" {
			takes = "takes off nothing that is named"
		}
		switch {
		case band.When != "":
			add(origin, band.When+" "+takes)
		case k.Ratio != "":
			add(origin, whereWords(k, band)+" "+takes)
		case band.ToDeg == nil:
			add(origin, fmt.Sprintf("over %g° %s", band.OverDeg, takes))
		default:
			add(origin, fmt.Sprintf("over %g to %g° %s", band.OverDeg, *band.ToDeg, takes))
		}
	}
	return out
}
