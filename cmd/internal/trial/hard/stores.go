package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// damagedStores starts the page on data folders in which a file is damaged. It starts, or
// says in two lines why not; the undamaged take can be opened and read.
func damagedStores(ctx context.Context, b *bench) (func(*attempt), int, error) {
	takes, err := b.takes()
	if err != nil {
		return nil, 0, err
	}
	store := filepath.Join(b.temp, "store")
	broken, whole, err := b.fillStore(ctx, store, takes)
	if err != nil {
		return nil, 0, err
	}
	return func(c *attempt) { c.damagedStore(store, broken, whole, takes[1]) }, 0, nil
}

// fillStore makes a data folder with two takes and their marks: one that will be damaged
// and one that will not.
func (b *bench) fillStore(ctx context.Context, data string, takes []wholeTake) (broken, whole string, err error) {
	s, _, err := b.startSite(ctx, b.ecart, data, environment(filepath.Join(b.temp, "store-user")))
	if err != nil {
		return "", "", err
	}
	defer func() {
		_, stopErr := s.stop()
		err = errors.Join(err, stopErr)
	}()
	for i, id := range []*string{&broken, &whole} {
		var a answer
		if *id, a, err = s.upload(takes[i].name, takes[i].data); err != nil || *id == "" {
			return "", "", fmt.Errorf("upload: %v %s", err, a.body)
		}
		if a, err = s.do("PUT", "/takes/"+*id+"/work", takes[i].work()); err != nil || a.status >= 300 {
			return "", "", fmt.Errorf("marks: %v %s", err, a.body)
		}
		for _, path := range []string{"", "/frames/3?w=640", "/thumb"} {
			if a, err = s.do("GET", "/takes/"+*id+path, nil); err != nil {
				return "", "", err
			}
		}
	}
	return broken, whole, b.fillRest(s, broken, takes[0])
}

// fillRest adds what else a data folder has: today's settings, a list, a lens, a quiz, and of one take the names, the
// track and a drawn clip.
func (b *bench) fillRest(s *site, id string, clip wholeTake) error {
	t, err := b.filled()
	if err != nil {
		return err
	}
	take := "/takes/" + id
	skilled := strings.Replace(string(clip.work()), `"measure":"hip-split"`, `"skill":"fig-women/split-leap","version":1`, 1)
	for _, ask := range [][3]string{
		{"PUT", "/today/all", `{"measure":"hip-split","camera":"squared"}`},
		{"POST", take + "/said", `{"athlete":"Wren"}`},
		{"POST", "/today/list?name=monday.csv", "athlete,take,marks\nLio,other.mp4,other.json\n"},
		{"POST", "/today/marks?name=phone.lens.json", t.after["lens"].files["out.json"]},
		{"PUT", take + "/work", skilled},
		{"POST", "/quizzes", fmt.Sprintf(`{"takes":[%q],"show_face":true}`, id)},
		{"POST", take + "/follow", skilled},
	} {
		if a, err := s.do(ask[0], ask[1], []byte(ask[2])); err != nil || a.status >= 300 {
			return fmt.Errorf("%s %s: %v %s", ask[0], ask[1], err, a.body)
		}
	}
	if err := s.waitFor("tracks", id+".csv"); err != nil {
		return err
	}
	if a, err := s.do("POST", take+"/clip", []byte(skilled)); err != nil || a.status >= 300 {
		return fmt.Errorf("POST /clip: %v %s", err, a.body)
	}
	return s.waitFor("clips", id+".mp4")
}

// waitFor waits until the page has written a file in its data folder.
func (s *site) waitFor(names ...string) error {
	path := filepath.Join(append([]string{s.data}, names...)...)
	for end := time.Now().Add(maxWait); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if _, err := os.Stat(path); err == nil {
			return nil
		}
	}
	return fmt.Errorf("the page does not write %s", path)
}

// harms are what can happen to a file of the data folder.
var harms = []struct {
	name string
	do   func(c *attempt, path string, data []byte) error
}{
	{"cut in half", func(_ *attempt, path string, data []byte) error { return os.WriteFile(path, data[:len(data)/2], 0o600) }},
	{"emptied", func(_ *attempt, path string, _ []byte) error { return os.WriteFile(path, nil, 0o600) }},
	{"gone", func(_ *attempt, path string, _ []byte) error { return os.Remove(path) }},
	{"a folder", func(_ *attempt, path string, _ []byte) error {
		os.Remove(path)
		return os.MkdirAll(filepath.Join(path, "in"), 0o700)
	}},
	{"noise", func(c *attempt, path string, data []byte) error {
		for range 1 + len(data)/50 {
			if len(data) > 0 {
				data[c.r.IntN(len(data))] = byte(c.r.Uint32())
			}
		}
		return os.WriteFile(path, data, 0o600)
	}},
	{"of another form", func(_ *attempt, path string, _ []byte) error {
		return os.WriteFile(path, []byte(`{"version":-1,"frames":[null],"id":7}`), 0o600)
	}},
	{"a link to nowhere", func(_ *attempt, path string, _ []byte) error {
		os.Remove(path)
		return os.Symlink("nowhere", path)
	}},
}

