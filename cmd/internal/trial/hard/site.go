package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"

	"ecart/cmd/internal/trial/locked"
)

// maxPageMemory is how much memory the page may use with ten takes, bytes.
const maxPageMemory = 1200 << 20

// site is a running page and a browser's session with it.
type site struct {
	program, data string
	cmd           *exec.Cmd
	address       string // as printed
	base          string // http://127.0.0.1:PORT
	client        *http.Client
	errs          *locked.Buffer
	done          chan struct{}
}

var addressLine = regexp.MustCompile(`http://(127\.0\.0\.1|localhost):\d+`)

// startSite starts a page on a data folder. Where it ends at once, err says so and ended
// has its output.
func (b *bench) startSite(ctx context.Context, program, data string, env []string, args ...string) (*site, ended, error) {
	s := &site{program: program, data: data, errs: &locked.Buffer{}, done: make(chan struct{})}
	base := []string{"page", "--data", data}
	if !strings.Contains(strings.Join(args, " "), "--open") {
		base = append(base, "--no-open")
	} else {
		args = nil
	}
	s.cmd = exec.CommandContext(ctx, program, append(base, args...)...)
	s.cmd.Cancel = func() error { return s.cmd.Process.Signal(syscall.SIGKILL) }
	s.cmd.Env, s.cmd.Stderr = env, s.errs
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, ended{}, err
	}
	if err := s.cmd.Start(); err != nil {
		return nil, ended{}, err
	}
	lines := make(chan string, 1)
	go func() {
		r := bufio.NewReader(out)
		line, _ := r.ReadString('\n')
		lines <- strings.TrimSpace(line)
		io.Copy(io.Discard, r)
		s.cmd.Wait()
		close(s.done)
	}()
	select {
	case s.address = <-lines:
	case <-time.After(maxWait):
		s.cmd.Process.Kill()
		return nil, ended{errs: s.errs.String()}, errors.New("the page said no address in time")
	}
	s.base = addressLine.FindString(s.address)
	if s.base == "" {
		<-s.done
		e := ended{call: "ecart page", code: s.cmd.ProcessState.ExitCode(), errs: s.errs.String()}
		if w, ok := s.cmd.ProcessState.Sys().(syscall.WaitStatus); ok && w.Signaled() {
			e.signal = w.Signal().String()
		}
		return nil, e, errors.New("the page did not start: " + firstLine(s.errs.String(), 200))
	}
	jar, _ := cookiejar.New(nil)
	s.client = &http.Client{Jar: jar, Timeout: maxWait}
	r, err := s.client.Get(s.address)
	if err == nil {
		io.Copy(io.Discard, r.Body)
		r.Body.Close()
		if r.StatusCode != http.StatusOK {
			err = fmt.Errorf("the printed address answers %s", r.Status)
		}
	}
	if err != nil {
		s.cmd.Process.Kill()
		return nil, ended{}, err
	}
	return s, ended{}, nil
}

// stopLimit is how long a page may take to end after Ctrl-C. It should take half a second; the machine may be busy.
var stopLimit = 10 * time.Second

// stop ends the page as Ctrl-C does and returns what it wrote on standard error. A page that does not end is
// killed, which is an error.
func (s *site) stop() (output string, err error) {
	s.client.CloseIdleConnections()
	s.cmd.Process.Signal(syscall.SIGINT)
	select {
	case <-s.done:
	case <-time.After(stopLimit):
		err = fmt.Errorf("the page does not end within %s of Ctrl-C", stopLimit)
		s.cmd.Process.Kill()
		<-s.done
	}
	return s.errs.String(), err
}

// end stops a page of the case; it is a fault if the page ignores Ctrl-C.
func (c *attempt) end(s *site) (output string) {
	output, err := s.stop()
	if err != nil {
		c.fault("%v", err)
	}
	return output
}

func (s *site) runs() bool {
	select {
	case <-s.done:
		return false
	default:
		return true
	}
}

// answer is a response of the page.
type answer struct {
	status int
	body   []byte
	header http.Header
}

// do sends a request as the page's own script does.
func (s *site) do(method, path string, body []byte) (answer, error) {
	req, err := http.NewRequest(method, s.base+path, bytes.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	req.Header.Set("Origin", s.base)
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	r, err := s.client.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	return answer{r.StatusCode, data, r.Header}, err
}

// upload sends a file to the page; id is "" where it was refused.
func (s *site) upload(name string, data []byte) (id string, a answer, err error) {
	if a, err = s.do("POST", "/takes?name="+name, data); err != nil || a.status != http.StatusCreated {
		return "", a, err
	}
	var take struct{ ID string }
	err = json.Unmarshal(a.body, &take)
	return take.ID, a, err
}

// memory returns a figure of /proc/PID/status, such as VmHWM, in bytes.
func (s *site) memory(key string) int64 {
	text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) > 1 && f[0] == key+":" {
			n, _ := strconv.ParseInt(f[1], 10, 64)
			return n << 10
		}
	}
	return 0
}

func (s *site) descriptors() int {
	list, _ := os.ReadDir(fmt.Sprintf("/proc/%d/fd", s.cmd.Process.Pid))
	return len(list)
}

// borrowSite returns an idle page of the program, or starts one.
func (b *bench) borrowSite(program string) (*site, error) {
	b.mu.Lock()
	idle := b.pages[program]
	if n := len(idle); n > 0 {
		s := idle[n-1]
		b.pages[program] = idle[:n-1]
		b.mu.Unlock()
		return s, nil
	}
	b.mu.Unlock()
	dir, err := os.MkdirTemp(b.temp, "page-")
	if err != nil {
		return nil, err
	}
	c := &attempt{bench: b, dir: dir}
	s, _, err := b.startSite(context.Background(), program, filepath.Join(dir, "data"), c.environment())
	return s, err
}

func (b *bench) giveBack(s *site) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.pages[s.program] = append(b.pages[s.program], s)
}

// endPages ends all idle pages. The error says which ignored Ctrl-C.
func (b *bench) endPages() (err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, idle := range b.pages {
		for _, s := range idle {
			_, stopErr := s.stop()
			err = errors.Join(err, stopErr)
		}
	}
	clear(b.pages)
	return err
}
