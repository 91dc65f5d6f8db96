package page

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"html"
	"io"
	"log"
	"net"
	"net/http"
	"strings"
	"time"

	"ecart/cmd/internal/page/folder"
)

// policy lets the page load what this server serves, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; " +
	"connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// guard checks every request before it reaches a route.
func (s *Server) guard(next http.Handler) http.Handler {
	_, port, _ := net.SplitHostPort(s.addr)
	hosts := map[string]bool{"127.0.0.1:" + port: true, "localhost:" + port: true}
	if port == "80" {
		hosts["127.0.0.1"], hosts["localhost"] = true, true
	}
	cookie := "ecart-" + port // cookies know no ports
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin") // no-referrer would take the Origin away too
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		enters := r.Method == http.MethodGet && r.URL.Path == "/" && r.URL.Query().Has("key")
		switch {
		case !hosts[r.Host]:
			s.closed(w, r, http.StatusMisdirectedRequest, "this page answers to its own address only")
			return
		case enters:
			s.enter(w, r, cookie)
			return
		case !sameOrigin(r, hosts):
			s.closed(w, r, http.StatusForbidden, "another page asked for this, and only our own may")
			return
		}
		if !s.known(r, cookie) {
			s.closed(w, r, http.StatusForbidden, "this page is private, and the key to it is missing")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// sameOrigin reports whether a request comes from our own page. One that changes something
// must have an Origin.
func sameOrigin(r *http.Request, hosts map[string]bool) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" {
		return false
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return r.Method == http.MethodGet || r.Method == http.MethodHead
	}
	host, ok := strings.CutPrefix(origin, "http://")
	return ok && hosts[host] && host == r.Host
}

// same compares in a time that does not depend on where the two differ.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}

// closed answers a request that is not let in, as a page or as JSON. Its body is not read,
// and the connection ends with the answer.
func (s *Server) closed(w http.ResponseWriter, r *http.Request, status int, what string) {
	const do = "an address that 'ecart page' prints works once, within " + folder.AddressLife + ": start 'ecart page' again with the same data folder, and it says a new one"
	w.Header().Set("Connection", "close")
	http.NewResponseController(w).SetReadDeadline(time.Now().Add(time.Second))
	if !strings.Contains(r.Header.Get("Accept"), "text/html") {
		answer(w, status, said{what, do})
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	io.WriteString(w, "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">"+
		"<title>écart</title><h1>écart</h1><p>"+html.EscapeString(what)+".</p><p>"+html.EscapeString(strings.ToUpper(do[:1])+do[1:])+".</p></html>")
}

// quiet returns a logger that passes what net/http logs on to a function.
func quiet(to func(string)) *log.Logger { return log.New(lines(to), "", 0) }

type lines func(string)

func (l lines) Write(b []byte) (int, error) {
	l(strings.TrimSpace(string(b)))
	return len(b), nil
}

// reason returns the innermost cause of a network error.
func reason(err error) error {
	var op *net.OpError
	if errors.As(err, &op) {
		return op.Err
	}
	return err
}