func (c *attempt) damagedStore(store, broken, whole string, s wholeTake) {
	data := filepath.Join(c.dir, "data")
	if err := os.MkdirAll(data, 0o700); err != nil {
		c.fault("the harness: %v", err)
		return
	}
	if err := os.CopyFS(data, os.DirFS(store)); err != nil {
		c.fault("the harness: %v", err)
		return
	}
	var names []string
	for name := range files(data) {
		if !strings.Contains(name, whole) && name != "lock" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	name, harm := names[c.number%len(names)], harms[c.number/len(names)%len(harms)]
	if c.number >= len(names) {
		name, harm = names[c.r.IntN(len(names))], harms[c.number%len(harms)]
	}
	c.about = name + ": " + harm.name
	path := filepath.Join(data, name)
	text, _ := os.ReadFile(path)
	if err := harm.do(c, path, text); err != nil {
		c.fault("the harness: %v", err)
		return
	}
	p, e, err := c.startSite(c.ctx, c.ecart, data, c.environment())
	if err != nil {
		c.checkEnd(e, 1)
		if e.code <= 0 {
			c.fault("the page: %v", err)
		}
		return
	}
	get := func(method, path string, body []byte) answer {
		a, err := p.do(method, path, body)
		if err != nil {
			c.fault("the page: %s %s: %v", method, path, err)
		}
		if words := c.badWords(string(a.body)); a.status >= 400 && words != "" {
			c.fault("the page: %s: says %q", path, words)
		}
		return a
	}
	if a := get("GET", "/takes", nil); a.status != http.StatusOK || !strings.Contains(string(a.body), whole) {
		c.fault("the take that nothing was done to is not in the list: %d %s", a.status, firstLine(string(a.body), 200))
	}
	for _, tail := range []string{"", "/work", "/thumb", "/frames/3?w=640", fmt.Sprintf("/frames/%d/marks.json", s.frame)} {
		get("GET", "/takes/"+broken+tail, nil)
		if a := get("GET", "/takes/"+whole+tail, nil); a.status != http.StatusOK {
			c.fault("the take that nothing was done to: GET %s: %d %s", tail, a.status, firstLine(string(a.body), 200))
		}
	}
	for _, name := range []string{"/lenses", "/quizzes", "/athletes"} { // lists still have the undamaged entries
		if a := get("GET", name, nil); a.status != http.StatusOK {
			c.fault("GET %s: %d %s", name, a.status, firstLine(string(a.body), 200))
		}
	}
	if a := get("GET", "/today", nil); a.status != http.StatusOK && name != "today.json" {
		c.fault("GET /today: %d %s", a.status, firstLine(string(a.body), 200))
	}
	get("GET", "/takes/"+broken+"/clip.mp4", nil)
	get("POST", "/takes/"+broken+"/curve", s.work())
	for _, one := range names {
		switch id := strings.SplitN(filepath.Base(one), ".", 2)[0]; filepath.Dir(one) {
		case "lenses":
			get("GET", "/lenses/"+id+"/lens.json", nil)
		case "quizzes":
			get("GET", "/quizzes/"+id, nil)
			get("GET", "/quizzes/"+id+"/quiz.html?for=judge", nil)
			get("GET", "/quizzes/"+id+"/questions/1/frame.jpg", nil)
			get("GET", "/quizzes/"+id+"/score.json?q1=0.10", nil)
		}
	}
	if a := get("POST", "/takes/"+whole+"/reading", s.work()); a.status != http.StatusOK {
		c.fault("the take that nothing was done to is not read: %d %s", a.status, firstLine(string(a.body), 200))
	}
	get("POST", "/takes/"+broken+"/reading", s.work())
	if a := get("DELETE", "/takes/"+broken, nil); a.status >= 500 && harm.name != "a folder" {
		c.fault("the damaged take cannot be removed: %d %s", a.status, firstLine(string(a.body), 200))
	}
	if text := c.end(p); crashes.MatchString(text) {
		c.fault("the page: %s", excerpt(text, crashes, 300))
	}
}

// fetch sends a request with the given headers and reads the whole answer.
func fetch(client *http.Client, method, url string, header map[string]string, body string) (answer, error) {
	req, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		return answer{}, err
	}
	for k, v := range header {
		if k == "Host" {
			req.Host = v
			continue
		}
		req.Header.Set(k, v)
	}
	r, err := client.Do(req)
	if err != nil {
		return answer{}, err
	}
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	return answer{r.StatusCode, data, r.Header}, err
}
