package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/locked"
)

// The demo's clip has 90 frames, all of them in mdat, one after the other.
func TestPackets(t *testing.T) {
	clip, _ := demotake.Files()
	all := packets(clip)
	require.Len(t, all, 90)
	mdat := find(boxesOf(clip, 0, len(clip)), "mdat")
	require.NotNil(t, mdat)
	sum := 0
	for _, p := range all {
		assert.GreaterOrEqual(t, p.from, mdat.body)
		assert.LessOrEqual(t, p.to, mdat.end)
		sum += p.to - p.from
	}
	assert.Equal(t, mdat.end-mdat.body, sum)
}

// The damage of a case depends on the seed, the kind and the number, and on nothing else.
func TestDamageDependsOnSeed(t *testing.T) {
	clip, _ := demotake.Files()
	was := bytes.Clone(clip)
	seen := map[string]bool{}
	for n := range 200 {
		a, what, only := damage(randomFor(7, "takes", n), "leap.mp4", clip)
		b, second, _ := damage(randomFor(7, "takes", n), "leap.mp4", clip)
		require.Equal(t, what, second)
		require.True(t, bytes.Equal(a, b), "case %d: %s", n, what)
		assert.False(t, bytes.Equal(a, was), "case %d: %s changes nothing", n, what)
		seen[what] = true
		if !only {
			continue
		}
		mdat := find(boxesOf(clip, 0, len(clip)), "mdat")
		require.Len(t, a, len(clip))
		assert.True(t, bytes.Equal(a[:mdat.body], clip[:mdat.body]), "case %d: %s is said to be of packets only", n, what)
		assert.True(t, bytes.Equal(a[mdat.end:], clip[mdat.end:]), "case %d: %s is said to be of packets only", n, what)
	}
	assert.True(t, bytes.Equal(clip, was), "the sound clip was changed")
	assert.Greater(t, len(seen), 150, "the cases are hardly different")
}

func TestCheckEnd(t *testing.T) {
	for name, e := range map[string]ended{
		"panic":          {code: 2, errs: "panic: index out of range\n\ngoroutine 1 [running]:\n"},
		"signal":         {code: -1, signal: "segmentation fault"},
		"race":           {errs: "WARNING: DATA RACE\n"},
		"memory":         {memory: maxMemory + 1},
		"time":           {cpu: maxTime + 1},
		"one line":       {code: 1, errs: "something is wrong\n"},
		"number":         {code: 1, errs: "disk I/O error (4874)\ntry again\n"},
		"surprise":       {code: 1, errs: "x\nthis should not happen and is no fault of yours\n"},
		"hangs":          {code: -1, late: true},
		"foreign status": {code: 7, errs: "a\nb\n"},
	} {
		c := &attempt{}
		c.checkEnd(e, 1)
		assert.NotEmpty(t, c.faults, name)
	}
	c := &attempt{}
	c.checkEnd(ended{code: 2, errs: "leap.mp4: 2 of 90 frames are damaged\nthere is no file \"a.json\"\ncheck the name\n"}, 1)
	assert.Empty(t, c.faults)
}

// The digits in the name of the harness's own folder do not count as a library's number.
func TestBadWords(t *testing.T) {
	c := &attempt{bench: &bench{temp: "/tmp/ecart-hard-3678780395"}}
	assert.Empty(t, c.badWords(`kept as reading 6, in "/tmp/ecart-hard-3678780395/kills-20/hall.journal"`))
	assert.NotEmpty(t, c.badWords(`error -1094995529 in "/tmp/ecart-hard-3678780395/kills-20/hall.journal"`))
}

// The table lists what cannot run on this machine, which is no failure; a kind that fails
// to start is one.
func TestTableListsNotRun(t *testing.T) {
	var out bytes.Buffer
	disk, asan := kind{name: "disk"}, kind{name: "asan"}
	require.NoError(t, printTable(&out, options{}, []row{{kind: disk, cases: 6, omits: []string{"no right to mount a disk here"}},
		{kind: asan, notRun: notHere("its build takes minutes")}}))
	assert.Contains(t, out.String(), "NOT RUN: no right to mount a disk here")
	assert.Contains(t, out.String(), "NOT RUN: its build takes minutes")
	out.Reset()
	require.Error(t, printTable(&out, options{}, []row{{kind: asan, notRun: errors.New("ld: cannot find -lasan")}}))
	assert.Contains(t, out.String(), "FAILED TO START: ld: cannot find -lasan")
	require.Error(t, printTable(&out, options{seed: 7}, []row{{kind: disk, broken: []broken{{3, "move", []string{"x is gone"}}}}}))
	assert.Contains(t, out.String(), "make hard SEED=7 ONLY=disk CASE=3   # x is gone")
}

