package main

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/http"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"time"
)

// loads are the ways to load the page; each case is one.
var loads = []struct {
	name string
	run  func(c *attempt, takes []wholeTake)
}{
	{"1,000 connections, half of them silent", manyConnections},
	{"300 takes opened and closed", manyTakes},
	{"every part of the page at once, under the race detector", raced},
	{"tests of what works in several goroutines, under the race detector", racedTests},
}

func loadOnThePage(_ context.Context, b *bench) (func(*attempt), int, error) {
	takes, err := b.takes()
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) {
		l := loads[c.number%len(loads)]
		c.about = l.name
		l.run(c, takes)
	}, 0, nil
}

// manyConnections holds 1,000 connections open; the page still answers its user, and
// releases them all when they end.
func manyConnections(c *attempt, _ []wholeTake) {
	p, _, err := c.startSite(c.ctx, c.ecart, filepath.Join(c.dir, "data"), c.environment())
	if err != nil {
		c.fault("the page: %v", err)
		return
	}
	before := p.descriptors()
	var open []net.Conn
	host := strings.TrimPrefix(p.base, "http://")
	for i := range 1000 {
		n, err := net.DialTimeout("tcp", host, 5*time.Second)
		if err != nil {
			c.fault("connection %d: %v", i, err)
			break
		}
		open = append(open, n)
		switch i % 4 {
		case 1:
			fmt.Fprintf(n, "GET /takes HTTP/1.1\r\nHost: %s\r\n", host) // a request that never ends
		case 2:
			fmt.Fprintf(n, "GET / HTTP/1.1\r\nHost: %s\r\n\r\n", host)
		case 3:
			fmt.Fprintf(n, "POST /takes?name=x HTTP/1.1\r\nHost: %s\r\nContent-Length: 1000000000\r\n\r\nabc", host)
		}
	}
	start := time.Now()
	if a, err := p.do("GET", "/takes", nil); err != nil || a.status != http.StatusOK {
		c.fault("with 1,000 connections the page answers its user %d, %v", a.status, err)
	} else if took := time.Since(start); took > 5*time.Second {
		c.fault("with 1,000 connections the page answers after %v", took)
	}
	for _, n := range open {
		n.Close()
	}
	released := func() bool { return p.descriptors() <= before+10 }
	for end := time.Now().Add(15 * time.Second); !released() && time.Now().Before(end); {
		time.Sleep(200 * time.Millisecond)
	}
	if !released() {
		c.fault("after the connections have ended the page holds %d descriptors, and %d before", p.descriptors(), before)
	}
	c.endAndCheck(p, maxMemory)
}

// endAndCheck ends the page and checks its memory and its output.
func (c *attempt) endAndCheck(p *site, limit int64) {
	peak := p.memory("VmHWM")
	if text := c.end(p); crashes.MatchString(text) {
		c.fault("the page: %s", excerpt(text, crashes, 1500))
	}
	if peak > limit {
		c.fault("the page took %d MB", peak>>20)
	}
}

// manyTakes opens and closes takes one after the other. The page must use as much after 300
// of them as after 30.
func manyTakes(c *attempt, takes []wholeTake) {
	few, many := 30, 300
	if c.options.tenth {
		few, many = 10, 40
	}
	p, _, err := c.startSite(c.ctx, c.ecart, filepath.Join(c.dir, "data"), c.environment())
	if err != nil {
		c.fault("the page: %v", err)
		return
	}
	var memory int64
	var descriptors, routines int
	for i := range many {
		s := takes[i%len(takes)]
		data := s.data
		if strings.HasSuffix(s.name, ".mp4") || strings.HasSuffix(s.name, ".mov") { // an empty box makes it another take
			data = binary.BigEndian.AppendUint32(append(append([]byte{}, data...), 0, 0, 0, 12, 'f', 'r', 'e', 'e'), uint32(i))
		}
		id, a, err := p.upload(s.name, data)
		if id == "" {
			c.fault("take %d: %v %s", i, err, a.body)
			break
		}
		for _, path := range []string{"", "/thumb", "/frames/0?w=320"} {
			if a, err := p.do("GET", "/takes/"+id+path, nil); err != nil || a.status >= 500 {
				c.fault("take %d: GET %s: %d %v", i, path, a.status, err)
			}
		}
		if a, err := p.do("DELETE", "/takes/"+id, nil); err != nil || a.status >= 400 {
			c.fault("take %d is not removed: %d %v", i, a.status, err)
		}
		if i == few-1 {
			time.Sleep(2 * time.Second)
			memory, descriptors, routines = p.memory("VmRSS"), p.descriptors(), p.threads()
		}
	}
	time.Sleep(2 * time.Second)
	if now := p.memory("VmRSS"); now > memory+100<<20 {
		c.fault("%d MB after %d takes, and %d MB after %d", memory>>20, few, now>>20, many)
	}
	if now := p.descriptors(); now > descriptors+5 {
		c.fault("%d descriptors after %d takes, and %d after %d", descriptors, few, now, many)
	}
	if now := p.threads(); now > routines+20 {
		c.fault("%d threads after %d takes, and %d after %d", routines, few, now, many)
	}
	if n := p.routines(); n > 60 {
		c.fault("%d goroutines after %d takes and all of them removed", n, many)
	}
}

