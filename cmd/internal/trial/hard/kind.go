package main

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// kind is one kind of attack.
type kind struct {
	name, what string
	cases      int  // of a full run
	alone      bool // its cases run one after the other, because each uses the whole machine
	// prepare makes what all cases share. count is the number of cases where that is only
	// known then; 0 leaves it at cases.
	prepare func(ctx context.Context, b *bench) (attack func(c *attempt), count int, err error)
}

// kinds are all attacks, in the order in which they run.
var kinds = []kind{
	{name: "takes", what: "damaged takes: read, follow, page", cases: 500, prepare: damagedTakes(plain)},
	{name: "asan", what: "the same under the address sanitizer", cases: 300, prepare: damagedTakes(sanitized)},
	{name: "fuzz", what: "fuzz targets of the parsers", alone: true, prepare: fuzzTargets},
	{name: "properties", what: "property tests, on cases of the seed", alone: true, prepare: properties},
	{name: "kills", what: "commands that write, killed", cases: 7 * len(writerCommands), prepare: killed},
	{name: "writers", what: "8 writers on one journal", cases: 4, alone: true, prepare: writers},
	{name: "disk", what: "commands that write, on a full disk", cases: 3 * len(writerCommands), prepare: fullDisk},
	{name: "journals", what: "damaged journals", cases: 120, prepare: damagedJournals},
	{name: "stores", what: "damaged data folders of the page", cases: 56, prepare: damagedStores},
	{name: "strangers", what: "other origins and other users at the page", cases: len(strangers), prepare: strangersAtThePage},
	{name: "load", what: "1,000 connections, 300 takes, data races", cases: len(loads), alone: true, prepare: loadOnThePage},
	{name: "same", what: "ten times the same command", cases: len(repeated), prepare: sameBytes},
}

func kindNames() []string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.name)
	}
	return names
}

// attempt is one case while it runs.
type attempt struct {
	*bench
	ctx    context.Context
	number int
	r      *rand.Rand
	dir    string // the case's own folder, the working folder of what it runs
	about  string // what was done to the input, for the report
	faults []string
	omits  []string // parts that cannot run on this machine
	mu     sync.Mutex

	mayGoUnnoticed bool     // the case alters data in which a small change may go unnoticed
	unnoticed      []string // altered data that was shown as undamaged
}

// fault notes that something broke.
func (c *attempt) fault(format string, a ...any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.faults = append(c.faults, fmt.Sprintf(format, a...))
}

// noteUnnoticed notes that altered data was shown as undamaged.
func (c *attempt) noteUnnoticed(format string, a ...any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.unnoticed = append(c.unnoticed, fmt.Sprintf(format, a...))
}

// omit notes a part of the case that cannot run on this machine. The table lists it; it is
// no fault.
func (c *attempt) omit(format string, a ...any) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.omits = append(c.omits, fmt.Sprintf(format, a...))
}

// notHere is why a kind cannot run on this machine, or is left out of this run. The table
// lists it; it is no fault.
type notHere string

func (n notHere) Error() string { return string(n) }

// row is a kind's line of the table.
type row struct {
	kind           kind
	cases          int // completed ones
	of             int // all of them
	broken         []broken
	mayGoUnnoticed int      // cases that alter data in which a small change may go unnoticed
	unnoticed      []broken // those of them in which one did
	notRun         error
	omits          []string
	took, cpu      time.Duration // by the clock, and processor time
}

// processorTime returns the processor time that this process and its ended children have used.
func processorTime() time.Duration {
	var sum time.Duration
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			sum += time.Duration(u.Utime.Nano() + u.Stime.Nano())
		}
	}
	return sum
}

type broken struct {
	number int
	about  string
	faults []string
}

// randomFor is the random source of a case.
func randomFor(seed uint64, kind string, number int) *rand.Rand {
	h := fnv.New64a()
	io.WriteString(h, kind)
	return rand.New(rand.NewPCG(seed, h.Sum64()+uint64(number)))
}

