package record

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/record"
)

// ContrastOptions are the flags that choose a contrast.
type ContrastOptions struct {
	Athlete, Journal string
	contrast         string
	day, side        string
	confidence       float64
	Now              func() time.Time // the clock
}

// AddFlags adds the flags by which a contrast and its readings are chosen.
func (o *ContrastOptions) AddFlags(f *pflag.FlagSet) {
	f.StringVar(&o.contrast, "contrast", "", "the `CONTRAST`: 'ecart screen --list' has them")
	f.StringVar(&o.day, "day", "", screenFlagDay)
	f.StringVar(&o.side, "side", "", changeFlagSide)
	f.Float64Var(&o.confidence, "confidence", 0.95, screenFlagConfidence)
}

// Ask returns the contrast that the flags ask for.
func (o *ContrastOptions) Ask() record.ContrastAsk {
	return record.ContrastAsk{Athlete: o.Athlete, Contrast: o.contrast, Day: o.day, Side: o.side, Confidence: o.confidence}
}

// contrastRun is 'ecart screen --contrast'.
func contrastRun(ctx context.Context, s terminal.Streams, o *ScreenOptions) error {
	for _, f := range []struct{ flag, value string }{{"movement", o.movement}, {"skill", o.skill}} {
		if f.value != "" {
			return fault.New("--contrast and --"+f.flag+" were both given", "a contrast compares two positions and asks no angle: leave one out")
		}
	}
	if o.asked.goal("").Deg != nil {
		return fault.New("--contrast and --asked were both given", "a contrast compares two positions and asks no angle: leave one out")
	}
	o.files.From(o.Journal)
	if err := flags.AddChart(&o.files, o.figure); err != nil {
		return err
	}
	one := ContrastOptions{Athlete: o.Athlete, contrast: o.contrast, day: o.day, side: o.side, confidence: o.confidence}
	r, err := record.New(s.DeskAt(o.Journal, o.Rules, o.Now)).Contrast(ctx, one.Ask())
	if err != nil {
		return err
	}
	return show(ctx, s, asShown{&o.files, o.figure, o.json}, r, drawnContrast, printContrast)
}

// drawnContrast draws the contrast of one side.
func drawnContrast(r *record.Contrast) (*chart.Drawing, error) {
	if len(r.Sides) > 1 {
		return nil, fault.New(fmt.Sprintf("%q was read on %s, and a figure shows one side", r.Athlete, desk.Count(len(r.Sides), "side")), "give --side left or --side right")
	}
	return chart.Contrast(chart.ContrastData{Who: r.Athlete, Contrast: r.Sides[0]}, chart.Options{})
}

// printContrast prints a contrast, narrow enough for a phone.
func printContrast(w io.Writer, r *record.Contrast) error {
	var p terminal.Printer
	p.Wrap("écart  ", r.Title+", "+r.Athlete)
	for _, one := range r.Sides {
		printContrastSide(&p, one)
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.Sides[0].Cautions {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}

func printContrastSide(p *terminal.Printer, c *change.Contrast) {
	kind := []string{desk.DateWords(c.Day)}
	for _, word := range []string{c.Side, c.Condition, c.State} {
		if word != "" {
			kind = append(kind, word)
		}
	}
	p.Wrap("", strings.Join(append(kind, desk.Count(c.Taut.Takes+c.Slack.Takes, "take")), ", "))
	p.Line("")
	p.Wrap("  ", c.Sentence)
	p.Line("")
	for _, h := range []*change.Half{&c.Taut, &c.Slack} {
		words := h.Words
		if h.Takes > 1 {
			words = fmt.Sprintf(wordsTakes, words, h.Takes)
		}
		p.Wrap(fmt.Sprintf("  %-13s ", terminal.Plain(desk.PlusMinus(h.AngleDeg, terminal.Half(h.IntervalDeg)))), words)
	}
	p.Wrap(fmt.Sprintf("  %-13s ", terminal.Plain(desk.PlusMinus(c.FurtherDeg, terminal.Half(c.IntervalDeg)))), wordsFurther+", "+reading.Percent(c.Probability)+" that it is more than 0")
	p.Line("")
	p.Wrap("it separates ", c.Separates)
	for _, l := range c.LooksAt {
		p.Wrap("  ", l.Means+", next is looked at: "+strings.Join(l.At, ", "))
	}
	p.Line(wordsCannot)
	for _, n := range c.Cannot {
		p.Wrap("  · ", n)
	}
	p.Wrap("source:  ", c.Source+" ("+c.Provenance+")")
	for _, n := range c.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, n := range record.LeftOutWords(c.LeftOut) {
		p.Wrap("noted:   ", n)
	}
	p.Line("")
}
