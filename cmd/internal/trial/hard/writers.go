package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
)

// writers keeps readings in one journal from 8 processes at a time. In every second case
// the journal does not exist yet.
func writers(_ context.Context, b *bench) (func(*attempt), int, error) {
	t, err := b.filled()
	if err != nil {
		return nil, 0, err
	}
	takes, err := b.takes()
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) {
		if err := t.copyTo(c.dir); err != nil {
			c.fault("the harness: %v", err)
			return
		}
		const processes, each = 8, 3
		journal, there := "hall.journal", len(t.journal)
		if c.number%2 == 1 {
			journal, there = "new.journal", 0
		}
		c.about = fmt.Sprintf("%d processes keep %d readings each in %s", processes, each, journal)
		acknowledged := make([]int, processes)
		var wg sync.WaitGroup
		for p := range processes {
			marks := fmt.Sprintf("marks-%d.json", p)
			if err := os.WriteFile(filepath.Join(c.dir, marks), moved(takes[0].marks, 0.1*float64(p+1)), 0o644); err != nil {
				c.fault("the harness: %v", err)
			}
			wg.Go(func() {
				for i := range each {
					e := c.run(order{}, "read", "leap.mp4", "--marks", marks, "--measure", "hip-split", "--at", strconv.Itoa(8+i),
						"--keep", fmt.Sprintf("Athlete %d", p), "--day", "2026-03-07", "--journal", journal)
					c.checkEnd(e, 1)
					if e.code != 0 {
						c.fault("%s: %s", e.call, firstLine(e.errs, 200))
					}
					acknowledged[p] += strings.Count(e.errs, "kept as reading")
				}
			})
		}
		wg.Wait()
		sum := there
		for _, n := range acknowledged {
			sum += n
		}
		if is := c.inJournal(journal); len(is) != sum {
			c.fault("%d readings were acknowledged and %d are there", sum, len(is))
		}
		if _, err := os.Stat(filepath.Join(c.dir, journal)); err != nil {
			c.fault("the journal: %v", err)
		}
		c.checkNoTemps("after 8 writers")
	}, 0, nil
}
