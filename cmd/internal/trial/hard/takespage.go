package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"strings"
)

// onPage opens a damaged take on the page, looks at pictures of it, reads and removes it.
func (c *attempt) onPage(s wholeTake, data []byte, packetsOnly bool) {
	p, err := c.borrowSite(c.ecart)
	if err != nil {
		c.fault("the page: %v", err)
		return
	}
	ok := c.visit(p, s, data, packetsOnly)
	if ok && p.memory("VmHWM") < maxPageMemory && !crashes.MatchString(p.errs.String()) {
		c.giveBack(p)
		return
	}
	peak := p.memory("VmHWM")
	if text := c.end(p); crashes.MatchString(text) {
		c.fault("the page: %s", excerpt(text, crashes, 300))
	} else if peak >= maxPageMemory {
		c.fault("the page took %d MB", peak>>20)
	}
}

// visit does what a user does with a take. It returns false where the page has to be restarted.
func (c *attempt) visit(p *site, s wholeTake, data []byte, packetsOnly bool) bool {
	ask := func(method, path string, body []byte) (answer, bool) {
		a, err := p.do(method, path, body)
		if err != nil {
			c.fault("the page: %s %s: %v", method, path, err)
			return a, false
		}
		c.checkAnswer(method+" "+path, a)
		return a, true
	}
	id, a, err := p.upload(s.name, data)
	if err != nil {
		c.fault("the page: upload: %v", err)
		return false
	}
	c.checkAnswer("upload", a)
	if id == "" {
		return true
	}
	at := "/takes/" + id
	defer ask("DELETE", at, nil)
	opened, ok := ask("GET", at, nil)
	if !ok {
		return false
	}
	var take struct{ Frames int }
	if opened.status != http.StatusOK || json.Unmarshal(opened.body, &take) != nil {
		return true
	}
	warned := damageWords.Match(opened.body)
	for _, n := range []int{s.frame, c.r.IntN(max(1, take.Frames))} {
		shown, ok := ask("GET", fmt.Sprintf("%s/frames/%d?w=%d", at, n, wide), nil)
		if !ok {
			return false
		}
		if shown.status == http.StatusOK && shown.header.Get("X-Broken") == "" && !warned && packetsOnly && !s.still {
			c.checkStickers(s, n, shown.body)
		}
	}
	_, ok = ask("POST", at+"/reading", s.work())
	return ok
}

// checkAnswer checks that an answer is no server error and has no words of a library.
func (c *attempt) checkAnswer(asked string, a answer) {
	if a.status >= 500 && a.status != http.StatusInsufficientStorage || a.status == 0 {
		c.fault("the page: %s: %d %s", asked, a.status, firstLine(string(a.body), 200))
	}
	if words := c.badWords(string(a.body)); a.status >= 400 && words != "" {
		c.fault("the page: %s: says %q", asked, words)
	}
}

// work returns the marks in the form that the page stores.
func (s wholeTake) work() []byte {
	var m struct {
		Marks []struct {
			Landmark string
			X, Y     float64
		}
	}
	json.Unmarshal(s.marks, &m)
	round := map[string][2]float64{}
	for _, k := range m.Marks {
		round[k.Landmark] = [2]float64{k.X, k.Y}
	}
	body, _ := json.Marshal(map[string]any{"measure": "hip-split", "camera": "squared", "facing": "right", "frame": s.frame,
		"frames": map[string]any{fmt.Sprint(s.frame): map[string]any{"rounds": []any{round}}}})
	return body
}

// checkStickers looks for the stickers in a picture that is called whole: a magenta, a green
// and a blue dot at their true places. Where one is missing, the picture is not that frame.
func (c *attempt) checkStickers(s wholeTake, n int, picture []byte) {
	img, err := jpeg.Decode(bytes.NewReader(picture))
	if err != nil || img.Bounds().Dx() != wide || n >= len(s.truth) {
		return
	}
	var gone []string
	for _, k := range s.truth[n].Stickers {
		if k.Visible == 1 && !coloured(img, int(k.Pixel[0]+0.5), int(k.Pixel[1]+0.5), k.Landmark) {
			gone = append(gone, k.Landmark)
		}
	}
	report := c.fault
	if s.hevc() {
		report = c.noteUnnoticed
	}
	if len(gone) > 0 {
		report("the page: frame %d is called whole and has no sticker at %s", n, strings.Join(gone, ", "))
	}
}

// coloured reports whether the pixel has the hue of the landmark's sticker, in any light.
func coloured(img image.Image, x, y int, landmark string) bool {
	r, g, b, _ := img.At(x, y).RGBA()
	switch landmark {
	case "hip":
		return r > g && b > g
	case "front-ankle":
		return g > r && g > b
	}
	return b > r && b > g
}
