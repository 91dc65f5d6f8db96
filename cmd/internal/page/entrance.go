package page

import (
	"context"
	"errors"
	"html"
	"io"
	"net/http"
	"os"
	"sync"
	"time"

	"ecart/cmd/internal/page/folder"
)

// A one-time key in the address lets one browser in, which is then known by a cookie of
// this run. A key is valid for keyLife: a browser that starts cold on a slow machine takes
// a minute, as does a person who types the address from another screen; five leave room
// for both, and starting 'ecart page' again gives another key.
const keyLife = 5 * time.Minute // AddressLife says it in words

// entrance hands out the keys of one run.
type entrance struct {
	now  func() time.Time
	pass string // the cookie's value

	mu   sync.Mutex
	keys map[string]oneTime
}

// oneTime is a key that is not used yet.
type oneTime struct {
	until time.Time
	used  func() // called when it was used or has expired
}

func newEntrance(now func() time.Time) *entrance {
	return &entrance{now: now, pass: folder.Secret(), keys: map[string]oneTime{}}
}

// key makes a key. used is called once, when the key is used or found expired.
func (e *entrance) key(used func()) string {
	e.mu.Lock()
	defer e.mu.Unlock()
	k := folder.Secret()
	e.keys[k] = oneTime{e.now().Add(keyLife), used}
	return k
}

// use uses a key up, and reports whether it was valid.
func (e *entrance) use(given string) bool {
	e.mu.Lock()
	var found *oneTime
	for k, o := range e.keys { // a few at most
		if same(k, given) {
			found = &o
			delete(e.keys, k)
		}
	}
	good := found != nil && e.now().Before(found.until)
	e.mu.Unlock()
	if found != nil {
		found.used()
	}
	return good
}

// expire drops the keys that have expired.
func (e *entrance) expire() {
	e.mu.Lock()
	var gone []oneTime
	for k, o := range e.keys {
		if !e.now().Before(o.until) {
			gone = append(gone, o)
			delete(e.keys, k)
		}
	}
	e.mu.Unlock()
	for _, o := range gone {
		o.used()
	}
}

// Address returns a new address that lets one browser in, within five minutes. Call
// Listen first.
func (s *Server) Address() string { return s.address(func() {}) }

func (s *Server) address(used func()) string {
	return "http://" + s.addr + "/?key=" + s.entrance.key(used)
}

// announce keeps a valid address in the lock file, for whoever starts a second page on the
// same folder. It is replaced as soon as it is used, and before it expires.
func (s *Server) announce() {
	s.announced.Lock()
	defer s.announced.Unlock()
	if s.ctx.Err() == nil {
		s.store.Announce(s.address(s.announce))
	}
}

// renew announces a new address before the old one expires.
func (s *Server) renew(ctx context.Context) {
	tick := time.NewTicker(keyLife / 2)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			s.entrance.expire()
			s.announce()
		}
	}
}

// OpenFile writes a file that leads a browser to the page, and returns its path. Only
// its owner can read it, so that no key has to stand among the arguments of a program,
// where other users of the machine read it. It is removed when its key is used, when
// that expires and when the server is closed.
func (s *Server) OpenFile() (string, error) {
	path := s.store.Path(folder.IncomingDir, folder.Secret()+".html")
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", folder.Cause(err)
	}
	i, err := f.Stat()
	if err == nil && i.Mode().Perm()&0o077 != 0 { // the disk keeps no permissions
		err = errors.New("others on this machine can read what is in the data folder")
	}
	if err == nil {
		_, err = io.WriteString(f, leadTo(s.address(func() { os.Remove(path) })))
	}
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
		return "", err
	}
	return path, nil
}

// leadTo returns a page that goes on to an address by itself.
func leadTo(address string) string {
	a := html.EscapeString(address)
	return "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"referrer\" content=\"same-origin\">" +
		"<meta http-equiv=\"refresh\" content=\"0; url=" + a + "\"><title>écart</title><p><a href=\"" + a + "\">écart</a></p></html>\n"
}

// enter trades the key in an address for the cookie. The request may come from elsewhere,
// such as from the file of OpenFile. The browser would not send a SameSite=Strict cookie
// after a redirect from there, so a page of ours leads on.
func (s *Server) enter(w http.ResponseWriter, r *http.Request, cookie string) {
	if !s.entrance.use(r.URL.Query().Get("key")) && !s.known(r, cookie) {
		s.closed(w, r, http.StatusForbidden, "the key in this address has been used, has expired or was never one")
		return
	}
	http.SetCookie(w, &http.Cookie{Name: cookie, Value: s.entrance.pass, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	io.WriteString(w, leadTo("/"))
}

// known reports whether a request has the cookie of this run.
func (s *Server) known(r *http.Request, cookie string) bool {
	c, err := r.Cookie(cookie)
	return err == nil && same(c.Value, s.entrance.pass)
}

// end drops every key.
func (e *entrance) end() {
	e.mu.Lock()
	keys := e.keys
	e.keys = map[string]oneTime{}
	e.mu.Unlock()
	for _, o := range keys {
		o.used()
	}
}