// attack runs the cases of a kind, one on each processor at a time.
func (b *bench) attack(ctx context.Context, k kind, out io.Writer) (r row) {
	start, before := time.Now(), processorTime()
	r = row{kind: k, cases: k.cases}
	defer func() { r.took, r.cpu = time.Since(start), processorTime()-before }()
	attack, count, err := k.prepare(ctx, b)
	if err != nil {
		r.cases, r.notRun = 0, err
		fmt.Fprintf(out, "%s: NOT RUN: %v\n", k.name, err)
		return r
	}
	if count > 0 {
		r.cases = count
	}
	var numbers []int
	every := 1
	if b.options.tenth && r.cases >= 20 {
		every = 10
	}
	for n := 0; n < r.cases; n += every {
		numbers = append(numbers, n)
	}
	if b.options.one >= 0 {
		numbers = []int{b.options.one}
	}
	r.cases, r.of = 0, len(numbers)

	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	workers := runtime.NumCPU()
	if k.alone {
		workers = 1
	}
	for range workers {
		wg.Go(func() {
			for n := range next {
				c := b.runCase(ctx, k, n, attack)
				mu.Lock()
				for _, o := range c.omits {
					if !slices.Contains(r.omits, o) {
						r.omits = append(r.omits, o)
					}
				}
				if ctx.Err() == nil { // an interrupted case does not count
					r.count(c)
				}
				if len(c.faults) > 0 && ctx.Err() == nil {
					r.broken = append(r.broken, broken{n, c.about, c.faults})
					fmt.Fprintf(out, "%s %d: %s\n  %s\n", k.name, n, c.about, strings.Join(firstFaults(c.faults), "\n  "))
				}
				mu.Unlock()
			}
		})
	}
	for _, n := range numbers {
		if ctx.Err() != nil {
			break
		}
		next <- n
	}
	close(next)
	wg.Wait()
	if err := b.endPages(); err != nil && ctx.Err() == nil { // which belongs to no single case
		r.broken = append(r.broken, broken{-1, "pages at rest after the last case", []string{err.Error()}})
		fmt.Fprintf(out, "%s: %v\n", k.name, err)
	}
	byNumber := func(x, y broken) int { return x.number - y.number }
	slices.SortFunc(r.broken, byNumber)
	slices.SortFunc(r.unnoticed, byNumber)
	return r
}

// count adds a completed case.
func (r *row) count(c *attempt) {
	r.cases++
	if c.mayGoUnnoticed {
		r.mayGoUnnoticed++
	}
	if len(c.unnoticed) > 0 && len(c.faults) == 0 {
		r.unnoticed = append(r.unnoticed, broken{c.number, c.about, c.unnoticed})
	}
}

// runCase runs one case in a folder of its own.
func (b *bench) runCase(ctx context.Context, k kind, n int, attack func(*attempt)) *attempt {
	dir := filepath.Join(b.temp, fmt.Sprintf("%s-%d", k.name, n))
	c := &attempt{bench: b, ctx: ctx, number: n, r: randomFor(b.options.seed, k.name, n), dir: dir}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		c.fault("the harness: %v", err)
	} else {
		attack(c)
	}
	if len(c.faults) > 0 && ctx.Err() == nil && b.options.keep != "" {
		keep := filepath.Join(b.options.keep, filepath.Base(dir))
		os.RemoveAll(keep)
		if err := os.CopyFS(keep, os.DirFS(dir)); err != nil {
			c.fault("the harness could not keep all files: %v", err)
		}
	}
	os.RemoveAll(dir)
	return c
}

// firstFaults returns the first faults of a case, and how many more there are.
func firstFaults(all []string) []string {
	const limit = 6
	if len(all) <= limit {
		return all
	}
	return append(slices.Clone(all[:limit]), fmt.Sprintf("and %d more", len(all)-limit))
}

