package sheet_test

import (
	"io"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/trial/browsertest"
)

// positionPages are the pages of contrasts and protocol cards at their longest, and a screen of two
// sides with a swung take.
func positionPages(t testing.TB) map[string]func(io.Writer, sheet.Options) error {
	c, ok := movement.FindContrast("shoulder-turn")
	require.True(t, ok)
	pair := sheet.ContrastInput{Who: "Plover"}
	for _, side := range []string{"left", "right"} {
		taut, slack := readingsOn(side, "warm", "passive", 60, []float64{160}, 2)[0], readingsOn(side, "warm", "passive", 60, []float64{163}, 2)[0]
		for i, r := range []*change.Reading{&taut, &slack} {
			r.ID, r.Measure, r.Variant, r.Definition, r.AskedDeg = int64(i), c.Measure, []string{c.Taut, c.Slack}[i], "shoulder-hip and shoulder-elbow", nil
		}
		one, err := change.NewContrast([]change.Reading{taut, slack}, c, 0.95)
		require.NoError(t, err)
		pair.Sides = append(pair.Sides, one)
	}
	swung := sheet.ScreenInput{Who: "Plover", Measure: "hip-split"}
	for i, side := range []string{"left", "right"} {
		var rs []change.Reading
		for k, condition := range []string{"passive", "active", "in-skill", "swung"} {
			r := readingsOn(side, "warm", condition, 60, []float64{[]float64{180, 164, 155, 188}[k]}, 2)[0]
			r.ID = int64(4*i + k)
			rs = append(rs, r)
		}
		asked := 200.0
		s, err := change.NewScreen(rs, change.ScreenOptions{AskedDeg: &asked, Seed: 1})
		require.NoError(t, err)
		swung.Screens = append(swung.Screens, sheet.SideScreen{Side: side, Screen: s})
	}
	card := longestCard(t)
	in := sheet.ProtocolInput{Title: card.Title, Condition: card.Condition, Cautions: card.Cautions, Sources: "what has no source beside it is common practice in halls"}
	for _, l := range card.Lines {
		in.Lines = append(in.Lines, sheet.ProtocolLine(l))
	}
	return map[string]func(io.Writer, sheet.Options) error{
		"screen-swung": func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreen(w, swung, opt) },
		"contrast":     func(w io.Writer, opt sheet.Options) error { return sheet.WriteContrast(w, pair, opt) },
		"protocol":     func(w io.Writer, opt sheet.Options) error { return sheet.WriteProtocol(w, in, opt) },
	}
}

// longestCard is the card with the most text.
func longestCard(t testing.TB) movement.Card {
	size := func(c movement.Card) (n int) {
		for _, l := range c.Lines {
			n += len(l.Text) + len(l.Source)
		}
		return n
	}
	var all []movement.Card
	for _, name := range movement.CardNames() {
		if c, ok := movement.FindContrast(name); ok {
			all = append(all, movement.CardOfContrast(c))
			continue
		}
		for _, condition := range movement.Conditions {
			c, err := movement.FindCard(name, "", condition)
			require.NoError(t, err)
			all = append(all, c)
		}
	}
	return slices.MaxFunc(all, func(a, b movement.Card) int { return size(a) - size(b) })
}

// Each page prints on one sheet of either paper for a coach.
func TestPositionPagesOnOnePage(t *testing.T) {
	axe := browsertest.Axe(t)
	w := blank(t)
	for name, write := range positionPages(t) {
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			w.show(func(out io.Writer) error {
				return write(out, sheet.Options{For: sheet.Coach, Paper: p, Locale: english})
			})
			w.leavesFit(name + " on " + string(p))
			pages, size := w.pdf(name + "-" + string(p))
			assert.Equal(t, 1, pages, "%s on %s", name, p)
			assert.Equal(t, paperPoints[p], size)
			if p == sheet.A4 {
				w.accessible(axe, name)
			}
			w.alone()
		}
	}
}
