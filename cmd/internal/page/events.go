package page

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"ecart/cmd/internal/page/folder"
)

// event is something a window should know of.
type event struct {
	Kind    string `json:"kind"`              // "work", "windows", "looks", "shelf", "today", "journal", "following", "followed", "drawing", "drawn", "proposing", "proposed", "looking", "lens", "parted"
	Version int    `json:"version,omitempty"` // of the work
	From    string `json:"from,omitempty"`    // the window that changed it
	Windows int    `json:"windows,omitempty"` // that have the take open
	Done    int    `json:"done,omitempty"`
	Of      int    `json:"of,omitempty"`
	Found   int    `json:"found,omitempty"`  // stickers in the last frame
	Wanted  int    `json:"wanted,omitempty"` // stickers that are followed
	Words   string `json:"words,omitempty"`  // what is being done
	Said    *said  `json:"said,omitempty"`
}

// hub tells every open window what happens to its take.
type hub struct {
	mu   sync.Mutex
	at   map[*listener]bool
	done chan struct{}
	once sync.Once

	whenLeft func() // called when no window has been open for wait; nil: never
	wait     time.Duration
	timer    *time.Timer // runs while no window is open, once one was
}

type listener struct {
	take string
	out  chan event
}

func newHub() *hub { return &hub{at: map[*listener]bool{}, done: make(chan struct{})} }

func (h *hub) close() { h.once.Do(func() { close(h.done) }) }

// tell sends an event to the windows that have the take open; "" means all. A
// window that does not keep up misses some.
func (h *hub) tell(take string, e event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.tellLocked(take, e)
}

func (h *hub) tellLocked(take string, e event) {
	for l := range h.at {
		if take == "" || l.take == take {
			select {
			case l.out <- e:
			default:
			}
		}
	}
}

// whenAlone has f called whenever no window has been open for wait. It is not called before
// the first window was open.
func (h *hub) whenAlone(wait time.Duration, f func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.wait = wait
	h.whenLeft = func() {
		h.mu.Lock()
		still := len(h.at) == 0
		h.mu.Unlock()
		if still {
			f()
		}
	}
}

// restart starts the wait again after f was called and could not end the page yet.
func (h *hub) restart() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.waitLocked()
}

// waitLocked starts the wait if no window is open. Called with mu held.
func (h *hub) waitLocked() {
	if len(h.at) == 0 && h.whenLeft != nil {
		h.timer = time.AfterFunc(h.wait, h.whenLeft)
	}
}

func (h *hub) join(take string) *listener {
	l := &listener{take: take, out: make(chan event, 64)}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.at[l] = true
	if h.timer != nil {
		h.timer.Stop()
	}
	h.count(take)
	return l
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.at, l)
	h.waitLocked()
	h.count(l.take)
}

// count tells the windows of a take how many they are. Called with mu held.
func (h *hub) count(take string) {
	if take == "" {
		return
	}
	n := 0
	for l := range h.at {
		if l.take == take {
			n++
		}
	}
	h.tellLocked(take, event{Kind: "windows", Windows: n})
}

// events streams what happens (server-sent events). A comment every 15 s keeps the
// connection open and shows that the server is there.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	take := r.URL.Query().Get("take")
	if take != "" && !folder.IsID(take) {
		s.fail(w, r, folder.ErrNoTake)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	c := http.NewResponseController(w)
	fmt.Fprint(w, "retry: 1000\n\n")
	l := s.hub.join(take)
	defer s.hub.leave(l)
	if work, err := s.works.load(take); err == nil { // missed while the connection was down
		s.hub.tell(take, event{Kind: "work", Version: work.Version})
	}
	c.Flush()
	beat := time.NewTicker(15 * time.Second)
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-s.hub.done:
			return
		case <-beat.C:
			fmt.Fprint(w, ": here\n\n")
		case e := <-l.out:
			data, err := json.Marshal(e)
			if err != nil {
				return
			}
			fmt.Fprintf(w, "data: %s\n\n", data)
		}
		if c.Flush() != nil {
			return
		}
	}
}