// Altered HEVC clips in which no damage is noticed have a heading of their own; too many of them are a fault.
func TestUnnoticedChangesAreListed(t *testing.T) {
	r := row{kind: kind{name: "takes"}, cases: 500, of: 500}
	for n := range 60 {
		c := &attempt{number: n, about: "hevc.mp4: packet 3 of 21: some bytes", mayGoUnnoticed: true}
		if n%30 == 22 {
			c.noteUnnoticed("the page: frame 14 is called whole")
		}
		r.count(c)
	}
	var out bytes.Buffer
	require.NoError(t, printTable(&out, options{seed: 41}, []row{r}))
	assert.Contains(t, out.String(), "ALTERED, NOT NOTICED: 2 of 60 HEVC clips of takes")
	assert.Contains(t, out.String(), "make hard SEED=41 ONLY=takes CASE=22   # hevc.mp4: packet 3 of 21: some bytes; the page: frame 14 is called whole")
	for range 20 {
		c := &attempt{mayGoUnnoticed: true}
		c.noteUnnoticed("the page: frame 14 is called whole")
		r.count(c)
	}
	assert.ErrorContains(t, printTable(&out, options{}, []row{r}), "1 cases broke")
}

// The sentence that every reading of an HEVC clip has about unnoticed damage is no report of damage.
func TestSaysDamage(t *testing.T) {
	assert.False(t, (&ended{out: `{"not_included":["` + reading.UnnoticedDamage + `"]}`}).saysDamage())
	assert.True(t, (&ended{out: `{"not_included":["` + reading.UnnoticedDamage + `"]}`, errs: "the file is damaged at frame 3"}).saysDamage())
}

// An interrupted run counts the cases that it completed, reports that it was cut off, and fails.
func TestInterruptedRun(t *testing.T) {
	ctx, interrupt := context.WithCancel(context.Background())
	defer interrupt()
	k := kind{name: "writers", alone: true, cases: 5, prepare: func(context.Context, *bench) (func(*attempt), int, error) {
		return func(c *attempt) {
			if c.number == 2 {
				interrupt()
			}
		}, 0, nil
	}}
	b := &bench{temp: t.TempDir(), options: options{one: -1}}
	r := b.attack(ctx, k, io.Discard)
	assert.Equal(t, 2, r.cases)
	var out bytes.Buffer
	require.Error(t, printTable(&out, options{}, []row{r}))
	assert.Contains(t, out.String(), "CUT OFF: 2 of 5 cases were run")
}

func TestParse(t *testing.T) {
	for _, args := range [][]string{{"-only", "nothing"}, {"-case", "3"}, {"-only", "takes,kills", "-case", "3"}, {"more"}} {
		_, err := parse(args, io.Discard)
		assert.Error(t, err, "%q", args)
	}
	o, err := parse([]string{"-seed", "7", "-only", "takes", "-case", "3"}, io.Discard)
	require.NoError(t, err)
	assert.Equal(t, uint64(7), o.seed)
}

// A page that does not end upon Ctrl-C is killed and reported.
func TestPageThatDoesNotStop(t *testing.T) {
	usual := stopLimit
	defer func() { stopLimit = usual }()
	stopLimit = 300 * time.Millisecond
	starts := func(script string) *site {
		s := &site{cmd: exec.Command("sh", "-c", script), client: &http.Client{}, errs: &locked.Buffer{}, done: make(chan struct{})}
		out, err := s.cmd.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, s.cmd.Start())
		_, err = out.Read(make([]byte, 1)) // it is ready
		require.NoError(t, err)
		go func() { s.cmd.Wait(); close(s.done) }()
		return s
	}
	stuck, good := &attempt{}, &attempt{}
	good.end(starts("echo; exec sleep 60"))
	assert.Empty(t, good.faults)
	stuck.end(starts("trap '' INT; echo; exec sleep 60"))
	require.Len(t, stuck.faults, 1)
	assert.Contains(t, stuck.faults[0], "Ctrl-C")
	b := &bench{pages: map[string][]*site{"x": {starts("trap '' INT; echo; exec sleep 60")}}}
	assert.ErrorContains(t, b.endPages(), "Ctrl-C")
}

func TestPropertyTests(t *testing.T) {
	text := "func TestOne(t *testing.T) {\n\trapid.Check(t, f)\n\trapid.Check(t, g)\n}\n\nfunc TestTwo(t *testing.T) {\n}\n\nfunc helper() {}\n\nfunc TestThree(t *testing.T) {\n\tfor {\n\t\trapid.Check(t, f)\n\t}\n}\n"
	assert.Equal(t, []string{"TestOne", "TestThree"}, propertyTests(text))
}

// A target whose time ended is distinguished from one with an input that breaks it.
func TestOutOfTime(t *testing.T) {
	late := "--- FAIL: FuzzConvert (6.10s)\n    context deadline exceeded\nFAIL\n"
	assert.True(t, outOfTime([]byte(late)))
	assert.False(t, outOfTime([]byte("--- FAIL: FuzzConvert (0.10s)\n    context deadline exceeded\n    Failing input written to testdata/fuzz/FuzzConvert/1\nFAIL\n")))
	assert.False(t, outOfTime([]byte("--- FAIL: FuzzConvert (0.10s)\n    panic: index out of range\nFAIL\n")))
}
