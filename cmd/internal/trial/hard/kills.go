package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"ecart/cmd/internal/reading"
)

// killed ends every command that writes at a random moment and checks what is left: each
// file is complete or as before, the journal opens, and no acknowledged reading is lost.
func killed(_ context.Context, b *bench) (func(*attempt), int, error) {
	t, err := b.filled()
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) {
		w := writerCommands[c.number%len(writerCommands)]
		if c.withoutNetwork(&w) {
			return
		}
		sig := []syscall.Signal{syscall.SIGKILL, syscall.SIGKILL, syscall.SIGINT, syscall.SIGHUP}[c.r.IntN(4)]
		after := time.Duration(c.r.Float64() * 1.1 * float64(t.after[w.name].took))
		c.about = fmt.Sprintf("%s, %v after %v", w.name, sig, after.Round(time.Millisecond))
		if err := t.copyTo(c.dir); err != nil {
			c.fault("the harness: %v", err)
			return
		}
		before := files(c.dir)
		e := c.run(order{after: max(after, time.Millisecond), sig: sig, env: w.environment(b)}, w.args...)
		if sig != syscall.SIGKILL && e.signal == "" {
			c.checkEnd(e, 1)
		}
		if e.signal == "" {
			c.checkNoTemps("after " + sig.String())
		}
		if e.code == 1 && slices.Contains([]string{"follow", "points", "squad"}, w.name) {
			before = files(c.dir) // these keep what they had done when they were stopped, and say so
		}
		c.checkPartialTable(w, before)
		c.checkFiles(t, w, before)
		c.checkJournal(t, w, e)

		// the next run of the same command removes the temporary files of the killed one
		c.checkEnd(c.run(order{env: w.environment(b)}, w.args...), 1)
		c.checkNoTemps("after the next start")
	}, 0, nil
}

// checkPartialTable reads the partial table that follow leaves when something ends it, and
// adds it to the files that may be there.
func (c *attempt) checkPartialTable(w writer, before map[string]string) {
	const name = "out.part.csv"
	text, err := os.ReadFile(filepath.Join(c.dir, name))
	if err != nil {
		return
	}
	before[name] = string(text)
	if strings.Count(string(text), "\n") < 2 {
		return // the heading, and no frame yet
	}
	if w.name == "points" { // paths, which no command reads: only each row must be complete
		_, err = csv.NewReader(bytes.NewReader(text)).ReadAll()
	} else {
		_, err = reading.ParseTrack(name, text)
	}
	if err != nil {
		c.fault("what follow left is no table: %v", err)
	}
}

// checkNoTemps checks that no temporary file of the program is left in the case's folder.
func (c *attempt) checkNoTemps(when string) {
	for name := range files(c.dir) {
		if base := filepath.Base(name); strings.HasPrefix(base, ".ecart-") || strings.HasPrefix(name, "user/tmp/") {
			c.fault("%s there is still %s", when, name)
		}
	}
}

// checkFiles checks that every file but journals is as it was before, or as the undisturbed
// command writes it.
func (c *attempt) checkFiles(t *template, w writer, before map[string]string) {
	now, done := files(c.dir), t.after[w.name].files
	for name, is := range now {
		if strings.Contains(name, ".journal") || strings.HasPrefix(name, "user/") || strings.HasPrefix(filepath.Base(name), ".ecart-") {
			continue
		}
		switch was, there := before[name]; {
		case there && is == was, is == done[name]:
		case there:
			c.fault("%s is changed: %d bytes, %d before", name, len(is), len(was))
		default:
			c.fault("%s is not whole: %d bytes, %d when undisturbed", name, len(is), len(done[name]))
		}
	}
	for name := range before {
		if _, there := now[name]; !there && !strings.Contains(name, ".journal") {
			c.fault("%s is gone", name)
		}
	}
}

// checkJournal checks that there is one journal and that it opens, that each reading in it
// is from before or after the command, and that none is missing that is in both or was
// acknowledged.
func (c *attempt) checkJournal(t *template, w writer, e ended) {
	_, err := os.Stat(filepath.Join(c.dir, "moved.journal"))
	if err == nil && c.live() == "hall.journal" {
		old, now := c.inJournal("hall.journal"), c.inJournal("moved.journal")
		if len(old) > 0 && len(now) > 0 {
			c.fault("there are two live journals")
			return
		}
	}
	is := c.inJournal(c.live())
	then := t.after[w.name].journal
	for _, r := range is {
		if !slices.Contains(t.journal, r) && !slices.Contains(then, r) {
			c.fault("the journal has %q, which is of neither before nor after", r)
		}
	}
	for _, r := range t.journal {
		if slices.Contains(then, r) && !slices.Contains(is, r) {
			c.fault("the journal has lost %q", r)
		}
	}
	if acknowledged := strings.Count(e.errs, "kept as reading"); acknowledged > 0 && len(is) < len(t.journal)+acknowledged {
		c.fault("%d readings were acknowledged and %d of %d are there", acknowledged, len(is), len(t.journal)+acknowledged)
	}
}
