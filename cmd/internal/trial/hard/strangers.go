package main

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"time"
)

// stranger is somebody who must not have access to the page.
type stranger struct {
	name string
	try  func(c *attempt, p *site, id string)
}

// Each case is one of the strangers.
var strangers = []stranger{
	{"a page of another origin with the user's cookie", otherOrigin},
	{"a name that is bound to this machine (rebinding)", otherHost},
	{"somebody without cookie, or with a wrong key", noKey},
	{"another user who looks at processes and files", otherUser},
	{"the cookie of the run before", oldCookie},
	{"whoever finds a picture in the browser's cache", cachedPictures},
}

// strangersAtThePage lets each of them attack a page with one take.
func strangersAtThePage(_ context.Context, b *bench) (func(*attempt), int, error) {
	takes, err := b.takes()
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) {
		w := strangers[c.number%len(strangers)]
		c.about = w.name
		// a stand-in for the desktop's program, whose arguments other users can see
		bin := filepath.Join(c.dir, "bin")
		os.MkdirAll(bin, 0o755)
		os.WriteFile(filepath.Join(bin, "xdg-open"), []byte("#!/bin/sh\nsleep 20\n"), 0o755)
		env := append(c.environment(), "PATH="+bin+":"+os.Getenv("PATH"))
		os.Chmod(c.dir, 0o755)
		p, _, err := c.startSite(c.ctx, c.ecart, filepath.Join(c.dir, "data"), env, "--open")
		if err != nil {
			c.fault("the page: %v", err)
			return
		}
		defer c.end(p)
		id, a, err := p.upload(takes[0].name, takes[0].data)
		if id == "" {
			c.fault("the page: upload: %v %s", err, a.body)
			return
		}
		w.try(c, p, id)
	}, 0, nil
}

// refused checks that an answer is a refusal and has nothing of the user's in it.
func (c *attempt) refused(what string, a answer, err error) {
	switch {
	case err != nil:
		c.fault("%s: %v", what, err)
	case a.status < 400 || a.status >= 500:
		c.fault("%s is answered %d: %s", what, a.status, firstLine(string(a.body), 120))
	case strings.Contains(string(a.body), "h264.mp4"):
		c.fault("%s is told a take's name", what)
	}
}

// strangerRequests returns requests that read, change and remove.
func strangerRequests(id string) [][2]string {
	return [][2]string{{"GET", "/takes"}, {"GET", "/takes/" + id}, {"GET", "/takes/" + id + "/frames/3?w=640"}, {"POST", "/takes?name=x.mp4"},
		{"POST", "/demo"}, {"DELETE", "/takes/" + id}, {"PUT", "/takes/" + id + "/work"}, {"POST", "/takes/" + id + "/keep"}, {"GET", "/events"}}
}