func (s *site) threads() int { return int(s.memory("Threads") >> 10) }

var routine = regexp.MustCompile(`(?m)^goroutine \d+ `)

// routines ends the page by SIGQUIT, on which a Go program lists its goroutines, and counts them.
func (s *site) routines() int {
	s.client.CloseIdleConnections()
	time.Sleep(200 * time.Millisecond)
	s.cmd.Process.Signal(syscall.SIGQUIT)
	select {
	case <-s.done:
	case <-time.After(10 * time.Second):
		s.cmd.Process.Kill()
		<-s.done
	}
	return len(routine.FindAllString(s.errs.String(), -1))
}

// raced uses every part of the page from several windows at once, in a program built
// with the race detector.
func raced(c *attempt, takes []wholeTake) {
	if c.quickRun() {
		c.omit("the page under the race detector: its build takes minutes, a tenth leaves it out; make hard TENTH=1 ONLY=load CASE=2")
		return
	}
	program, err := c.bench.raced()
	if err != nil {
		c.fault("the harness: %v", err)
		return
	}
	p, _, err := c.startSite(c.ctx, program, filepath.Join(c.dir, "data"), c.environment())
	if err != nil {
		c.fault("the page: %v", err)
		return
	}
	rounds := 6
	if c.options.tenth {
		rounds = 1
	}
	var wg sync.WaitGroup
	for w := range 6 {
		wg.Go(func() {
			for i := range rounds {
				s := takes[(w%3+i)%len(takes)] // windows share takes
				id, _, _ := p.upload(s.name, s.data)
				if id == "" {
					continue
				}
				at := "/takes/" + id
				p.do("PUT", at+"/work", s.work())
				p.do("POST", at+"/follow", s.work())
				for n := range 4 {
					p.do("GET", fmt.Sprintf("%s/frames/%d?w=%d", at, n, 160+w), nil)
					p.do("POST", at+"/quick", s.work())
				}
				p.do("GET", at+"/thumb", nil)
				p.do("GET", at+"/frames/2/look", nil)
				p.do("POST", at+"/reading", s.work())
				p.do("POST", at+"/curve", s.work())
				p.do("POST", at+"/clip", s.work())
				p.do("GET", "/takes", nil)
				p.do("DELETE", at+"/follow", nil)
				if (w+i)%2 == 0 {
					p.do("DELETE", at, nil)
				}
			}
		})
	}
	ctx, cancel := context.WithCancel(c.ctx)
	go func() { // a window that waits for events
		req, _ := http.NewRequestWithContext(ctx, "GET", p.base+"/events", nil)
		req.Header.Set("Origin", p.base)
		if r, err := p.client.Do(req); err == nil {
			io.Copy(io.Discard, r.Body)
			r.Body.Close()
		}
	}()
	wg.Wait()
	cancel()
	if !p.runs() {
		c.fault("the page has ended by itself: %s", firstLine(p.errs.String(), 300))
	}
	c.endAndCheck(p, 10*maxPageMemory) // under the race detector a program takes five to ten times the memory
}

// racedTests runs tests that are of use only under the race detector.
func racedTests(c *attempt, _ []wholeTake) {
	if c.quickRun() {
		c.omit("tests under the race detector: their build takes minutes, a tenth leaves them out; make hard TENTH=1 ONLY=load CASE=3")
		return
	}
	cmd := exec.CommandContext(c.ctx, "go", "test", "-race", "-vet=off", "-count=1", "-run", "^(TestFfmpegDies|TestStopped|TestManyGoroutines|TestAwait|TestUsableAfterCancel)$", "./vision/record", "./vision/take")
	cmd.Dir = c.root
	if out, err := cmd.CombinedOutput(); err != nil && c.ctx.Err() == nil {
		text := string(out)
		if crashes.MatchString(text) {
			text = excerpt(text, crashes, 1500)
		}
		c.fault("%s", failure([]byte(text)))
	}
}
