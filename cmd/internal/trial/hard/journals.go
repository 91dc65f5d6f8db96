package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// damagedJournals opens damaged journals with every command that reads one: it gives an
// answer or a clear error, never a panic, and the undamaged readings can still be read.
func damagedJournals(_ context.Context, b *bench) (func(*attempt), int, error) {
	t, err := b.filled()
	if err != nil {
		return nil, 0, err
	}
	whole, err := os.ReadFile(filepath.Join(t.dir, "hall.journal"))
	if err != nil {
		return nil, 0, err
	}
	c := &attempt{bench: b, ctx: context.Background(), dir: filepath.Join(b.temp, "journal-export")}
	if err := t.copyTo(c.dir); err != nil {
		return nil, 0, err
	}
	export := c.run(order{}, "journal", "export", journalFlag)
	if export.code != 0 {
		return nil, 0, fmt.Errorf("%s: %s", export.call, export.errs)
	}
	return func(c *attempt) { c.damagedJournal(t, whole, export.out) }, 0, nil
}

// journalReaders are the commands that read a journal and change nothing in it.
var journalReaders = []string{"journal list", "journal list --json", "journal show 1", "journal show 2 --json", "journal export", "journal export --csv",
	"journal recompute", "change Wren --measure hip-split", "screen Wren --movement split"}

func (c *attempt) damagedJournal(t *template, whole []byte, export string) {
	if err := t.copyTo(c.dir); err != nil {
		c.fault("the harness: %v", err)
		return
	}
	data, what, one := damageJournal(c.r, whole)
	c.about = what
	path := filepath.Join(c.dir, "hall.journal")
	restore := func() {
		os.Remove(path + "-wal")
		os.Remove(path + "-shm")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			c.fault("the harness: %v", err)
		}
	}
	restore()
	for _, call := range journalReaders {
		e := c.run(order{}, append(words(call), journalFlag)...)
		c.checkEnd(e, 1)
		switch {
		case call == "journal export" && e.code == 0 && e.out != export:
			c.fault("%s: exports other figures than were kept, and says nothing: %s", e.call, difference(export, e.out))
		case one && strings.HasPrefix(call, "journal export") && e.code == 1:
			if n := strings.Count(e.out, "note of "); n < len(t.journal)-1 {
				c.fault("%s: one of %d readings is damaged, and %d come out: %s", e.call, len(t.journal), n, firstLine(e.errs, 200))
			}
		case one && strings.HasPrefix(call, "journal list") && e.code != 0:
			c.fault("%s: one reading is damaged, and none is listed: %s", e.call, firstLine(e.errs, 200))
		}
	}
	c.checkNoTemps("after reading")
	restore()
	e := c.run(order{}, words("journal erase Merlin --yes "+journalFlag)...)
	c.checkEnd(e, 1)
	if e.code == 2 { // refused: then the file must not change
		if now, err := os.ReadFile(path); err != nil || !bytes.Equal(now, data) {
			c.fault("%s: refused, and the file is changed", e.call)
		}
	}
}

func difference(a, b string) string {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			from := max(0, i-40)
			return fmt.Sprintf("%q became %q", a[from:min(len(a), i+20)], b[from:min(len(b), i+20)])
		}
	}
	return fmt.Sprintf("%d bytes became %d", len(a), len(b))
}

// damageJournal damages a part of an SQLite file: the header of 100 bytes, the header of a
// page and its list of cells, or the text of a reading. one reports that only the text of
// one reading was changed.
func damageJournal(r *rand.Rand, whole []byte) (data []byte, what string, one bool) {
	data = slices.Clone(whole)
	size := int(binary.BigEndian.Uint16(data[16:]))
	if size == 1 {
		size = 65536
	}
	pages := len(data) / size
	switch r.IntN(8) {
	case 0: // the file's header
		at := 16 + r.IntN(84)
		data[at] ^= 1 << r.IntN(8)
		return data, fmt.Sprintf("a bit of byte %d of the header", at), false
	case 1: // cut short
		n := r.IntN(len(data))
		return data[:n], fmt.Sprintf("cut after %d of %d bytes", n, len(data)), false
	case 2: // the header of a page
		page := r.IntN(pages)
		at := page * size
		if page == 0 {
			at = 100
		}
		at += r.IntN(12)
		data[at] = byte(r.Uint32())
		return data, fmt.Sprintf("byte %d of the head of page %d", at%size, page+1), false
	case 3: // a page with zeros or random bytes
		page := r.IntN(pages)
		for i := range size {
			data[page*size+i] = byte(r.Uint32() * uint32(r.IntN(2)))
		}
		return data, fmt.Sprintf("page %d", page+1), false
	case 4: // any bits
		n := 1 + r.IntN(6)
		for range n {
			data[r.IntN(len(data))] ^= 1 << r.IntN(8)
		}
		return data, fmt.Sprintf("%d bits", n), false
	}
	// a digit in a reading's angle becomes another digit or another character
	const key = `"angle_deg":`
	var places []int
	for at := 0; ; at++ {
		next := bytes.Index(data[at:], []byte(key))
		if next < 0 {
			break
		}
		at += next
		places = append(places, at+len(key))
	}
	if len(places) == 0 {
		return data[:len(data)-1], "the last byte", false
	}
	at := places[r.IntN(len(places))] + r.IntN(5)
	was := data[at]
	if data[at] ^= 1 << r.IntN(8); r.IntN(2) == 0 && was >= '0' && was <= '9' {
		data[at] = '0' + (was-'0'+1+byte(r.IntN(8)))%10
	}
	return data, fmt.Sprintf("of a reading's angle at %d: %q was %q", at, data[at], was), true
}
