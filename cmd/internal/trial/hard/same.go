package main

import (
	"context"
	"fmt"
)

// repeated are the commands whose output must be the same bytes each time.
var repeated = []writer{
	{name: "read", args: words("read leap.mp4 --marks marks.json --skill split-leap --camera by-eye --stature 152cm --json --figure out.png"), writes: words("out.png")},
	{name: "read again", args: words("read leap.mp4 --marks third.json --measure hip-split --camera squared")},
	{name: "follow", args: words("follow leap.mp4 --seeds marks.json --measure hip-split --json --csv out.csv --curve out.png --figure fig.png --clip out.mp4"), writes: words("out.csv out.png fig.png out.mp4")},
	{name: "sheet", args: words("sheet reading marks.json --take leap.mp4 --skill split-leap --out out.html"), writes: words("out.html")},
	{name: "change", args: words("change Wren --measure hip-split --json --figure out.svg " + journalFlag), writes: words("out.svg")},
	{name: "screen", args: words("screen Wren --movement split --json --figure out.png " + journalFlag), writes: words("out.png")},
	{name: "squad", args: words("squad monday.csv --skill split-leap --afresh --json --csv out.csv --figure out.png"), writes: words("out.csv out.png")},
	{name: "repeat", args: words("repeat leap.mp4 marks.json again.json third.json --measure hip-split --rater Iris --json")},
	{name: "export", args: words("journal export " + journalFlag)},
	{name: "recompute", args: words("journal recompute --json " + journalFlag)},
	{name: "lens", args: words("lens board0.png board1.png board2.png board3.png board4.png --board 9x6 --json --out out.json --force"), writes: words("out.json")},
	{name: "rules", args: words("rules --json")},
}

// sameBytes runs each command ten times.
func sameBytes(_ context.Context, b *bench) (func(*attempt), int, error) {
	t, err := b.filled()
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) {
		w := repeated[c.number%len(repeated)]
		c.about = w.name
		if err := t.copyTo(c.dir); err != nil {
			c.fault("the harness: %v", err)
			return
		}
		times := 10
		if c.options.tenth {
			times = 3
		}
		var was map[string]string
		for i := range times {
			e := c.run(order{}, w.args...)
			c.checkEnd(e, 1)
			if e.code != 0 {
				c.fault("%s: %s", e.call, firstLine(e.errs, 200))
				return
			}
			is, there := map[string]string{"standard output": e.out, "standard error": e.errs}, files(c.dir)
			for _, name := range w.writes {
				is[name] = there[name]
			}
			for name := range is {
				if was != nil && was[name] != is[name] {
					c.fault("%s: time %d: %s differs: %s", e.call, i+1, name, difference(was[name], is[name]))
				}
			}
			if len(c.faults) > 0 {
				return
			}
			was = is
		}
		c.about = fmt.Sprintf("%s, %d times", w.name, times)
	}, 0, nil
}