func otherOrigin(c *attempt, p *site, id string) {
	for _, g := range strangerRequests(id) {
		for _, h := range []map[string]string{{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"},
			{"Origin": "http://127.0.0.1:1"}, {"Origin": p.base + ".evil.example"}, {"Origin": strings.Replace(p.base, "http:", "https:", 1)}} {
			a, err := fetch(p.client, g[0], p.base+g[1], h, "{}")
			c.refused(fmt.Sprint(g[0], " ", g[1], " with ", h), a, err)
			if v := a.header.Get("Access-Control-Allow-Origin"); v != "" {
				c.fault("%v is allowed %s", h, v)
			}
		}
		if g[0] != "GET" { // a request that changes something must name its origin
			a, err := fetch(p.client, g[0], p.base+g[1], nil, "{}")
			c.refused(g[0]+" "+g[1]+" without an origin", a, err)
		}
	}
}

func otherHost(c *attempt, p *site, id string) {
	u, _ := url.Parse(p.base)
	for _, g := range strangerRequests(id) {
		for _, host := range []string{"evil.example", "evil.example:" + u.Port(), "127.0.0.1", "127.0.0.1.evil.example:" + u.Port(), "0.0.0.0:" + u.Port()} {
			a, err := fetch(p.client, g[0], p.base+g[1], map[string]string{"Host": host, "Origin": "http://" + host}, "{}")
			c.refused(fmt.Sprint(g[0], " ", g[1], " of ", host), a, err)
		}
	}
}

func noKey(c *attempt, p *site, id string) {
	bare := &http.Client{Timeout: maxTime, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for _, g := range strangerRequests(id) {
		a, err := fetch(bare, g[0], p.base+g[1], map[string]string{"Origin": p.base}, "{}")
		c.refused(g[0]+" "+g[1]+" without a cookie", a, err)
	}
	for _, path := range []string{"/?key=", "/?key=AAAAAAAAAAAAAAAAAAAAAA", "/", "/static/../key", "/takes/../../key", "/takes/%2e%2e%2fkey"} {
		a, err := fetch(bare, "GET", p.base+path, nil, "")
		if a.status >= 300 && a.status < 400 && a.header.Get("Set-Cookie") == "" { // a redirect to the cleaned path
			continue
		}
		c.refused("GET "+path, a, err)
		if a.header.Get("Set-Cookie") != "" {
			c.fault("GET %s is given a cookie", path)
		}
	}
}

var anyAddress = regexp.MustCompile(`http://(127\.0\.0\.1|localhost):\d+[^\s"'<>\\]*`)

// otherUser looks at what every user of the machine can see: the arguments of all processes,
// and the files, as the user nobody where that is permitted.
func otherUser(c *attempt, p *site, _ string) {
	time.Sleep(300 * time.Millisecond) // until the desktop's program has been started
	lines, _ := filepath.Glob("/proc/[0-9]*/cmdline")
	for _, name := range lines {
		text, err := os.ReadFile(name)
		if err != nil {
			continue
		}
		args := strings.ReplaceAll(string(text), "\x00", " ")
		for _, address := range anyAddress.FindAllString(args, -1) {
			if !strings.HasPrefix(address, p.base) {
				continue
			}
			bare := &http.Client{Timeout: maxTime, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
			if a, err := fetch(bare, "GET", address, nil, ""); err == nil && (a.status < 400 || a.header.Get("Set-Cookie") != "") {
				c.fault("an address that opens the page stands in the arguments of a process: %s", firstLine(args, 120))
			}
		}
	}
	for name := range files(p.data) {
		if info, err := os.Lstat(filepath.Join(p.data, name)); err == nil && info.Mode().Perm()&0o077 != 0 {
			c.fault("%s can be read by others: %v", name, info.Mode())
		}
	}
	if os.Getuid() != 0 {
		c.omit("files looked for as the user nobody: that takes root; their permissions were looked at")
		return
	}
	const nobody = 65534
	cmd := exec.Command("find", c.dir, "-type", "f", "-readable", "-not", "-name", "xdg-open")
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	out, err := cmd.Output()
	if len(out) > 0 {
		c.fault("nobody can read %s", firstLine(string(out), 200))
	} else if err != nil && len(files(c.dir)) == 0 {
		c.fault("the harness: find: %v", err)
	}
}

// oldCookie ends the page and starts it on the same folder. An open tab still sends its old
// cookie to whichever program has the port then, so that cookie must no longer work.
func oldCookie(c *attempt, p *site, id string) {
	u, _ := url.Parse(p.base)
	var sent []string
	for _, k := range p.client.Jar.Cookies(u) {
		sent = append(sent, k.Name+"="+k.Value)
	}
	c.end(p)
	second, _, err := c.startSite(c.ctx, c.ecart, p.data, c.environment(), "--port", u.Port())
	if err != nil {
		c.fault("the page does not start again: %v", err)
		return
	}
	defer c.end(second)
	bare := &http.Client{Timeout: maxTime}
	for _, path := range []string{"/takes", "/takes/" + id} {
		a, err := fetch(bare, "GET", second.base+path, map[string]string{"Cookie": strings.Join(sent, "; ")}, "")
		c.refused("GET "+path+" with the cookie of the run before", a, err)
	}
	bare.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	if a, err := fetch(bare, "GET", strings.Replace(p.address, p.base, second.base, 1), nil, ""); err == nil && a.status < 400 {
		c.fault("the address of the run before opens this one")
	}
}

// cachedPictures checks that the browser is told not to store what shows people.
func cachedPictures(c *attempt, p *site, id string) {
	for _, path := range []string{"/takes", "/takes/" + id, "/takes/" + id + "/frames/3?w=640", "/takes/" + id + "/frames/3/part?x=0&y=0&pw=64&ph=64&w=64", "/takes/" + id + "/thumb"} {
		a, err := p.do("GET", path, nil)
		if err != nil {
			c.fault("GET %s: %v", path, err)
		} else if v := a.header.Get("Cache-Control"); a.status == http.StatusOK && !strings.Contains(v, "no-store") {
			c.fault("the browser may keep %s: Cache-Control %q", strings.ReplaceAll(path, id, "ID"), v)
		}
	}
}
