package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"
)

// What one command may use. maxTime is processor time, so that a busy machine causes no
// fault; a command that hangs is ended after maxWait by the clock.
const (
	maxMemory = 600 << 20 // bytes, resident
	maxTime   = 20 * time.Second
	maxWait   = 9 * maxTime
)

// ended is the result of a process.
type ended struct {
	call      string
	code      int // -1 where a signal ended it
	signal    string
	out, errs string
	cpu       time.Duration
	memory    int64 // largest resident size, bytes
	late      bool  // killed after maxWait
}

// order says how a command is run. The zero value runs ecart in the case's folder.
type order struct {
	program string
	dir     string
	in      string
	env     []string
	after   time.Duration // send sig after this; 0 sends none
	sig     syscall.Signal
}

// environment is that of a user without any files: what a command leaves in the home, cache
// or temporary folder is within the case's folder.
func (c *attempt) environment() []string { return environment(c.dir) }

func environment(dir string) []string {
	at := func(name string) string { return filepath.Join(dir, "user", name) }
	for _, d := range []string{"home", "tmp"} {
		os.MkdirAll(at(d), 0o755)
	}
	return []string{"PATH=" + os.Getenv("PATH"), "HOME=" + at("home"), "TMPDIR=" + at("tmp"), "XDG_DATA_HOME=" + at("data"),
		"XDG_CONFIG_HOME=" + at("config"), "XDG_CACHE_HOME=" + at("cache"), "LANG=C.UTF-8",
		"ASAN_OPTIONS=detect_leaks=0:halt_on_error=1", "GORACE=halt_on_error=0"}
}

// run runs the program with args to its end.
func (c *attempt) run(o order, args ...string) ended {
	ctx, cancel := context.WithTimeout(c.ctx, maxWait)
	defer cancel()
	if o.program == "" {
		o.program = c.ecart
	}
	if o.dir == "" {
		o.dir = c.dir
	}
	cmd := exec.CommandContext(ctx, o.program, args...)
	cmd.WaitDelay = 5 * time.Second
	cmd.Dir, cmd.Env, cmd.Stdin = o.dir, append(c.environment(), o.env...), strings.NewReader(o.in)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	e := ended{call: "ecart " + strings.Join(args, " "), code: -1}
	if err := cmd.Start(); err != nil {
		c.fault("the harness: %v", err)
		return e
	}
	if o.after > 0 {
		t := time.AfterFunc(o.after, func() { cmd.Process.Signal(o.sig) })
		defer t.Stop()
	}
	err := cmd.Wait()
	e.late = errors.Is(ctx.Err(), context.DeadlineExceeded)
	e.out, e.errs = out.String(), errs.String()
	if s := cmd.ProcessState; s != nil {
		e.code, e.cpu = s.ExitCode(), s.UserTime()+s.SystemTime()
		if w, ok := s.Sys().(syscall.WaitStatus); ok && w.Signaled() {
			e.signal = w.Signal().String()
		}
		if u, ok := s.SysUsage().(*syscall.Rusage); ok {
			e.memory = u.Maxrss << 10
		}
	} else if err != nil {
		c.fault("the harness: %v", err)
	}
	return e
}

// crashes matches the output of a program that crashed; internals matches what no message
// may contain: a library's number, the names of its parts, "should not happen".
var (
	crashes   = regexp.MustCompile(`panic: |fatal error: |runtime error: |goroutine \d+ \[|SIGSEGV|SIGABRT|AddressSanitizer|WARNING: DATA RACE`)
	internals = regexp.MustCompile(`should not happen|\(\d{2,}\)|(?:^|[\s(])-\d{7,}|0x[0-9a-f]{4,}|SQLITE|SQL logic|strconv\.|json: |yaml: |errno|averror|invalid character '|%!`)
)

// checkEnd checks what holds for every command and any input: no crash, no excess of memory
// or time, and an error of two lines. scale is how much more of both this program takes.
func (c *attempt) checkEnd(e ended, scale float64) {
	text := e.errs + e.out
	switch {
	case crashes.MatchString(text):
		c.fault("%s: %s", e.call, excerpt(text, crashes, 300))
	case e.late:
		c.fault("%s: not done after %v", e.call, maxWait)
	case e.signal != "":
		c.fault("%s: ended by %s", e.call, e.signal)
	case e.code < 0 || e.code > 2:
		c.fault("%s: exit code %d: %s", e.call, e.code, firstLine(e.errs, 200))
	}
	if e.memory > int64(scale*maxMemory) {
		c.fault("%s: %d MB", e.call, e.memory>>20)
	}
	if limit := time.Duration(scale * float64(maxTime)); e.cpu > limit {
		c.fault("%s: %.0f s of processor time", e.call, e.cpu.Seconds())
	}
	if words := c.badWords(e.errs); words != "" {
		c.fault("%s: says %q", e.call, words)
	}
	if e.code != 0 && e.signal == "" && !crashes.MatchString(text) {
		lines := strings.Split(strings.TrimSpace(e.errs), "\n")
		if n := len(lines); n < 2 || slices.Contains(lines[n-2:], "") {
			c.fault("%s: exit code %d and no error of two lines: %q", e.call, e.code, firstLine(e.errs, 160))
		}
	}
}

// badWords returns what no message may contain, with the text around it; "" where there is
// nothing. The name of the harness's own folder, which has digits in it, is ignored.
func (c *attempt) badWords(text string) string {
	if c.bench != nil {
		text = strings.ReplaceAll(text, c.temp, "")
	}
	if !internals.MatchString(text) {
		return ""
	}
	return excerpt(text, internals, 160)
}

// excerpt returns the text from a little before the match of an expression.
func excerpt(s string, at *regexp.Regexp, limit int) string {
	i := at.FindStringIndex(s)
	from := max(0, i[0]-60)
	return strings.ToValidUTF8(s[from:min(len(s), from+limit)], "?")
}

// files returns the contents of the files under a folder, by path.
func files(dir string) map[string]string {
	out := map[string]string{}
	filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil
		}
		rel, _ := filepath.Rel(dir, p)
		if data, err := os.ReadFile(p); err == nil && d.Type().IsRegular() {
			out[rel] = string(data)
		} else {
			out[rel] = fmt.Sprint(d.Type(), err)
		}
		return nil
	})
	return out
}

// checkLeftovers checks that the case's folder has no files except those that were there
// before and those that were to be written.
func (c *attempt) checkLeftovers(before map[string]string, wanted ...string) {
	for name := range files(c.dir) {
		if _, was := before[name]; !was && !slices.Contains(wanted, name) && !strings.HasPrefix(name, "user/cache/") {
			c.fault("left behind: %s", name)
		}
	}
}