// printTable prints a row for each kind, with what was left out. It returns an error where
// anything broke, a kind was cut off, or it did not run for a reason other than notHere.
func printTable(out io.Writer, o options, rows []row) error {
	fmt.Fprintf(out, "\n%-10s %-42s %6s %6s %8s %10s\n", "kind", "what", "cases", "broke", "clock", "processors")
	broke, notRun, cutOff := 0, 0, 0
	var took, cpu time.Duration
	for _, r := range rows {
		broke += len(r.broken)
		took, cpu = took+r.took, cpu+r.cpu
		var here notHere
		switch {
		case errors.As(r.notRun, &here):
			fmt.Fprintf(out, "%-10s %-42s NOT RUN: %s\n", r.kind.name, r.kind.what, here)
		case r.notRun != nil:
			notRun++
			fmt.Fprintf(out, "%-10s %-42s FAILED TO START: %v\n", r.kind.name, r.kind.what, r.notRun)
		default:
			fmt.Fprintf(out, "%-10s %-42s %6d %6d %7.0fs %9.0fs\n", r.kind.name, r.kind.what, r.cases, len(r.broken), r.took.Seconds(), r.cpu.Seconds())
		}
		if r.cases < r.of {
			cutOff++
			fmt.Fprintf(out, "%-10s   CUT OFF: %d of %d cases were run\n", r.kind.name, r.cases, r.of)
		}
		for _, text := range r.omits {
			fmt.Fprintf(out, "%-10s   NOT RUN: %s\n", r.kind.name, text)
		}
	}
	fmt.Fprintf(out, "%-10s %-42s %6s %6s %7.0fs %9.0fs\n", "all", "", "", "", took.Seconds(), cpu.Seconds())
	tooMany := 0
	for _, r := range rows {
		tooMany += r.printUnnoticed(out, o)
	}
	if broke+notRun+cutOff+tooMany == 0 {
		return nil
	}
	fmt.Fprintln(out)
	for _, r := range rows {
		for _, b := range r.broken {
			fmt.Fprintf(out, "make hard SEED=%d ONLY=%s CASE=%d   # %s\n", o.seed, r.kind.name, b.number, firstLine(b.faults[0], 90))
		}
	}
	if tooMany > 0 {
		fmt.Fprintln(out, "more altered pictures are called whole than chance explains")
	}
	return fmt.Errorf("%d cases broke, %d kinds failed to start, %d were cut off", broke+tooMany, notRun, cutOff)
}

// maxUnnoticed is the largest accepted share of altered HEVC clips with unnoticed damage in either of two frames. It is
// expected in one of a thousand where several bytes are altered, and in one of a hundred where a single bit is
// (TestAlteredData in package hevc).
const maxUnnoticed = 0.05

// printUnnoticed lists the cases in which altered data was shown as undamaged. A few are accepted; it returns 1 where
// there are too many.
func (r *row) printUnnoticed(out io.Writer, o options) int {
	if len(r.unnoticed) == 0 {
		return 0
	}
	fmt.Fprintf(out, "\nALTERED, NOT NOTICED: %d of %d HEVC clips of %s. A picture is shown as whole and is not: a small change may leave\nits syntax in step (vision/internal/hevc).\n",
		len(r.unnoticed), r.mayGoUnnoticed, r.kind.name)
	for _, b := range r.unnoticed {
		fmt.Fprintf(out, "make hard SEED=%d ONLY=%s CASE=%d   # %s; %s\n", o.seed, r.kind.name, b.number, b.about, firstLine(b.faults[0], 90))
	}
	if r.mayGoUnnoticed >= 20 && float64(len(r.unnoticed)) > maxUnnoticed*float64(r.mayGoUnnoticed) {
		return 1
	}
	return 0
}

func firstLine(s string, limit int) string {
	s, _, _ = strings.Cut(s, "\n")
	if r := []rune(s); len(r) > limit {
		return string(r[:limit]) + "…"
	}
	return s
}
