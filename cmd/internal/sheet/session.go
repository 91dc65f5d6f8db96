package sheet

import (
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/reading"
)

// SquadInput is a session of many athletes.
type SquadInput struct {
	Day                     string           // as shown; may be empty
	Rows                    []chart.SquadRow // a reading, or the reason why there is none, without file names
	Short, Meets, Undecided []string
	Gaps                    map[string][]string // athletes by their largest gap: range, control, use
	Notes                   []string
	Cautions                []string

	// Who and Readings are those of the athlete on a page for an athlete or a parent,
	// which shows no other athlete.
	Who      string
	Readings []SquadReading
}

// SquadReading is one take of an athlete.
type SquadReading struct {
	Condition, Side, State string
	Counts                 bool // it is in the condition nearest to the skill
	Reading                *reading.Reading
}

type squadPage struct {
	Leaves []squadLeaf
	Where  string
	Groups []string
	Rules  []string
	Notes  []string
	Cares  []string
}

type squadLeaf struct {
	First, Last bool
	Chart       template.HTML
	Foot        string
}

// WriteSquad writes a session: chart.PageRows athletes on a page, or the takes of one
// athlete in plain words.
func WriteSquad(w io.Writer, in SquadInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return s.plainSquad(w, in, who)
	}
	if len(in.Rows) == 0 {
		return problem("write a row for each take", "there is nobody in the session to put on a page")
	}
	t := &s.kind().squad
	p := squadPage{Where: t.Where}
	for _, g := range []struct {
		say string
		who []string
	}{{t.short, in.Short}, {t.meets, in.Meets}, {t.undecided, in.Undecided}, {t.gap["range"], in.Gaps["range"]}, {t.gap["control"], in.Gaps["control"]}, {t.gap["use"], in.Gaps["use"]}} {
		if len(g.who) > 0 {
			p.Groups = append(p.Groups, fmt.Sprintf(g.say, strings.Join(g.who, ", ")))
		}
	}
	p.Rules = s.rulesOf(in.Rows)
	for _, n := range in.Notes[:min(len(in.Notes), mostSquadNotes)] {
		p.Notes = append(p.Notes, s.sentence(n))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	leaves := (len(in.Rows) + chart.PageRows - 1) / chart.PageRows
	for i := range leaves {
		rows := slices.Clone(in.Rows[i*chart.PageRows : min(len(in.Rows), (i+1)*chart.PageRows)])
		for k := range rows {
			if rows[k].Reading != nil {
				rows[k].Reading = s.localised(rows[k].Reading)
			}
		}
		leaf := squadLeaf{First: i == 0, Last: i == leaves-1}
		if leaves > 1 {
			leaf.Foot = fmt.Sprintf(t.page, i+1, leaves)
		}
		room := s.heightMM() - edgesMM - gapMM
		if leaf.First {
			room -= headMM
		}
		if leaf.Last {
			room -= p.wordsMM()
		}
		if leaf.Chart, err = s.squadChart(rows, room); err != nil {
			return err
		}
		p.Leaves = append(p.Leaves, leaf)
	}
	return s.writePage(w, "squad", t.title, in.Day, nil, p)
}

// rulesOf returns the rules with which the rows are compared, each with the provenance of its figures.
func (s *setting) rulesOf(rows []chart.SquadRow) []string {
	var out []string
	for i := range rows {
		r := rows[i].Reading
		if r == nil || r.Skill == nil || r.Verdict == nil {
			continue
		}
		name := r.Skill.Rulebook + "/" + r.Skill.Name
		if e := r.Skill.Edition; e != "" && e != "none" {
			name += ", " + e
		}
		line := s.localLine(fmt.Sprintf(s.kind().squad.rule, r.AskedWords(), name, lookup(s.known, r.Skill.Provenance)))
		if !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	return out
}

// mostSquadNotes is the number of notes that fit on a session's page.
const mostSquadNotes = 4

// wordsMM estimates the height of the text below the drawing, in millimetres.
func (p *squadPage) wordsMM() float64 {
	h := headingMM + 2*gapMM + footMM
	for _, g := range append(slices.Clone(p.Groups), p.Rules...) {
		h += lineMM * lineCount(g, footChars)
	}
	return h + footMM*(lineCount(strings.Join(p.Notes, " "), footChars)+lineCount(strings.Join(p.Cares, " "), footChars)) + 2
}

// squadChart draws rows in a height of at most roomMM millimetres. If they do not fit, the chart
// is drawn wider than the page and scaled down.
func (s *setting) squadChart(rows []chart.SquadRow, roomMM float64) (template.HTML, error) {
	const most, step = 1.6, 0.05 // times the page's width
	for k := 1.0; ; k += step {
		d, err := chart.Squad(chart.SquadData{Rows: rows}, s.chartOptions(k*s.widthMM()))
		if err != nil || heightOf(d, s.widthMM()) <= roomMM || k > most {
			return s.chartSVG(d, err)
		}
	}
}

// plainSquad writes the page of one athlete, which shows no other athlete.
func (s *setting) plainSquad(w io.Writer, in SquadInput, who Audience) error {
	if in.Who == "" || len(in.Readings) == 0 {
		return problem("name one who was read", "there is no athlete for the page of an athlete or a parent")
	}
	t, words := s.kind().plain[who], s.words.plain[who]
	p := plainKindPage{W: words, Key: t.key["levels"], Cannot: t.cannotSquad}
	var measures []string
	for _, one := range in.Readings {
		if !slices.Contains(measures, one.Reading.Measure) {
			measures = append(measures, one.Reading.Measure)
		}
	}
	asks := false
	for _, m := range measures[:min(len(measures), mostPlainMeasures)] {
		var levels []levelRow
		var asked *float64
		askedWords, said := "", false
		for i, one := range in.Readings {
			if one.Reading.Measure != m {
				continue
			}
			if len(levels) < mostPlainRows {
				levels = append(levels, levelRow{s.takeName(&one, i, t), one.Reading.AngleDeg, one.Reading.IntervalDeg})
			}
			if k := one.Reading.Skill; k != nil && asked == nil {
				asked, asks = &k.ThresholdDeg, true
				askedWords = t.askedLine
				if k.AtMost {
					askedWords = t.askedMost
				}
				askedWords = fmt.Sprintf(askedWords, s.plainDeg(k.ThresholdDeg))
			}
			if one.Counts && !said {
				said = true
				_, off := plainAngle(one.Reading)
				plus := fmt.Sprintf(words.off, s.number(off, places(one.Reading)))
				p.Says = append(p.Says, strings.TrimSuffix(s.angleSentence(one.Reading, words), ".")+", "+plus+".", s.goalSentence(one.Reading, words))
			}
		}
		p.Charts = append(p.Charts, s.levels(levels, asked, askedWords))
	}
	if asks {
		p.Key += " " + t.key["asked"]
	}
	p.Care = s.plainCare(who, measures[0])
	return s.writePage(w, "plainkind", t.squadTitle, in.Day, []string{in.Who}, p)
}

// How much of one athlete a page in plain words has room for.
const (
	mostPlainMeasures = 2
	mostPlainRows     = 5
)

// takeName returns a name of a take in plain words.
func (s *setting) takeName(one *SquadReading, i int, t plainKindWords) string {
	name := t.condition[one.Condition]
	if name == "" {
		name = fmt.Sprintf(t.picture, i+1)
	}
	if one.Side != "" {
		name = fmt.Sprintf(t.sided, one.Side, name)
	}
	return name
}
