package desk

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

// Pass is one leap of one pass of a clip, read at its widest moment, or a pass with the reason why none is read. A pass is a
// stretch of a clip in which one athlete is in the picture and moves. Each leap in a pass is a reading of its own.
type Pass struct {
	Number      int      `json:"pass"`       // from 1, in the order in which passes begin
	Leap        int      `json:"leap"`       // in the pass, from 1; 0: none is read
	Leaps       int      `json:"leaps"`      // how many the pass has
	From        int      `json:"from_frame"` // of the pass; both ends are included
	To          int      `json:"to_frame"`
	FromS       float64  `json:"from_s"` // true time from the first frame
	ToS         float64  `json:"to_s"`
	Athlete     string   `json:"athlete,omitempty"`
	MomentFrame *int     `json:"moment_frame,omitempty"`
	MomentS     *float64 `json:"moment_s,omitempty"`
	MarksFile   string   `json:"marks_file,omitempty"`
	WhyNot      string   `json:"why_not,omitempty"`
	WhatToDo    string   `json:"what_to_do,omitempty"`
	Notes       []string `json:"notes,omitempty"`

	Reading  *reading.Reading `json:"reading,omitempty"`
	Marks    *reading.Marks   `json:"-"`                // in the frame of the moment
	Track    *reading.Track   `json:"-"`                // of a pass with stickers
	Proposal *Proposal        `json:"-"`                // of a proposed pass
	Nobody   bool             `json:"nobody,omitempty"` // what moves there is no person
}

// PassesSchema is the schema of a list of passes as JSON.
const PassesSchema = "ecart/passes/1"

// newPass returns a pass of these frames.
func newPass(t *take.Take, number, from, to int) Pass {
	return Pass{Number: number, From: from, To: to, FromS: t.TrueTime(from).Seconds(), ToS: t.TrueTime(to).Seconds()}
}

// fail records why no moment is read.
func (p *Pass) fail(err error) {
	p.WhyNot, p.WhatToDo = fault.Words(err, fault.NoDoor)
}

// read records a reading and its moment.
func (p *Pass) read(r *reading.Reading) {
	frame, at := r.Take.Frame, r.Take.TimeS
	p.Reading, p.MomentFrame, p.MomentS = r, &frame, &at
}

// nobodysPass is the entry, in a list of names, for a pass that gets no name.
const nobodysPass = "-"

// ParseAthletes reads names separated by commas, one for each pass, and "-" for a pass that is nobody's.
func ParseAthletes(list string) (names []string, err error) {
	if list == "" {
		return nil, nil
	}
	for _, name := range strings.Split(list, ",") {
		if name = strings.Join(strings.Fields(name), " "); name == "" {
			return nil, fault.New(fmt.Sprintf("%s %q has an empty name", fault.Option("athletes"), list), "write it as Wren,Lio,Iris, with - for a pass that is of no athlete")
		}
		e := journal.Entry{Athlete: name}
		if err := e.CheckNames(); err != nil {
			return nil, err
		}
		if name = e.Athlete; output.Visible(name) != name { // a list would not show it as it is
			return nil, fault.New(fmt.Sprintf("%s has a name with invisible characters in it: %q", fault.Option("athletes"), name), "type the name anew")
		}
		names = append(names, name)
	}
	return names, nil
}

// NamePasses gives each pass in which a person is seen its athlete, in order. If the number of names is not that of these
// passes, nobody is named and there is an error.
func NamePasses(passes []Pass, names []string) error {
	if names == nil {
		return nil
	}
	var of []int // numbers of passes with somebody
	for _, p := range passes {
		if !p.Nobody && !slices.Contains(of, p.Number) {
			of = append(of, p.Number)
		}
	}
	if len(of) != len(names) {
		return fault.New(fmt.Sprintf("there are %s and %s: no pass was given a name", Count(len(names), "name"), passCount(len(of))),
			"look at the passes, and give one name for each in their order, - for a pass that is of no athlete")
	}
	for i := range passes {
		if k := slices.Index(of, passes[i].Number); k >= 0 && names[k] != nobodysPass {
			passes[i].Athlete = names[k]
		}
	}
	return nil
}

func passCount(n int) string {
	if n == 1 {
		return "1 pass"
	}
	return fmt.Sprintf("%d passes", n)
}

// CountPasses words how many passes and moments there are: "3 passes, 4 moments".
func CountPasses(passes []Pass) string {
	n, moments := 0, 0
	for i, p := range passes {
		if i == 0 || passes[i-1].Number != p.Number {
			n++
		}
		if p.Reading != nil {
			moments++
		}
	}
	return passCount(n) + ", " + Count(moments, "moment")
}

// SharedWords is the note of a pass in which somebody else moves too.
const SharedWords = "somebody else moves in the picture in this pass: see that the marks are on the athlete meant"

// smallerWords says that a pass has peaks of the angle that are not counted as leaps.
func smallerWords(n int, most float64) string {
	if n == 1 {
		return fmt.Sprintf("another peak of the angle, %.0f°, is below three quarters of the largest and not counted: a stride, or a smaller leap", most)
	}
	return fmt.Sprintf("%d other peaks of the angle, up to %.0f°, are below three quarters of the largest and not counted: strides, or smaller leaps", n, most)
}

// noPasses words why a clip has no passes.
func noPasses(name string, err error, standing int) error {
	hint := "cut the clip so that one athlete moves in it, and leave " + fault.Option("passes") + " out"
	if standing > 0 {
		return fault.New(fmt.Sprintf("nobody moves in %q: %s stands before the hall for a while", name, Count(standing, "thing")), hint).Because(err)
	}
	return fault.New(fmt.Sprintf("nobody moves in %q", name), hint).Because(err)
}
